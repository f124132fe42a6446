"""Serial numbers as they are read off a chassis: a prefix, digits, and characters that can no longer be read.

`?` stands for one illegible character, `*` for any number of them, none included. Spaces, dashes, points and slashes
do not count and capitals are the same as small letters, so "B 1204", "b-1204" and "B1204" are one serial.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from setwright.notation.errors import NotationError

_LONGEST = 40
_MOST_DIGITS = 15
_MOST_RANGES = 200_000
_LEADING_WORDS = re.compile(r"\s*(?:serial\s*)?(?:(?:no|nr|ser)\.|#|№)\s*", re.IGNORECASE)
_SEPARATORS = re.compile(r"[\s\-‐‑–—./_]+")
_ODD_CHARACTER = re.compile(r"[^A-Z0-9?*]")
_WILDCARDS = re.compile(r"[?*]*\*[?*]*")

States = frozenset[int]


@dataclass(frozen=True)
class SerialPattern:
    """A serial, perhaps with illegible characters, in its plain form: capitals, no spaces or dashes.

    prefix : everything up to the last letter, "" where there is none; may hold wildcards.
    digits : the rest: digits, `?` and `*`.

    How a pattern fits a number: one with wildcards that leaves n characters behind the prefix fits numbers written in
    n digits, leading zeros included ("0?5" fits 5, 15 … 95); digits that are all legible are simply their integer
    ("0012" is 12).
    """

    prefix: str
    digits: str

    def __str__(self) -> str:
        return self.prefix + self.digits

    @property
    def is_full(self) -> bool:
        """Whether every character was read."""
        return not any(wildcard in str(self) for wildcard in "?*")

    @property
    def number(self) -> int | None:
        """The number behind the prefix; None unless every character was read."""
        return int(self.digits) if self.is_full else None

    def matching_numbers(self, prefix: str, first: int, last: int) -> tuple[tuple[int, int], ...]:
        """The numbers from `first` to `last` behind `prefix` that this serial fits, as ascending inclusive ranges.

        Neighbouring ranges are joined. The work grows with the number of ranges, not with the numbers in them.
        Raises NotationError where there are more than 200,000 ranges (as for "*8" among thousands of millions);
        `count_matching` answers for those too.

        >>> parse_serial("B 71?08").matching_numbers("B", 1, 80000)[:2]
        ((71008, 71008), (71108, 71108))
        >>> parse_serial("71??").matching_numbers("", 1, 7150)
        ((7100, 7150),)
        >>> parse_serial("?204").matching_numbers("B", 1, 9999)
        ((204, 204),)
        """
        ranges: list[tuple[int, int]] = []
        for low, high in self._ranges(prefix, first, last):
            if ranges and ranges[-1][1] + 1 == low:
                ranges[-1] = (ranges[-1][0], high)
                continue
            if len(ranges) == _MOST_RANGES:
                raise NotationError(
                    f'"{self}" fits more than {_MOST_RANGES:,} separate serials up to {last:,}; '
                    "that says next to nothing, so leave the serial out"
                )
            ranges.append((low, high))
        return tuple(ranges)

    def count_matching(self, prefix: str, first: int, last: int) -> int:
        """How many numbers from `first` to `last` behind `prefix` this serial fits, without listing them.

        >>> parse_serial("*8").count_matching("", 1, 10**12)
        100000000000
        """
        if last < max(first, 0):
            return 0
        starts = self._automaton.after_leading_zeros(self._automaton.after(prefix))
        below = self._automaton.count_up_to(starts, first - 1) if first > 0 else 0
        return self._automaton.count_up_to(starts, last) - below

    def _ranges(self, prefix: str, first: int, last: int) -> Iterator[tuple[int, int]]:
        if last < max(first, 0):
            return
        starts = self._automaton.after_leading_zeros(self._automaton.after(prefix))
        yield from self._automaton.ranges(starts, max(first, 0), last)

    @cached_property
    def _automaton(self) -> _Automaton:
        return _Automaton(str(self))


def parse_serial(text: str) -> SerialPattern:
    """Read a serial as it was noted.

    Raises NotationError for characters a serial cannot have, and where no digit or wildcard ends it.

    >>> parse_serial("b 71?08")
    SerialPattern(prefix='B', digits='71?08')
    >>> str(parse_serial("No. 12-04")), parse_serial("0012").number
    ('1204', 12)
    """
    plain = _SEPARATORS.sub("", _LEADING_WORDS.sub("", text, count=1) if text else text).upper()
    if not plain:
        raise NotationError(f'"{text}" holds no serial; leave it out where none is known')
    odd = _ODD_CHARACTER.search(plain)
    if odd:
        raise NotationError(
            f'"{text}": "{odd.group()}" cannot stand in a serial; write ? for one illegible character '
            "and * for any number of them"
        )
    if len(plain) > _LONGEST:
        raise NotationError(f'"{text[:50]}…" is {len(plain)} characters long; a serial has at most {_LONGEST}')
    plain = _WILDCARDS.sub(lambda run: "?" * run.group().count("?") + "*", plain)
    prefix = re.match(r"(?:.*[A-Z])?", plain)
    assert prefix is not None  # the pattern also matches nothing
    digits = plain[prefix.end() :]
    if not digits:
        raise NotationError(
            f'"{text}" ends in a letter; a serial is a prefix and a number, such as "B1204", '
            "with ? for an illegible digit"
        )
    if len(digits.lstrip("0*?")) > _MOST_DIGITS:
        raise NotationError(f'"{text}": a serial has at most {_MOST_DIGITS} digits behind its prefix')
    return SerialPattern(prefix.group(), digits)


def plain_prefix(text: str) -> str:
    """A serial's prefix in its plain form: capitals, no spaces or dashes; "" where there is none.

    Raises NotationError for characters that a prefix cannot have; wildcards are among them.

    >>> plain_prefix("b-")
    'B'
    """
    plain = _SEPARATORS.sub("", text).upper()
    odd = re.search(r"[^A-Z0-9]", plain)
    if odd:
        raise NotationError(f'"{text}": "{odd.group()}" cannot stand in the prefix of a serial; letters and digits can')
    return plain


class _Automaton:
    """The pattern as a set of places in its text: place i means that the first i characters are used up.

    `*` may be passed without a character and may take any number of them. Questions about digits are answered by a
    recursion over the digits with the places reached so far, each asked once.
    """

    def __init__(self, pattern: str) -> None:
        self.pattern = pattern
        self._counts: dict[tuple[States, int], int] = {}
        self._steps: dict[tuple[States, str], States] = {}

    def _passed(self, places: set[int]) -> States:
        """The places with every `*` behind them passed over as well."""
        for place in list(places):
            while place < len(self.pattern) and self.pattern[place] == "*":
                place += 1
                places.add(place)
        return frozenset(places)

    def step(self, places: States, character: str) -> States:
        """The places after one more character."""
        known = self._steps.get((places, character))
        if known is None:
            reached = set()
            for place in places:
                wanted = self.pattern[place : place + 1]
                if wanted == "*":
                    reached.add(place)
                elif wanted == "?" or (wanted and wanted == character):
                    reached.add(place + 1)
            known = self._steps[places, character] = self._passed(reached)
        return known

    def after(self, prefix: str) -> States:
        places = self._passed({0})
        for character in prefix:
            places = self.step(places, character)
        return places

    def after_leading_zeros(self, places: States) -> States:
        """The places after any number of zeros: a number may be stamped with zeros before it."""
        seen: set[int] = set()
        while not places <= seen:
            seen |= places
            places = self.step(places, "0")
        return frozenset(seen)

    def accepts(self, places: States) -> bool:
        return len(self.pattern) in places

    def count(self, places: States, digits: int) -> int:
        """How many strings of so many digits lead from these places to the end."""
        if not places:
            return 0
        if digits == 0:
            return int(self.accepts(places))
        known = self._counts.get((places, digits))
        if known is None:
            known = sum(self.count(self.step(places, digit), digits - 1) for digit in "0123456789")
            self._counts[places, digits] = known
        return known

    def zero_fits(self, starts: States) -> bool:
        return self.accepts(self.after_leading_zeros(self.step(starts, "0")))

    def count_up_to(self, starts: States, last: int) -> int:
        """How many numbers from 0 to `last` fit."""
        if last < 0:
            return 0
        total = int(self.zero_fits(starts))
        written = str(last)
        for digits in range(1, len(written)):
            total += sum(self.count(self.step(starts, leading), digits - 1) for leading in "123456789")
        places = starts
        for index, limit in enumerate(written):
            smaller = [digit for digit in "0123456789" if digit < limit and not (index == 0 and digit == "0")]
            left = len(written) - index - 1
            total += sum(self.count(self.step(places, digit), left) for digit in smaller)
            places = self.step(places, limit)
        return total + int(last > 0 and self.accepts(places))

    def ranges(self, starts: States, first: int, last: int) -> Iterator[tuple[int, int]]:
        """Ascending ranges of fitting numbers; neighbouring ones may touch."""
        if first == 0 and self.zero_fits(starts):
            yield 0, 0
        for digits in range(len(str(max(first, 1))), len(str(last)) + 1):
            for leading in "123456789":
                low = int(leading) * 10 ** (digits - 1)
                yield from self._ranges_below(self.step(starts, leading), low, digits - 1, first, last)

    def _ranges_below(self, places: States, low: int, digits: int, first: int, last: int) -> Iterator[tuple[int, int]]:
        """The fitting numbers whose first digits are those of `low`, with `digits` more to come."""
        size = 10**digits
        if low > last or low + size - 1 < first:
            return
        fitting = self.count(places, digits)
        if fitting == size:
            yield max(low, first), min(low + size - 1, last)
        elif fitting:
            for digit in range(10):
                step = self.step(places, str(digit))
                yield from self._ranges_below(step, low + digit * size // 10, digits - 1, first, last)
