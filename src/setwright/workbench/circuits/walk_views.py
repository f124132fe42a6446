"""Round a socket: its picture and pins, and one screen for each pin with the field for its reading."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from setwright.circuits.sockets import SocketPin
from setwright.files import FileProblems, SetFile, editing
from setwright.workbench.accounts.rules import may_write, reads, writes
from setwright.workbench.circuits.asking import Question
from setwright.workbench.circuits.computed import page_of
from setwright.workbench.circuits.pages import ReadingView, socket_named, stop_view
from setwright.workbench.circuits.volts_views import asked_of
from setwright.workbench.circuits.walking import PinPlace, Stop, Walk, label_of, walk_of
from setwright.workbench.circuits.words import band_words, meter_words, range_words, shown
from setwright.workbench.pictures.save import made
from setwright.workbench.pictures.sheet import Sheet
from setwright.workbench.pictures.socket import SocketPicture, socket_picture
from setwright.workbench.pictures.views import KINDS, saved
from setwright.workbench.records import keeping
from setwright.workbench.services.circuits import ChartCase
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.casefile.forms import ReadingForm
from setwright.workbench.sets.casefile.problems import tell
from setwright.workbench.sets.loading import set_record, user_of
from setwright.workbench.sets.models import SetRecord

TOLD = "told"
"""In the address of a screen: the stop whose reading was just kept."""


@dataclass(frozen=True, slots=True)
class StopView:
    """A stop as a page shows it."""

    stop: Stop
    title: str
    expected: str
    band: str
    range: str
    reading: ReadingView | None


@dataclass(frozen=True, slots=True)
class PlaceView:
    """One pin in the socket's table."""

    number: str
    label: str
    node: str
    unverified: bool
    stop: StopView | None
    why: str


def _walk(case: ChartCase, ref: str) -> Walk:
    found = socket_named(case, ref)
    if found is None:
        raise Http404
    return walk_of(case, found)


def stop_of(stop: Stop, case: ChartCase) -> StopView:
    """A stop in words."""
    pins = [f"pin {pin}" if pin.isdecimal() else "top cap" if pin == "cap" else "" for pin in stop.pins]
    where = (" and " if stop.quantity == "volts_ac" else " or ").join(pin for pin in pins if pin)
    title = f"{where}: {stop.label}" if where else stop.label
    return StopView(
        stop=stop,
        title=title[0].upper() + title[1:],
        expected=shown(stop.expected, stop.unit),
        band=band_words(stop.low, stop.high, stop.unit),
        range=range_words(stop.meter),
        reading=stop_view(stop, case),
    )


def _place(place: PinPlace, case: ChartCase) -> PlaceView:
    pin = place.pin
    stop = None if place.stop is None else stop_of(place.stop, case)
    return PlaceView(pin.number, place.label, pin.node or "", bool(pin.role) and not pin.verified, stop, place.why)


def _picture(walk: Walk, here: Stop | None = None) -> SocketPicture | None:
    by_pin = {pin: stop for stop in walk.stops for pin in stop.pins}
    several = any(place.pin.section for place in walk.places)

    def words(pin: SocketPin) -> tuple[str, ...]:
        stop = by_pin.get(pin.number)
        value = () if stop is None else (shown(stop.expected, stop.unit).replace("\N{NO-BREAK SPACE}", " "),)
        return (label_of(pin, several), *value)

    read = [pin for pin, stop in by_pin.items() if stop.measured is not None]
    return socket_picture(walk.socket, words, here=() if here is None else here.pins, read=read)


def _context(request: HttpRequest, record: SetRecord, question: Question, walk: Walk) -> dict[str, object]:
    return {
        "section": "sets",
        "record": record,
        "question": question,
        "walk": walk,
        "ref": walk.socket.ref,
        "meter": meter_words(question.asked.meter),
        "off": question.asked.off,
        "on_query": question.other(off=False),
        "off_query": question.other(off=True),
        "may_write": may_write(request, record.family.key),
    }


@reads(of_set="key")
@require_safe
def socket(request: HttpRequest, key: str, ref: str) -> HttpResponse:
    """A socket from below, and what to expect at each of its pins."""
    record = set_record(key)
    question = asked_of(request, record)

    def show(case: ChartCase) -> HttpResponse:
        walk = _walk(case, ref)
        context = _context(request, record, question, walk)
        places = [_place(place, case) for place in walk.places]
        context |= {"places": places, "unverified": any(place.unverified for place in places)}
        context["picture"] = _picture(walk)
        context |= {"cautions": case.expectation.cautions, "next": _first_open(walk)}
        return render(request, "circuits/socket.html", context)

    return page_of(request, record, question, show)


