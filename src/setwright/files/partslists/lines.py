"""One line of a parts list: reference, value, ratings, words, part number, in any usual order."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from setwright.files.partslists.kinds import (
    PartKind,
    construction,
    is_reference_letters,
    is_variable,
    kind_by_letters,
    kind_of,
)
from setwright.notation import NotationError, PartValue, ReadValue, format_period, read_part_value

_REFERENCE = r"[A-Za-z]{1,4}[- ]?\d{1,4}(?:-?[A-Za-z])?(?!\w|\.\d)"
_ONE_REFERENCE = re.compile(r"([A-Za-z]{1,4})[- ]?(\d{1,4})(?:-?([A-Za-z]))?(?!\w|\.\d)")
_REFERENCES = re.compile(rf"{_REFERENCE}(?:\s*(?:,|&|\+|and|-|to|thru|through)\s*{_REFERENCE})*", re.IGNORECASE)
_RANGE = re.compile(rf"({_REFERENCE})\s*(?:-|to|thru|through)\s*({_REFERENCE})", re.IGNORECASE)
_BEFORE = re.compile(r"[\s•*–-]*(?:(?P<number>\d[\w./-]*)[).:]?\s+(?=[A-Za-z]{1,4}[- ]?\d))?")
_AFTER = re.compile(r"[\s,:;=–-]*(?:\.(?=\s|$))?[\s,:;=–-]*")
_NAMED_NUMBER = re.compile(
    r"\b(?:part|pt|stock|cat|catalog|order)\.?\s*(?:no|number|num|#)\.?\s*(?P<number>[\w./-]*\d[\w./-]*)", re.IGNORECASE
)
_NUMBER_SHAPE = re.compile(
    r"[A-Z]{0,3}\d{1,5}[A-Z]{0,2}-[A-Z]{0,2}\d{1,6}[A-Z]{0,2}(?:-\d{1,4})?|[A-Z]{1,3}-\d{2,6}(?:-\d{1,5})?|\d{5,8}",
    re.IGNORECASE,
)
_UNIT_BEHIND = re.compile(r"(?:m+f|u+f|p+f|mfd|ohm|k\b|meg|v\b|volt|w\b|watt)", re.IGNORECASE)
# a column of prices at the end of a line, or the dash that stands for none
_PRICE = re.compile(
    r"(?:\s{2,}|\s+(?=\$))(?:\$?\d{0,3}\.\d\d|\$\d+|[-–—])(?:\s*(?:ea|each|pr|pair|net)\.?)?\s*$", re.IGNORECASE
)
_SECTION_LETTERS = re.compile(r"([A-Za-z]{1,4}[- ]?\d{1,4})[- ]?([A-Za-z](?:\s*[,/&]\s*[A-Za-z])+)(?![\w.])")
_SECTION_RANGE = re.compile(r"([A-Za-z]{1,4}-?\d{1,4})([A-Za-z])-([A-Za-z])(?![\w.])")
_OMITTED = re.compile(
    r"(?:(?:not|no longer) (?:used|fitted|supplied|required|present)|unused|omit(?:ted)?|deleted|eliminated|removed"
    r"|absent|none)",
    re.IGNORECASE,
)
_ORDINAL = re.compile(r"\d(?:st|nd|rd|th)", re.IGNORECASE)
_MOST_IN_RANGE = 50


@dataclass(frozen=True, slots=True)
class ListedPart:
    """What one list says about one reference.

    value : value and ratings; None where the list gives none. value_text : the value as written.
    sections : the values of a can with several sections, in SI units.
    made : construction ("paper", "mica" …), None where not said. tube : the tube type, for tubes.
    words : what else is said. number : the maker's part number. line : in the list, from 1.
    unread : the line names the reference, but what it says was not understood.
    omitted : the line says that there is no such part.
    """

    reference: str
    kind: PartKind
    line: int
    text: str
    value: PartValue | None = None
    value_text: str = ""
    sections: tuple[float, ...] = ()
    made: str | None = None
    tube: str | None = None
    words: str = ""
    number: str | None = None
    unread: bool = False
    omitted: bool = False

    @property
    def says_enough(self) -> bool:
        """Whether it has the value that parts of its kind have; a trimmer or tuning gang needs none."""
        return self.value is not None or is_variable(self.words)

    @property
    def said(self) -> tuple[object, ...]:
        """What counts when two lines name the same reference."""
        return (self.value, self.sections, self.made, self.tube, self.words.casefold())


@dataclass(frozen=True, slots=True)
class UnreadLine:
    """A line that was not understood, and why; `references` are those it names all the same."""

    line: int
    text: str
    why: str
    references: tuple[str, ...] = ()

    def named_parts(self) -> list[ListedPart]:
        """The parts it names, of which nothing else is known: there, but nothing is said about them."""
        return [
            ListedPart(reference, kind_by_letters(_letters(reference)), self.line, self.text, unread=True)
            for reference in self.references
        ]


def plain_reference(text: str) -> str:
    """A reference in its plain form.

    >>> plain_reference("c-12"), plain_reference("C1-A")
    ('C12', 'C1A')
    """
    return re.sub(r"[\s-]", "", text).upper()


def read_part_line(line: int, text: str, *, m_means_thousand: bool = False) -> list[ListedPart] | UnreadLine:
    """The parts one line names (several references may share it), or why it is not understood.

    >>> part = read_part_line(1, "C12  .05 mfd 400 V  paper, screen bypass  50-1141")[0]
    >>> part.reference, part.value.value, part.made, part.words, part.number
    ('C12', 5e-08, 'paper', 'paper screen bypass', '50-1141')
    >>> read_part_line(1, "see page 12").why
    'no reference such as C12 or R7 begins it'
    """
    text = _SECTION_RANGE.sub(_sections_between, text, count=1) if _SECTION_RANGE.match(text.lstrip()) else text
    text = _SECTION_LETTERS.sub(_each_section, text, count=1) if _SECTION_LETTERS.match(text.lstrip()) else text
    before = _BEFORE.match(text)
    assert before is not None  # the pattern also matches nothing
    found = _REFERENCES.match(text, before.end())
    references = _expanded(found.group()) if found else []
    if found is None or not references or not all(_is_reference(reference) for reference in references):
        return UnreadLine(line, text.strip(), "no reference such as C12 or R7 begins it")
    gap = _AFTER.match(text, found.end())
    rest = text[gap.end() if gap else found.end() :].strip()
    if not rest:
        return UnreadLine(line, text.strip(), f"nothing is said about {references[0]}", tuple(references))
    if _OMITTED.fullmatch(rest.strip(" ().,;:-")):
        kinds = [kind_by_letters(_letters(one)) for one in references]
        return [
            ListedPart(one, kind, line, text.strip(), omitted=True) for one, kind in zip(references, kinds, strict=True)
        ]
    try:
        parts = [_read_rest(line, text.strip(), one, before["number"], rest, m_means_thousand) for one in references]
    except NotationError as error:
        return UnreadLine(line, text.strip(), error.message, tuple(references))
    return split_sections(parts[0], references) or parts


def split_sections(part: ListedPart, references: Sequence[str]) -> list[ListedPart]:
    """A part of several sections as one part for each reference; nothing where it has not as many sections.

    A part that is given no value (a tuning gang) is the same in all its sections.
    """
    if part.value is None and len(references) > 1:
        return [replace(part, reference=reference) for reference in references]
    if part.value is None or len(references) < 2 or len(references) != len(part.sections):
        return []
    kind = kind_of(_letters(part.reference), part.words, part.value.value, len(references))
    return [
        replace(
            part,
            reference=reference,
            kind=kind,
            value=replace(part.value, value=value),
            value_text=format_period(value, "F"),
            sections=(),
        )
        for reference, value in zip(references, part.sections, strict=True)
    ]


def without_price(text: str) -> str:
    """The line without the price at its end.

    >>> without_price("R3  63-1903  47 ohms 1/2 W.   .12 ea.")
    'R3  63-1903  47 ohms 1/2 W.'
    """
    return _PRICE.sub("", text)


def _each_section(match: re.Match[str]) -> str:
    """ "C9 A/B" as "C9A, C9B"."""
    return ", ".join(f"{match[1]}{letter}" for letter in re.findall(r"[A-Za-z]", match[2]))


def _sections_between(match: re.Match[str]) -> str:
    """ "C9A-C" as "C9A, C9B, C9C"; what is no rising row of letters is left as it is."""
    first, last = (ord(letter.upper()) for letter in match.group(2, 3))
    return ", ".join(f"{match[1]}{chr(code)}" for code in range(first, last + 1)) if first < last else match.group()


def _is_reference(reference: str) -> bool:
    return is_reference_letters(_letters(reference))


def _letters(reference: str) -> str:
    match = re.match(r"[A-Z]+", reference)
    assert match is not None  # a reference begins with letters
    return match.group()


def _expanded(text: str) -> list[str]:
    """ "C3, C5-C7" as C3, C5, C6, C7."""
    ranges = _RANGE.sub(lambda match: ", ".join(_range(match[1], match[2])), text)
    parts = re.split(r"\s*(?:,|&|\+|\band\b)\s*", ranges, flags=re.IGNORECASE)
    plain = list(dict.fromkeys(plain_reference(part) for part in parts))
    return plain if all(_ONE_REFERENCE.fullmatch(one) for one in plain) else []


def _range(first: str, last: str) -> list[str]:
    ends = [_ONE_REFERENCE.fullmatch(plain_reference(end)) for end in (first, last)]
    if ends[0] is None or ends[1] is None or ends[0][1] != ends[1][1]:
        return [first, last]
    letters, (low, high) = ends[0][1], (int(ends[0][2]), int(ends[1][2]))
    if low == high and ends[0][3] and ends[1][3]:
        return [f"{letters}{low}{chr(code)}" for code in range(ord(ends[0][3]), ord(ends[1][3]) + 1)]
    if ends[0][3] or ends[1][3] or not low < high <= low + _MOST_IN_RANGE:
        return [first, last]
    return [f"{letters}{number}" for number in range(low, high + 1)]


def _read_rest(
    line: int, text: str, reference: str, number: str | None, rest: str, m_means_thousand: bool
) -> ListedPart:
    letters = _letters(reference)
    rest, found_number = _without_number(rest)
    number = found_number or (number if number and _NUMBER_SHAPE.fullmatch(number) else None)
    kind = kind_by_letters(letters)
    if kind.name == "tube":
        tube, words = _tube_type(rest)
        return ListedPart(reference, kind, line, text, tube=tube, words=words, number=number)
    read = _value(rest, kind, m_means_thousand)
    made = construction(read.rest)
    value = read.part.value if read.part else None
    kind = kind_of(letters, read.rest, value, len(read.sections) or 1)
    words = " ".join(read.rest.replace("(", " ").replace(")", " ").split()).strip(" ,;:-")
    return ListedPart(
        reference, kind, line, text, read.part, read.value_text, read.sections, made, words=words, number=number
    )


def _value(rest: str, kind: PartKind, m_means_thousand: bool) -> ReadValue:
    """Value and words. A capacitor or resistor whose figures are not understood is refused, any other part is words."""
    if kind.unit is None:
        return ReadValue(None, "", rest)
    try:
        read = read_part_value(rest, kind.unit, m_means_thousand=m_means_thousand)
    except NotationError:
        if kind.has_value and not is_variable(rest):
            raise
        return ReadValue(None, "", rest)
    figures = [word for word in read.rest.split() if re.match(r"[.,]?\d", word) and not _ORDINAL.match(word)]
    if kind.has_value and read.part is None and figures and not is_variable(rest):
        raise NotationError(f'no value is understood in it; "{figures[0]}" needs a unit or belongs elsewhere')
    return read


def _without_number(rest: str) -> tuple[str, str | None]:
    """The words without the maker's part number, which stands named anywhere, or bare at one end."""
    named = _NAMED_NUMBER.search(rest)
    if named:
        return f"{rest[: named.start()]} {rest[named.end() :]}".strip(), named["number"]
    words = rest.split()
    if len(words) > 1 and _NUMBER_SHAPE.fullmatch(words[-1]):
        return " ".join(words[:-1]), words[-1]
    if len(words) > 1 and _NUMBER_SHAPE.fullmatch(words[0]) and not _UNIT_BEHIND.match(words[1]):
        return " ".join(words[1:]), words[0]
    return rest, None


def _tube_type(rest: str) -> tuple[str | None, str]:
    """The tube's type, the first word with a figure in it, and the other words."""
    words = rest.replace(",", " ").split()
    for index, word in enumerate(words):
        plain = word.strip("().;:").upper()
        if re.search(r"\d", plain) and not _ORDINAL.match(plain):
            return plain, " ".join([*words[:index], *words[index + 1 :]]).strip(" -–")
    return None, rest
