"""Pages of sets."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from setwright.files import answer_as_json
from setwright.identity.look_sheet import look_sheet
from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.rules import may_write, reads, roles_for, visible
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature.citing import Cited, cited_in
from setwright.workbench.services import identity as identity_service
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.sets.computed import REFRESH_SECONDS, data_of, learned_asked, page_of, query_for, taught_by
from setwright.workbench.sets.identity_page import identity_page
from setwright.workbench.sets.loading import set_record, shelf_records
from setwright.workbench.sets.look_sheet_page import sheet_page
from setwright.workbench.sets.method import rates_sentence
from setwright.workbench.sets.others import (
    MOST_SISTERS_AT_ONCE,
    LetterView,
    comparison_of,
    letter_views,
    sister_rows,
)
from setwright.workbench.sets.shelf import ORDERS, Asked, page_of_shelf, shelf_rows
from setwright.workbench.sets.shelf_lines import keep_line
from setwright.workbench.sets.steps import steps_of
from setwright.workbench.sets.tables import TABLES, filled_tables
from setwright.workbench.site.csv_answer import csv_response
from setwright.workbench.survivors.reading import index_of


@reads()
@require_safe
def shelf(request: HttpRequest) -> HttpResponse:
    """The sets, each with what it most probably is. Where that is being worked out, the page loads itself anew."""
    asked = Asked.of(request.GET)
    page = page_of_shelf(visible(request, shelf_records(), "family__key"), asked)
    rows, pending = shelf_rows(tuple(page))
    families = visible(request, FamilyRecord.objects.all()).values_list("key", "name")
    context = {
        "section": "sets",
        "asked": asked,
        "page": page,
        "rows": rows,
        "query": asked.query,
        "families": tuple(families),
        "orders": [(order, words) for order, (words, _) in ORDERS.items()],
        "may_add": roles_for(request).somewhere(Role.CONTRIBUTOR),
    }
    response = render(request, "sets/shelf.html", context)
    if pending:
        response.headers["Refresh"] = str(2 * REFRESH_SECONDS)
    return response


@reads(of_set="key")
@require_safe
def set_page(request: HttpRequest, key: str) -> HttpResponse:
    """One set: the steps of the job, each with its answer."""
    record = set_record(key)
    steps = steps_of(record, may_write=may_write(request, record.family.key))
    return render(request, "sets/set.html", {"section": "sets", "record": record, "steps": steps})


def _page(
    request: HttpRequest, key: str, template: str, context: Callable[[IdentityCase], dict[str, object]]
) -> HttpResponse:
    """One page of a set's answer. context : what the template needs beside the record."""
    record = set_record(key)

    def show(case: IdentityCase) -> HttpResponse:
        if not case.learned:
            keep_line(record, case)
        shared = {"section": "sets", "record": record, "query": query_for(case.learned), "rates": rates_sentence(case)}
        return render(request, template, {**shared, **context(case)})

    return page_of(request, record, show)


def _cited(case: IdentityCase, key: str) -> Mapping[str, Cited]:
    """What the sources of a set's observations stand for. Costs queries only where one names a source."""
    named = [observation.source for observation in case.bench_set.observations if observation.source]
    return cited_in(set_record(key).family, named) if named else {}


@reads(of_set="key")
@require_safe
def identity(request: HttpRequest, key: str) -> HttpResponse:
    """What one set is."""
    return _page(
        request,
        key,
        "sets/identity.html",
        lambda case: {"page": identity_page(case, _cited(case, key)), "tables": filled_tables(case.answer)},
    )


@reads(of_set="key")
@require_safe
def look_sheet_page(request: HttpRequest, key: str) -> HttpResponse:
    """A sheet to print: boxes for every look that is left."""
    return _page(
        request,
        key,
        "sets/look_sheet.html",
        lambda case: {"page": sheet_page(case, look_sheet(case.family, case.bench_set, case.answer))},
    )


