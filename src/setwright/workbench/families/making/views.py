"""Pages that make a family, or many features of one at once."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from setwright.files import FileProblems, read_family
from setwright.files.editing import FamilyEdit
from setwright.files.learning import learn_features
from setwright.files.learning.table import columns_of
from setwright.files.partslists.comparison import Comparison
from setwright.files.partslists.extension import extend_family
from setwright.files.partslists.proposals import new_family_text
from setwright.files.problems import refuse
from setwright.files.shapes import KINDS
from setwright.files.source_text import FAMILY_LIMIT
from setwright.workbench.accounts.rules import writes
from setwright.workbench.families.editor.forms import problem_words
from setwright.workbench.families.editor.saving import save
from setwright.workbench.families.editor.views import form_methods, record_of, seen_revision
from setwright.workbench.families.making.choosing import (
    chosen_comparison,
    chosen_features,
    comparison_choices,
    learning_choices,
)
from setwright.workbench.families.making.printings import compared, notes_of, posted_printings
from setwright.workbench.families.making.texts import as_register, family_id, new_family
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.incoming import Incoming, NotKept, Sent
from setwright.workbench.records import keeping
from setwright.workbench.services.records import family_file_of, family_of
from setwright.workbench.site.words import ACCESS_WORDS, PERMANENCE_WORDS, count

PASTED = "pasted table"


def store() -> Incoming:
    """Where what was sent waits for a decision."""
    return Incoming(settings.DATA_DIR / "incoming")


def owner(request: HttpRequest) -> str:
    """Whose waiting things they are."""
    return f"account {request.user.pk}"


def sent(request: HttpRequest, limit: int, what: str) -> Sent | None:
    """What the form brought: a file, or what was pasted; None for neither. FileProblems where it is too large."""
    upload = request.FILES.get("file")
    if upload is None:
        text = request.POST.get("text", "")
        return Sent(PASTED, text.encode("utf-8")) if text.strip() else None
    if upload.size is None or upload.size > limit:
        size = (upload.size or 0) / 1e6
        raise refuse(str(upload.name), f"the file has {size:,.1f} MB; {what} may have {limit / 1e6:,.0f} MB")
    return Sent(str(upload.name), upload.read())


def _told(failure: FileProblems) -> list[str]:
    more = [f"And {failure.left_out} more."] if failure.left_out else []
    return [problem_words(problem) for problem in failure.problems] + more


def _page(request: HttpRequest, template: str, record: FamilyRecord | None, **context: object) -> HttpResponse:
    told = context.get("told")
    shared = {
        "section": "families",
        "record": record,
        "kinds": KINDS,
        "accesses": ACCESS_WORDS.items(),
        "permanences": PERMANENCE_WORDS.items(),
        "name": request.POST.get("name", ""),
        "key": request.POST.get("key", ""),
        "kind": request.POST.get("kind", KINDS[0]),
        "here": request.path,
    }
    return render(request, f"families/making/{template}.html", {**shared, **context}, status=422 if told else 200)


def _new_key(request: HttpRequest) -> tuple[str, str]:
    """Id and name of the new family that a form asks for. FileProblems without a name."""
    name = " ".join(request.POST.get("name", "").split())
    if not name:
        raise refuse("the new family", "the name is missing; write what the family is called")
    taken = FamilyRecord.everything.values_list("key", flat=True)
    return family_id(request.POST.get("key", ""), name, set(taken)), name


def _made(request: HttpRequest, text: str, what: str, name: str) -> FamilyRecord:
    record = keeping.create("family", text, by=request.user, what=what, name=name)
    assert isinstance(record, FamilyRecord)
    return record


def _at_editor(record: FamilyRecord) -> HttpResponse:
    return redirect(f"{reverse('families:edit', args=[record.key])}?saved={record.revision}")


@writes()
@form_methods
def start(request: HttpRequest) -> HttpResponse:
    """A new family from nothing, and the ways to one from something."""
    told: list[str] = []
    if request.method == "POST":
        try:
            key, name = _new_key(request)
            file = new_family(key, name, request.POST.get("kind", ""))
            return _at_editor(_made(request, file.text, "Begun from nothing", file.name))
        except FileProblems as failure:
            told = _told(failure)
    return _page(request, "start", None, told=told)


@writes()
@form_methods
def from_file(request: HttpRequest) -> HttpResponse:
    """A new family from its file."""
    told: list[str] = []
    text = request.POST.get("text", "")
    if request.method == "POST":
        try:
            given = sent(request, FAMILY_LIMIT, "a family file")
            if given is None:
                raise refuse("the family file", "choose a file, or paste its text")
            name = "pasted.toml" if given.name == PASTED else given.name
            read = read_family(given.content, name)
            name = f"{read.family.id}.toml" if given.name == PASTED else name
            return _at_editor(_made(request, read.text, f"Taken in from {given.name}", name))
        except FileProblems as failure:
            told = _told(failure)
    return _page(request, "file", None, told=told, text=text)


@writes(family="key")
@form_methods
def change_text(request: HttpRequest, key: str) -> HttpResponse:
    """The family file itself: changed by hand, or another put in its place."""
    record = record_of(key)
    told: list[str] = []
    text = request.POST.get("text", record.text)
    if request.method == "POST":
        try:
            given = sent(request, FAMILY_LIMIT, "a family file")
            if given is None:
                raise refuse("the family file", "choose a file, or write its text")
            read = read_family(given.content, record.file_name if given.name == PASTED else given.name)
            what = "The file changed by hand" if given.name == PASTED else f"Put in place from {given.name}"
            kept = keeping.keep(record, read.text, by=request.user, what=what, seen_revision=seen_revision(request))
            return _at_editor(kept)
        except FileProblems as failure:
            told = _told(failure)
    return _page(request, "file", record, told=told, text=text)


@writes()
@form_methods
def new_from_printings(request: HttpRequest) -> HttpResponse:
    """A new family from printings of its parts list."""
    return _printings(request, None)


@writes(family="key")
@form_methods
def more_from_printings(request: HttpRequest, key: str) -> HttpResponse:
    """Further features and versions of a family from printings of its parts list."""
    return _printings(request, record_of(key))


def _printings(request: HttpRequest, record: FamilyRecord | None) -> HttpResponse:
    posted = request.POST.dict()
    printings = posted_printings(posted)
    thousand = "thousand" in posted
    context: dict[str, object] = {"printings": printings, "thousand": thousand}
    if request.method != "POST":
        return _page(request, "printings", record, **context)
    try:
        comparison = compared(printings, m_means_thousand=thousand)
    except FileProblems as failure:
        return _page(request, "printings", record, told=_told(failure), **context)
    told: list[str] = []
    if posted.get("step") == "take":
        try:
            return _at_editor(_taken(request, record, chosen_comparison(comparison, posted)))
        except FileProblems as failure:
            told = _told(failure)
    choices = comparison_choices(comparison, posted, first=posted.get("step") != "take")
    context["choices"], context["notes"] = choices, _notes(record, comparison)
    context["counted"] = f"{count(comparison.references, 'reference')}, {comparison.same} the same in all printings"
    return _page(request, "choose_printings", record, told=told, **context)


def _notes(record: FamilyRecord | None, comparison: Comparison) -> list[str]:
    notes = notes_of(comparison)
    return notes if record is None else [*notes, *extend_family(family_file_of(record), comparison).notes]


def _taken(request: HttpRequest, record: FamilyRecord | None, comparison: Comparison) -> FamilyRecord:
    """The family made or extended by what was accepted."""
    labels = " and ".join(one.label for one in comparison.lists)
    if not comparison.proposals:
        raise refuse("the features", "none is ticked; tick those to be taken over")
    what = f"{count(len(comparison.proposals), 'feature')} from parts lists: {labels}"
    if record is None:
        key, name = _new_key(request)
        text = new_family_text(comparison, key, name, request.POST.get("kind", ""))
        read_family(text.encode("utf-8"), f"{key}.toml")
        return _made(request, text, what, f"{key}.toml")
    text = extend_family(family_file_of(record), comparison).text
    return keeping.keep(record, text, by=request.user, what=what, seen_revision=seen_revision(request))


@writes()
@form_methods
def new_from_table(request: HttpRequest) -> HttpResponse:
    """A new family from a table of survivors."""
    return _learning(request, None)


@writes(family="key")
@form_methods
def more_from_table(request: HttpRequest, key: str) -> HttpResponse:
    """Further features of a family from the columns of a table of survivors."""
    return _learning(request, record_of(key))


def _learning(request: HttpRequest, record: FamilyRecord | None) -> HttpResponse:
    family = None if record is None else family_of(record)
    posted = request.POST.dict()
    if request.method != "POST":
        return _page(request, "learn", record)
    try:
        token = posted.get("token", "")
        given = store().find(token, owner(request)) if token else _table_sent(request, record)
        if given is None:
            raise refuse("the table", "choose a file, or paste cells from a spreadsheet")
        columns = columns_of(given.content, given.name, family)
    except NotKept as gone:
        return _page(request, "learn", record, told=[str(gone)])
    except FileProblems as failure:
        return _page(request, "learn", record, told=_told(failure), text=request.POST.get("text", ""))
    learning = learn_features(columns, family)
    told: list[str] = []
    if posted.get("step") == "take":
        try:
            return _learnt(request, record, given, columns, token)
        except FileProblems as failure:
            told = _told(failure)
    token = token or store().keep(given, owner(request))
    choices = learning_choices(learning, posted, first=posted.get("step") != "take")
    return _page(request, "choose_columns", record, told=told, learning=learning, choices=choices, token=token)


def _table_sent(request: HttpRequest, record: FamilyRecord | None) -> Sent | None:
    """The table that the form brought, or the family's own register, whose free columns may become features."""
    register = None if record is None else record.register_or_none
    if register is not None and "register" in request.POST:
        return Sent(register.file_name, register.text.encode("utf-8"))
    return sent(request, FAMILY_LIMIT * 10, "a table")


