"""A part's value with its ratings, as a parts list writes it: ".02 mfd 600 V", "470k 1/2 W 10%", ".05/400"."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from setwright.notation.errors import NotationError
from setwright.notation.numbers import NUMBER, is_fraction, read_number, tidy
from setwright.notation.quantities import Quantity, parse_quantity
from setwright.notation.units import WORD, check_unit, is_ambiguous_m, near_unit_word, unit_of

_PERCENT = r"(?:%|per\s?cents?\b|pct\b)"
_TOLERANCE = re.compile(rf"(?:tol(?:erance)?\.?\s*)?(?:\+-|\+|-)?\s*({NUMBER})\s*{_PERCENT}", re.IGNORECASE)
_TWO_SIDED = re.compile(rf"([+-])\s*({NUMBER})\s*{_PERCENT}?\s*[,/]?\s*([+-])\s*({NUMBER})\s*{_PERCENT}", re.IGNORECASE)
_ABSOLUTE = re.compile(rf"\+-\s*(?P<quantity>{NUMBER}\s*{WORD})")
# plain numbers taken whole, and few of them: what can be split in several ways takes for ever on a long odd line
_SECTION = r"(?>\d+(?:\.\d+)?|\.\d+)"
_SECTIONS = re.compile(
    rf"(?P<values>{_SECTION}(?:\s*(?:[-/x+]|and)\s*{_SECTION}){{1,5}})\s*-?\s*(?P<word>{WORD})", re.IGNORECASE
)
_PAIRED_VOLTS = re.compile(rf"\s*(?:[/@]|-(?=\s*\d)|at\b)\s*(?P<volts>{NUMBER})\s*(?P<word>(?:{WORD})?)", re.IGNORECASE)
_NUMBER = re.compile(NUMBER)
_UNIT_WORDS = re.compile(rf"\s*-?\s*({WORD}(?:\s{WORD}){{0,2}})")
# a comma behind a word separates; one behind a space, with digits after it, is a decimal comma (",05 mfd")
_SKIP = re.compile(r"(?:[\s;@]|(?<=\S),|,(?!\d)|\bat\b)*", re.IGNORECASE)
_REST_WORD = re.compile(r"\S+")
_LONGEST_LINE = 1000
_VALUE_UNITS = ("F", "ohm", "H")


@dataclass(frozen=True, slots=True)
class PartValue:
    """A part's value in SI units with what else its marking says; None where it does not say.

    `tolerance` is relative (0.1 for 10 %); of unequal sides (+80 −20 %) it is the wider one.
    """

    value: float
    unit: str
    tolerance: float | None = None
    rated_volts: float | None = None
    rated_watts: float | None = None


@dataclass(frozen=True, slots=True)
class ReadValue:
    """What a line of a parts list says about the value, and the words around it.

    part : the value and ratings; None where the line gives none.
    value_text : the value alone as written, without ratings.
    rest : the words that are neither value nor rating, in their order.
    sections : the value of each section, in SI units, where one can holds several ("20-20 mfd").
    """

    part: PartValue | None
    value_text: str
    rest: str
    sections: tuple[float, ...] = ()


def parse_part_value(text: str, unit: str | None = None, *, m_means_thousand: bool = False) -> PartValue:
    """Read a value with its ratings; every word must be understood.

    Without `unit` the value is the first capacitance, resistance or inductance, else the first quantity.
    Raises NotationError for a word that is neither value nor rating, and for what can be read in two ways.

    >>> parse_part_value(".02 mfd 600 V")
    PartValue(value=2e-08, unit='F', tolerance=None, rated_volts=600.0, rated_watts=None)
    >>> parse_part_value("470k 1/2 W 10%")
    PartValue(value=470000.0, unit='ohm', tolerance=0.1, rated_volts=None, rated_watts=0.5)
    >>> parse_part_value(".05/400") == parse_part_value("50 nF 400 V")
    True
    """
    read = read_part_value(text, unit, m_means_thousand=m_means_thousand)
    if read.sections:
        raise NotationError(
            f'"{text}" holds {len(read.sections)} sections; give each its own reference and value, '
            'such as "20 mfd 450 V"'
        )
    if read.part is None:
        parse_quantity(text, unit, m_means_thousand=m_means_thousand)  # says why it is no value
        raise NotationError(f'"{text}" holds no value; write for example ".05 mfd 400 V" or "470k 1/2 W"')
    if read.rest:
        raise NotationError(
            f'"{text}": "{read.rest}" is neither a value nor a rating; '
            'write for example ".05 mfd 400 V" or "470k 1/2 W"'
        )
    return read.part


def read_part_value(text: str, unit: str | None = None, *, m_means_thousand: bool = False) -> ReadValue:
    """Find the value and the ratings among the words of a parts-list line.

    A lone letter counts as a multiplier only with `unit`, so that a tube type such as 6K7 is no resistance.
    Raises NotationError where a value can be read in two ways, or where two values of one kind are given.

    >>> read = read_part_value(".05 mfd 400 volts paper, bypass", "F")
    >>> read.part.rated_volts, read.value_text, read.rest
    (400.0, '.05 mfd', 'paper bypass')
    >>> read_part_value("20-20 mfd 450 V").sections
    (2e-05, 2e-05)
    """
    check_unit(unit)
    return _Reading(tidy(text, _LONGEST_LINE), unit, m_means_thousand).read()


def _is_one_number(text: str) -> bool:
    """Whether "1/2" or "1-1/2" is a fraction and not two sections."""
    return _NUMBER.fullmatch(text) is not None and is_fraction(re.split(r"[\s-]", text)[-1])


@dataclass(slots=True)
class _Reading:
    """One pass over the text, collecting quantities, tolerance and other words."""

    text: str
    unit: str | None
    m_means_thousand: bool
    position: int = 0
    quantities: list[tuple[Quantity, str]] = field(default_factory=list)
    sections: tuple[float, ...] = ()
    sections_text: str = ""
    tolerance: float | None = None
    absolute_tolerance: Quantity | None = None
    words: list[str] = field(default_factory=list)

    def read(self) -> ReadValue:
        steps = (self._read_tolerance, self._read_sections, self._read_quantity)
        while True:
            skip = _SKIP.match(self.text, self.position)
            self.position = skip.end() if skip else self.position
            if self.position >= len(self.text):
                return self._result()
            if not any(step() for step in steps):
                word = _REST_WORD.match(self.text, self.position)
                assert word is not None  # the position is inside the text and not at a space
                self.words.append(word.group().rstrip(",;"))
                self.position = word.end()

    def _read_tolerance(self) -> bool:
        two_sided = _TWO_SIDED.match(self.text, self.position)
        one_sided = _TOLERANCE.match(self.text, self.position)
        absolute = _ABSOLUTE.match(self.text, self.position)
        if two_sided:
            self.tolerance = max(float(read_number(two_sided[2])), float(read_number(two_sided[4]))) / 100
        elif one_sided:
            self.tolerance = float(read_number(one_sided[1]) / 100)
        elif absolute:
            self.absolute_tolerance = parse_quantity(absolute["quantity"], self.unit)
        found = two_sided or one_sided or absolute
        self.position = found.end() if found else self.position
        return found is not None

    def _read_sections(self) -> bool:
        """ "20-20 mfd", "40/30/20 mfd": several sections in one can."""
        match = _SECTIONS.match(self.text, self.position)
        if match is None or self.quantities or self.sections or (self.unit not in (None, "F")):
            return False
        known = unit_of(match["word"], self.unit)
        if known is None or known[0] != "F" or _is_one_number(match["values"]):
            return False
        numbers = re.split(r"\s*(?:[-/x+]|and)\s*", match["values"], flags=re.IGNORECASE)
        self.sections = tuple(float(read_number(number) * known[1]) for number in numbers)
        self.sections_text = match.group().strip()
        self.position = match.end()
        return True

    def _read_quantity(self) -> bool:
        number = _NUMBER.match(self.text, self.position)
        if number is None or self._inside_word():
            return False
        end = self._end_of_unit(number.end())
        if end is None:
            return self._read_bare(number)
        written = self.text[self.position : end]
        wanted = self.unit if not self._has_value() else None
        found = self._parse(written, wanted)
        if found is None:
            return False
        self._keep(found, written, end)
        return True

    def _inside_word(self) -> bool:
        before = self.text[self.position - 1 : self.position]
        return before.isalnum()

    def _end_of_unit(self, start: int) -> int | None:
        """Where the longest unit word behind a number ends, None if there is none."""
        match = _UNIT_WORDS.match(self.text, start)
        words = match[1].split(" ") if match else []
        wanted = self.unit if not self._has_value() else None
        for count in range(len(words), 0, -1):
            word = " ".join(words[:count])
            lone_letter = count == 1 and len(word) == 1 and word.lower() in "pn" and wanted is None
            if not lone_letter and (unit_of(word, wanted) or is_ambiguous_m(word, wanted)):
                assert match is not None
                end = match.start(1) + len(word)
                return end if not self.text[end : end + 1].isalnum() else None
        return None

    def _parse(self, written: str, wanted: str | None) -> Quantity | None:
        """The quantity; where a value of another unit is wanted first, a rating may still stand here."""
        quantity = parse_quantity(written, None, m_means_thousand=self.m_means_thousand) if wanted is None else None
        if quantity is not None:
            return quantity
        try:
            return parse_quantity(written, wanted, m_means_thousand=self.m_means_thousand)
        except NotationError:
            other = parse_quantity(written, m_means_thousand=self.m_means_thousand)
            if other.unit in ("V", "W") or (other.unit in ("ohm", "A") and wanted == "H"):
                return other
            raise

    def _keep(self, found: Quantity, written: str, end: int) -> None:
        self.quantities.append((found, written.strip()))
        self.position = end
        paired = _PAIRED_VOLTS.match(self.text, end)
        if found.unit != "F" or paired is None:
            return
        unit = unit_of(paired["word"]) if paired["word"] else None
        if unit is None or unit == ("V", Fraction(1)):  # ".05/400 paper" and ".05/400 V", but not ".05/20 mfd"
            self.quantities.append((Quantity(float(read_number(paired["volts"])), "V"), paired["volts"]))
            self.position = paired.end() if unit else paired.end("volts")

    def _read_bare(self, number: re.Match[str]) -> bool:
        """A number without a unit: the value where one is wanted and no word stands before it ("note 3" is none),
        half a watt behind a resistance."""
        written = number.group()
        after = self.text[number.end() : number.end() + 1]
        letters = re.compile(r"\d{1,4}[RrKkMUuNnPp]\d{1,3}(?![\w.])").match(self.text, self.position)
        if letters and self.unit and not self._has_value():
            self._keep(parse_quantity(letters.group(), self.unit), letters.group(), letters.end())
            return True
        if after.isalnum():
            return False
        if self._is_half_watt(written):
            self.quantities.append((Quantity(float(read_number(written)), "W"), written))
            self.position = number.end()
            return True
        pair = _PAIRED_VOLTS.match(self.text, number.end())
        if after in ("-", ".", "/") and not (pair and written.startswith((".", "0.", "0,"))):
            return False
        if self._has_value() or self.words or (self.unit is None and not pair):
            return False
        self._refuse_near_unit(number)
        self._keep(parse_quantity(written, self.unit or "F"), written, number.end())
        return True

    def _refuse_near_unit(self, number: re.Match[str]) -> None:
        """A misspelt unit behind a number is not passed over: "470 kohn" is no 470 ohms."""
        word = re.compile(rf"\s*({WORD})").match(self.text, number.end())
        if word and near_unit_word(word[1], self.unit or "F"):
            parse_quantity(f"{number.group()} {word[1]}", self.unit)  # says what the unit should be

    def _is_half_watt(self, written: str) -> bool:
        resistance = any(quantity.unit == "ohm" for quantity, _ in self.quantities)
        return resistance and re.fullmatch(r"\d+/\d+", written) is not None and is_fraction(written)

    def _has_value(self) -> bool:
        if self.sections:
            return True
        wanted = (self.unit,) if self.unit else _VALUE_UNITS
        return any(quantity.unit in wanted for quantity, _ in self.quantities)

    def _result(self) -> ReadValue:
        rest = " ".join(word for word in self.words if word)
        wanted = (self.unit,) if self.unit else _VALUE_UNITS
        values = [item for item in self.quantities if item[0].unit in wanted]
        if not values and self.unit is None:
            values = self.quantities[:1]
        if self.sections:
            values = [(Quantity(self.sections[0], "F"), self.sections_text), *values]
        if not values:
            ratings = " ".join(written for _, written in self.quantities)
            return ReadValue(None, "", f"{rest} {ratings}".strip())
        value, written = values[0]
        others = [item for item in self.quantities if item is not values[0]]
        part = PartValue(
            value.value,
            value.unit,
            self._relative_tolerance(value),
            self._rating("V", others, value, written),
            self._rating("W", others, value, written),
        )
        self._refuse_others(others, written, value.unit)
        of_a_choke = [other for quantity, other in others if quantity.unit in ("ohm", "A")]
        return ReadValue(part, written, " ".join([rest, *of_a_choke]).strip(), self.sections)

    def _relative_tolerance(self, value: Quantity) -> float | None:
        if self.absolute_tolerance is None:
            return self.tolerance
        if self.absolute_tolerance.unit != value.unit:
            raise NotationError(f'"{self.text}": the tolerance is not in the unit of the value')
        return round(self.absolute_tolerance.value / value.value, 9)

    def _rating(self, unit: str, others: list[tuple[Quantity, str]], value: Quantity, written: str) -> float | None:
        ratings = [quantity.value for quantity, _ in others if quantity.unit == unit]
        if len(set(ratings)) > 1:
            raise NotationError(f'"{self.text}" gives more than one rating in {unit}; keep the one that is marked')
        return ratings[0] if ratings and value.unit != unit else None

    def _refuse_others(self, others: list[tuple[Quantity, str]], written: str, value_unit: str) -> None:
        for quantity, other in others:
            if quantity.unit in ("ohm", "A") and value_unit == "H":
                continue  # the resistance and the current of a choke are kept among the other words
            if quantity.unit not in ("V", "W"):
                raise NotationError(
                    f'"{self.text}" gives two values, "{written}" and "{other}"; write one value a reference'
                )