@reads(of_set="key")
@require_safe
def sisters(request: HttpRequest, key: str) -> HttpResponse:
    """The sets most like this one."""
    return _page(
        request,
        key,
        "sets/sisters.html",
        _sisters,
    )


@reads(of_set="key")
@require_safe
def sister(request: HttpRequest, key: str, name: str) -> HttpResponse:
    """This set beside one survivor, difference by difference."""

    def context(case: IdentityCase) -> dict[str, object]:
        if index_of(case.survivors, name) is None:
            raise Http404
        return {"name": name, "page": comparison_of(case, name)}

    return _page(request, key, "sets/sister.html", context)


def _sisters(case: IdentityCase) -> dict[str, object]:
    rows = sister_rows(case)
    return {
        "first": rows[:MOST_SISTERS_AT_ONCE],
        "rest": rows[MOST_SISTERS_AT_ONCE:],
        "several_lines": len(case.family.lines) > 1,
    }


def _letters(case: IdentityCase, name: str | None) -> dict[str, object]:
    """The letters, and the one that is shown: about the set of that id, or the most telling one."""
    if name is not None and index_of(case.survivors, name) is None:
        raise Http404
    written = letter_views(case)
    shown = next((letter for letter in written if name in (None, letter.name)), None)
    return {"name": name, "letter": shown, "others": [letter for letter in written if letter is not shown]}


@reads(of_set="key")
@require_safe
def ask(request: HttpRequest, key: str) -> HttpResponse:
    """What to ask other owners: the most telling letter, and whom else one could ask."""
    return _page(request, key, "sets/ask.html", lambda case: _letters(case, None))


@reads(of_set="key")
@require_safe
def letter(request: HttpRequest, key: str, name: str) -> HttpResponse:
    """The letter about one set."""
    return _page(request, key, "sets/ask.html", lambda case: _letters(case, name))


@reads(of_set="key")
@require_safe
def letter_file(request: HttpRequest, key: str, name: str) -> HttpResponse:
    """The letter about one set as plain text."""

    def show(case: IdentityCase) -> HttpResponse:
        shown = _letters(case, name)["letter"]
        if not isinstance(shown, LetterView):
            raise Http404
        return HttpResponse(shown.wrapped, content_type="text/plain; charset=utf-8")

    return data_of(request, set_record(key), show, json=False)


@reads(of_set="key")
@require_POST
def stop(request: HttpRequest, key: str) -> HttpResponse:
    """Stop the computation of this set's answer."""
    record = set_record(key)
    identity_service.stop(record, taught_by=taught_by(request))
    return redirect(f"{reverse('sets:identity', args=[key])}{query_for(learned_asked(request))}")


@reads(of_set="key")
@require_POST
def start(request: HttpRequest, key: str) -> HttpResponse:
    """Let a computation that was stopped be done after all."""
    record = set_record(key)
    identity_service.start_again(record, taught_by=taught_by(request))
    return redirect(f"{reverse('sets:identity', args=[key])}{query_for(learned_asked(request))}")


@reads(of_set="key")
@require_safe
def identity_json(request: HttpRequest, key: str) -> HttpResponse:
    """The same answer for programs."""

    def show(case: IdentityCase) -> HttpResponse:
        return JsonResponse(answer_as_json(case.answer), json_dumps_params={"indent": 1, "ensure_ascii": False})

    return data_of(request, set_record(key), show, json=True)


@reads(of_set="key")
@require_safe
def table(request: HttpRequest, key: str, name: str) -> HttpResponse:
    """One table of the answer as CSV."""
    if name not in TABLES:
        raise Http404
    record = set_record(key)

    def show(case: IdentityCase) -> HttpResponse:
        learned = "-learned-rates" if case.learned else ""
        return csv_response(TABLES[name](case.answer), f"{record.key}-{name}{learned}.csv")

    return data_of(request, record, show, json=False)


@reads(of_set="key")
@require_safe
def set_file(request: HttpRequest, key: str) -> HttpResponse:
    """The set's file as it stands now."""
    return HttpResponse(set_record(key).text, content_type="text/plain; charset=utf-8")