def _learnt(
    request: HttpRequest, record: FamilyRecord | None, given: Sent, columns: dict[str, list[str]], token: str
) -> HttpResponse:
    """Make or extend the family, and go on to taking the table's sets in where that was asked for."""
    learning = learn_features(columns, None if record is None else family_of(record))
    chosen = chosen_features(learning, request.POST.dict())
    if not chosen:
        raise refuse("the features", "none is ticked; tick those to be taken over")
    tables = [table for _, table in chosen]
    what = f"{count(len(tables), 'feature')} learnt from {given.name}"
    if record is None:
        key, name = _new_key(request)
        file = new_family(key, name, request.POST.get("kind", ""), tables)
        kept = _made(request, file.text, what, file.name)
    else:
        edits = [FamilyEdit("add", "feature", values=table) for table in tables]
        kept = save(record, edits, by=request.user, what=what, seen_revision=None)
    store().drop(token)
    if "sets" not in request.POST:
        return _at_editor(kept)
    learnt = {feature.column: feature.id for feature, _ in chosen}
    features = {feature.id for feature in family_of(kept).features}
    table = as_register(columns, learnt, features)
    waiting = store().keep(Sent(given.name, table), owner(request))
    return redirect(f"{reverse('survivors:import', args=[kept.key])}?token={waiting}")