def _first_open(walk: Walk) -> int | None:
    """The first stop that has no reading yet; the first of all where every one has."""
    return next((stop.number for stop in walk.stops if stop.measured is None), 1 if walk.stops else None)


@writes(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def pin(request: HttpRequest, key: str, ref: str, step: int) -> HttpResponse:
    """One stop on the way round a socket: where, what to expect, the field for what is read."""
    record = set_record(key)
    question = asked_of(request, record)

    def show(case: ChartCase) -> HttpResponse:
        walk = _walk(case, ref)
        stop = next((stop for stop in walk.stops if stop.number == step), None)
        if stop is None:
            raise Http404
        context = _context(request, record, question, walk) | {"case": case}
        if request.method != "POST":
            return _screen(request, case, walk, stop, context)
        form = _form(request, record, question, stop)
        if form.is_valid():
            try:
                _keep(request, record, stop, form)
            except FileProblems as failure:
                tell(form, failure)
            else:
                return _onward(record, question, walk, stop)
        return _screen(request, case, walk, stop, {**context, "form": form}, status=422)

    return page_of(request, record, question, show)


def _form(request: HttpRequest, record: SetRecord, question: Question, stop: Stop) -> ReadingForm:
    """The form of any reading, with all that is known here already filled in."""
    sent = request.POST
    data = {
        "point": stop.point,
        "reference": stop.reference,
        "quantity": stop.quantity,
        "value": sent.get("value", ""),
        "meter": "" if stop.quantity != "volts" else sent.get("with") or stop.meter,
        "condition": "off" if question.asked.off else "on",
        "line_volts": "" if question.asked.off else question.line if float(question.line) else "",
        "on": timezone.localdate().isoformat(),
    }
    return ReadingForm(data, family=family_of(record.family), by=user_of(request).get_username())


def _keep(request: HttpRequest, record: SetRecord, stop: Stop, form: ReadingForm) -> None:
    family, table = family_of(record.family), form.table()

    def change(file: SetFile) -> SetFile:
        return editing.add_reading(file, family, table)

    what = f"New reading: {stop.point}, {table['value']:g} {table['unit']}"
    keeping.edit(record, change, by=user_of(request), what=what)


def _onward(record: SetRecord, question: Question, walk: Walk, stop: Stop) -> HttpResponse:
    """On to the next stop, which tells what was just kept; after the last one back to the socket."""
    if stop.number < len(walk.stops):
        address = reverse("circuits:pin", args=[record.key, walk.socket.ref, stop.number + 1])
    else:
        address = reverse("circuits:socket", args=[record.key, walk.socket.ref])
    sign = "&" if question.query else "?"
    return HttpResponseRedirect(f"{address}{question.query}{sign}{TOLD}={stop.number}")


def _screen(
    request: HttpRequest, case: ChartCase, walk: Walk, stop: Stop, context: dict[str, object], status: int = 200
) -> HttpResponse:
    told = request.GET.get(TOLD, "")
    before = next((one for one in walk.stops if str(one.number) == told and one.measured is not None), None)
    context |= {
        "view": stop_of(stop, case),
        "told": None if before is None else stop_of(before, case),
        "picture": _picture(walk, stop),
        "cautions": case.expectation.cautions,
        "count": len(walk.stops),
        "following": stop.number + 1 if stop.number < len(walk.stops) else None,
        "ac": stop.quantity == "volts_ac",
    }
    return render(request, "circuits/pin.html", context, status=status)


@reads(of_set="key")
@require_safe
def picture(request: HttpRequest, key: str, ref: str, kind: str) -> HttpResponse:
    """The socket's picture to save."""
    if kind not in KINDS:
        raise Http404
    record = set_record(key)
    question = asked_of(request, record)

    def show(case: ChartCase) -> HttpResponse:
        walk = _walk(case, ref)
        drawing = _picture(walk)
        with_what = "unplugged, tubes cold" if question.asked.off else f"on {question.line} V, with "
        with_what += "" if question.asked.off else meter_words(question.asked.meter)
        caption = (
            f"{record}. {record.family.name}.",
            f"What a sound set shows, {with_what}.",
            made(timezone.localdate()),
        )
        sheet = None if drawing is None else Sheet(f"{walk.socket.ref}, {walk.socket.type}", drawing, caption)
        return saved(sheet, kind, f"{record.key}-socket")

    return page_of(request, record, question, show)
