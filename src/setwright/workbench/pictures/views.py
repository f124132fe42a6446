"""Pictures to save and to send: SVG and PNG files."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from setwright.workbench.accounts.rules import reads
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.pictures.save import (
    FAMILY_PICTURES,
    SET_PICTURES,
    sheet_of_family,
    sheet_of_set,
    sheet_of_survivor,
)
from setwright.workbench.pictures.sheet import Sheet, content_security_policy, png_of, svg_of
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.services.survivors import family_case
from setwright.workbench.sets.computed import data_of
from setwright.workbench.sets.loading import set_record
from setwright.workbench.survivors.reading import index_of

KINDS = ("svg", "png")


def _line(request: HttpRequest) -> str | None:
    return request.GET.get("line") or None


def _known(name: str, names: object, kind: str) -> None:
    if kind not in KINDS or name not in names:  # type: ignore[operator]
        raise Http404


def saved(sheet: Sheet | None, kind: str, file_name: str) -> HttpResponse:
    """A picture as a file of a kind in KINDS; 404 where there is none."""
    if sheet is None:
        raise Http404
    if kind == "png":
        response = HttpResponse(png_of(sheet), content_type="image/png")
    else:
        response = HttpResponse(svg_of(sheet), content_type="image/svg+xml; charset=utf-8")
        response.headers["Content-Security-Policy"] = content_security_policy()
    response.headers["Content-Disposition"] = f'inline; filename="{file_name}.{kind}"'
    response.headers["Cache-Control"] = "private, no-cache"
    return response


@reads(of_set="key")
@require_safe
def of_set(request: HttpRequest, key: str, name: str, kind: str) -> HttpResponse:
    """A picture of what a set is."""
    _known(name, SET_PICTURES, kind)
    record = set_record(key)

    def show(case: IdentityCase) -> HttpResponse:
        sheet = sheet_of_set(case, str(record), name, _line(request), timezone.localdate())
        return saved(sheet, kind, f"{record.key}-{name}")

    return data_of(request, record, show, json=False)


@reads(family="key")
@require_safe
def of_family(request: HttpRequest, key: str, name: str, kind: str) -> HttpResponse:
    """A picture of a family."""
    _known(name, FAMILY_PICTURES, kind)
    sheet = sheet_of_family(family_case(_family(key)), name, _line(request), timezone.localdate())
    return saved(sheet, kind, f"{key}-{name}")


@reads(family="family")
@require_safe
def of_survivor(request: HttpRequest, family: str, survivor: str, name: str, kind: str) -> HttpResponse:
    """A picture of one survivor."""
    _known(name, FAMILY_PICTURES, kind)
    case = family_case(_family(family))
    index = index_of(case.survivors, survivor)
    if index is None:
        raise Http404
    sheet = sheet_of_survivor(case, index, name, _line(request), timezone.localdate())
    return saved(sheet, kind, f"{family}-survivor-{name}")


def _family(key: str) -> FamilyRecord:
    records = FamilyRecord.objects.select_related("register").defer("text", "register__text")
    return get_object_or_404(records, key=key)
