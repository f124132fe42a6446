"""Date evidence: stamps, dated parts and documents, checked and kept for dating."""

from __future__ import annotations

import re

from setwright.chronology.codes import scheme_fields
from setwright.chronology.model import Evidence as DateEvidence
from setwright.files.problems import quoted
from setwright.files.suggest import within_one_edit
from setwright.notation import NotationError, parse_date
from setwright.reference import part_code_schemes

_SCHEME = re.compile(r"[a-z]+[0-9]?(?:-[a-z]+[0-9]?)+")
_CODE = re.compile(r"[A-Za-z0-9?*][A-Za-z0-9?* .,/-]*")


def check_code(code: str) -> str:
    """A part's date code as read; NotationError where it cannot be one."""
    if not _CODE.fullmatch(code):
        raise NotationError(f"{quoted(code)} is no date code; write letters and digits, and ? for what is illegible")
    return code


def check_scheme(scheme: str) -> str:
    """How a date code is made up; NotationError where that cannot be read."""
    known = part_code_schemes()
    if scheme in known:
        return scheme
    slip = next((name for name in known if within_one_edit(scheme.lower(), name)), None)
    if slip is not None and not _is_scheme(scheme):
        raise NotationError(f"the scheme {quoted(scheme)} is not known", slip)
    if not _SCHEME.fullmatch(scheme):
        raise NotationError(
            f"the scheme {quoted(scheme)} cannot be read; join words with dashes, such as year-week or year2-month"
        )
    scheme_fields(scheme)
    return scheme


def _is_scheme(scheme: str) -> bool:
    try:
        scheme_fields(scheme)
    except NotationError:
        return False
    return True


def read_part_date(part: str, text: str) -> DateEvidence:
    """What a register notes of one dated part: an ISO date or `scheme:code`.

    >>> read_part_date("speaker", "year-week:8?1")
    Evidence(kind='part', date=None, code='8?1', scheme='year-week', part='speaker')
    """
    scheme, colon, code = text.partition(":")
    if colon:
        return DateEvidence("part", None, check_code(code.strip()), check_scheme(scheme.strip()), part)
    return DateEvidence("part", parse_date(text), part=part)


__all__ = ["DateEvidence", "check_code", "check_scheme", "read_part_date"]
