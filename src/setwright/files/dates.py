"""Date evidence: stamps, dated parts and documents, checked and kept for dating."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from setwright.files.problems import quoted
from setwright.files.suggest import within_one_edit
from setwright.notation import DateInterval, NotationError, parse_date

KNOWN_SCHEMES = ("year-week", "year2-week", "week-year", "year2-month", "year-month", "month-year", "year2-quarter")
"""Schemes of part codes in common use; others of the same make-up are accepted."""

_SCHEME = re.compile(r"[a-z]+[0-9]?(?:-[a-z]+[0-9]?)+")
_CODE = re.compile(r"[A-Za-z0-9?*][A-Za-z0-9?* .,/-]*")


@dataclass(frozen=True, slots=True)
class DateEvidence:
    """One piece of dating evidence.

    kind : "stamp" (when the set was finished), "part" (a dated part) or "document" (not after).
    date : the days it can mean; None where only a `code` was read.
    code, scheme : a part's date code as read, and how such codes are made up where known.
    part : which part carries it.
    """

    kind: Literal["stamp", "part", "document"]
    date: DateInterval | None = None
    code: str | None = None
    scheme: str | None = None
    part: str | None = None


def check_code(code: str) -> str:
    """A part's date code as read; NotationError where it cannot be one."""
    if not _CODE.fullmatch(code):
        raise NotationError(f"{quoted(code)} is no date code; write letters and digits, and ? for what is illegible")
    return code


def check_scheme(scheme: str) -> str:
    """How a date code is made up; NotationError where that cannot be read."""
    if scheme in KNOWN_SCHEMES:
        return scheme
    slip = next((known for known in KNOWN_SCHEMES if within_one_edit(scheme.lower(), known)), None)
    if slip is not None:
        raise NotationError(f"the scheme {quoted(scheme)} is not known", slip)
    if not _SCHEME.fullmatch(scheme):
        raise NotationError(
            f"the scheme {quoted(scheme)} cannot be read; join words with dashes, such as year-week or year2-month"
        )
    return scheme


def read_part_date(part: str, text: str) -> DateEvidence:
    """What a register notes of one dated part: an ISO date or `scheme:code`.

    >>> read_part_date("speaker", "year-week:8?1")
    DateEvidence(kind='part', date=None, code='8?1', scheme='year-week', part='speaker')
    """
    scheme, colon, code = text.partition(":")
    if colon:
        return DateEvidence("part", None, check_code(code.strip()), check_scheme(scheme.strip()), part)
    return DateEvidence("part", parse_date(text), part=part)
