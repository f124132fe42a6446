"""Pages of a circuit's record: the drawing as a table, its text, its history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from setwright.circuits import Part
from setwright.files import FileProblems
from setwright.notation import format_modern
from setwright.workbench.accounts.rules import may_write, reads, writes
from setwright.workbench.circuits.models import CircuitRecord
from setwright.workbench.circuits.sent import Mistake, mistakes_of, sent_text
from setwright.workbench.families.views import record_of as family_record
from setwright.workbench.records import keeping
from setwright.workbench.records import views as records
from setwright.workbench.services.circuits import circuit_file_of
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.casefile.views import seen_revision
from setwright.workbench.site.words import KEEP

SECTION = {"section": "families"}
_UNITS = {"resistor": "ohm", "potentiometer": "ohm", "capacitor": "F", "inductor": "H"}


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part in a table. feature : the name of the identity feature that decides it, "" where none does."""

    ref: str
    kind: str
    value: str
    nodes: str
    feature: str


def record_of(family: str, key: str) -> CircuitRecord:
    """The circuit of that id in that family; 404 if there is none."""
    records = CircuitRecord.objects.select_related("family__register", "chart")
    return get_object_or_404(records, key=key, family__key=family, family__removed_at__isnull=True)


def removed_too(family: str, key: str) -> CircuitRecord:
    """The same, removed or not."""
    return get_object_or_404(CircuitRecord.everything.select_related("family"), key=key, family__key=family)


@reads(family="family")
@require_safe
def circuit(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """A circuit: its parts and tubes, the sets that it serves, what was printed with it."""
    record = record_of(family, key)
    drawing = circuit_file_of(record).circuit
    labels = {feature.id: feature.label for feature in family_of(record.family).features}
    tubes = {tube.ref: (tube.ref, tube.type, labels.get(tube.feature or "", "")) for tube in drawing.tubes}
    context = SECTION | {
        "record": record,
        "drawing": drawing,
        "parts": [_row(part, labels) for part in drawing.parts],
        "tubes": tubes.values(),
        "sets": record.family.sets.defer("text"),
        "chart": record.chart_or_none,
        "may_write": may_write(request, family),
    }
    return render(request, "circuits/circuit.html", context)


def _row(part: Part, labels: Mapping[str, str]) -> PartRow:
    return PartRow(part.ref, part.kind, _value(part), " to ".join(part.nodes), labels.get(part.feature or "", ""))


def _value(part: Part) -> str:
    figures = []
    if part.value is not None and part.kind in _UNITS:
        figures.append(format_modern(part.value, _UNITS[part.kind]))
    if part.kind in ("winding", "source", "lamp", "rectifier") and part.volts is not None:
        figures.append(f"{part.volts:g} V")
    if part.kind in ("load", "lamp", "rectifier") and part.amps is not None:
        figures.append(f"{1e3 * part.amps:g} mA")
    if part.ohms is not None:
        figures.append(f"{part.ohms:g} Ω direct-current resistance")
    if part.kind == "switch":
        figures.append("closed" if part.closed else "open")
    return ", ".join(figure.replace(" ", KEEP, 1) for figure in figures)


@writes(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest, family: str) -> HttpResponse:
    """A new circuit of a family, from its file or its text."""
    parent = family_record(family)
    context: dict[str, object] = SECTION | {"family": parent}
    if request.method != "POST":
        return render(request, "circuits/text.html", context)
    text = ""
    try:
        text, name = sent_text(request, "circuit.toml")
        made = keeping.create("circuit", text, by=request.user, what=f"Taken in from {name}", name=name, parent=parent)
    except FileProblems as failure:
        return _told(request, context, text, mistakes_of(failure, text))
    return redirect(made)


@writes(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """The circuit's text, to be changed."""
    record = record_of(family, key)
    context = SECTION | {"family": record.family, "record": record, "seen": record.revision}
    if request.method != "POST":
        return render(request, "circuits/text.html", {**context, "text": record.text})
    text = ""
    try:
        text, name = sent_text(request, record.file_name)
        chosen = name if request.FILES.get("file") else None
        what = f"Replaced by {chosen}" if chosen else "Drawing changed"
        keeping.keep(record, text, by=request.user, what=what, seen_revision=seen_revision(request), name=chosen)
    except FileProblems as failure:
        context["seen"] = request.POST.get("seen", "")
        return _told(request, context, text, mistakes_of(failure, text))
    return redirect(record)


def _told(request: HttpRequest, context: dict[str, object], text: str, mistakes: tuple[Mistake, ...]) -> HttpResponse:
    return render(request, "circuits/text.html", {**context, "text": text, "mistakes": mistakes}, status=422)


@writes(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def remove(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """Asks, then removes a circuit."""
    return records.remove_page(request, record_of(family, key))


@reads(family="family")
@require_safe
def file(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """The circuit's file."""
    return HttpResponse(record_of(family, key).text, content_type="text/plain; charset=utf-8")


@reads(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def history(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """Who changed a circuit, when and how."""
    return records.history_page(request, removed_too(family, key))


@reads(family="family")
@require_safe
def history_entry(request: HttpRequest, family: str, key: str, number: int) -> HttpResponse:
    """What one entry changed in a circuit."""
    return records.entry_page(request, removed_too(family, key), number)
