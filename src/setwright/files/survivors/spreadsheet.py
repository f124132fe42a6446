"""What spreadsheets do to cells: formulas, numbers cut short, dates that were no dates, odd spaces.

A cell that a spreadsheet would run as a formula is refused on the way in and made harmless on the way
out. Refused is everything that begins with `=`, and what begins with `+`, `-` or `@` and goes on as a
formula: a function call, arithmetic with numbers or cell names, a call of another program. A note such as
"- scratched" or "+ later knob", and a signed number, are ordinary text.
"""

from __future__ import annotations

import re

_REFERENCE = r"\$?[A-Za-z]{1,3}\$?\d{1,7}"
_NUMBER = r"\d[\d.,]*(?:[eE][+-]?\d+)?%?"
_OPERAND = rf"(?:{_REFERENCE}|{_NUMBER})"
_CALL = re.compile(r"[+\-@\s(]*[A-Za-z_][\w.]*\s*\(")
_PROGRAM = re.compile(r"[^|]*\|.*!", re.DOTALL)
_ARITHMETIC = re.compile(rf"[+\-@\s(]*{_OPERAND}[\s)%]*(?:[+\-*/^&:<>=,;]+[\s(+\-]*{_OPERAND}[\s)%]*)+")
_CELL_ALONE = re.compile(rf"[+\-@]\s*{_REFERENCE}")
_ODD_SPACES = re.compile("[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000\t\r\n]+")
_NO_WIDTH = re.compile("[\u200b-\u200f\u2060\ufeff\u00ad]")
_ODD = re.compile("[\u00a0\u1680\u2000-\u200f\u202f\u205f\u2060\u3000\ufeff\u00ad\t\r\n]")

_CUT_SHORT = re.compile(r"\d(?:[.,]\d+)?[eE]\+\d+")
_DECIMAL = re.compile(r"\d+[.,]0+")
_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_NUMERIC_DATE = re.compile(r"\d{1,2}[-/.]\d{1,2}[-/.](?:\d{2}|\d{4})|\d{4}[-/.]\d{1,2}[-/.]\d{1,2}(?:[ T]\d.*)?")
_MONTH_DATE = re.compile(rf"(?:\d{{1,2}}-)?(?:{_MONTHS})-\d{{2,4}}|\d{{1,2}}-(?:{_MONTHS})", re.IGNORECASE)
_ERRORS = ("#NAME?", "#REF!", "#VALUE!", "#N/A", "#DIV/0!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!")


def clean(cell: str) -> str:
    """A cell without what spreadsheets leave around text: odd and no-width spaces, blanks at both ends.

    >>> clean(" 6BE6\\u00a0 ")
    '6BE6'
    """
    if not cell.isascii() or "\n" in cell or "\t" in cell or "\r" in cell:
        cell = _ODD_SPACES.sub(" ", _NO_WIDTH.sub("", cell))
    return cell.strip()


def without_text_mark(cell: str) -> str:
    """A cell without the apostrophe by which a spreadsheet marks text."""
    return cell[1:].strip() if cell.startswith("'") else cell


def is_formula(cell: str) -> bool:
    """Whether a spreadsheet would run the (cleaned) cell as a formula; see the module's text.

    >>> [is_formula(text) for text in ("=A1", "+1+1", "-2*B3", "@SUM(A1)", "- scratched", "-5", "@home")]
    [True, True, True, True, False, False, False]
    """
    if cell[:1] not in ("=", "+", "-", "@"):
        return False
    if cell[0] == "=":
        return True
    return bool(_CALL.match(cell) or _PROGRAM.match(cell) or _ARITHMETIC.fullmatch(cell) or _CELL_ALONE.fullmatch(cell))


def harmless(cell: str) -> str:
    """A cell for a CSV file that a spreadsheet may open: what it could run gets the text mark in front.

    More careful than `is_formula`: anything that begins with = + - @, a tab or a line break is marked, signed
    numbers excepted.

    >>> harmless("=A1"), harmless("- scratched"), harmless("-5.2"), harmless("walnut")
    ("'=A1", "'- scratched", '-5.2', 'walnut')
    """
    if cell[:1] in ("=", "+", "-", "@", "\t", "\r", "\n") and not re.fullmatch(r"[+-]\d+(?:\.\d+)?", cell):
        return f"'{cell}"
    return cell


def spoiled(cell: str) -> str | None:
    """What a spreadsheet has done to a cell that was meant as text, None where nothing shows.

    >>> spoiled("7.1E+4")
    'a spreadsheet has cut this number short'
    """
    if cell in _ERRORS or (cell and not cell.strip("#") and len(cell) > 2):
        return "a spreadsheet has put its mark for an error here"
    if _CUT_SHORT.fullmatch(cell):
        return "a spreadsheet has cut this number short"
    if _NUMERIC_DATE.fullmatch(cell) or _MONTH_DATE.fullmatch(cell):
        return "a spreadsheet has probably made a date of this"
    if _DECIMAL.fullmatch(cell):
        return "a spreadsheet has added decimals to this number"
    return None
