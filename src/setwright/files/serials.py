"""Serials of a file against the serial blocks and the range of their family."""

from __future__ import annotations

from setwright.files.problems import line_words, listing, quoted
from setwright.identity.model import Family
from setwright.identity.places import OPEN_END, Place, blocks_of, locate
from setwright.notation import NotationError, parse_serial


class NoPlace(NotationError):
    """A serial that no set of the family can have; the message says which ones there are."""

    def __init__(self, family: Family, serial: str, line: str | None) -> None:
        lines = family.line_ids if line is None else (line,)
        ranges = []
        for line_id in lines:
            blocks = [
                f"{block.prefix}{block.first} to {block.prefix}{block.last}"
                if block.last < OPEN_END
                else f"{block.prefix}{block.first} and up"
                for block in blocks_of(family, line_id)
            ]
            which = f" ({line_words(line_id)})" if len(family.lines) > 1 else ""
            ranges.append(f"{listing(blocks[:6], 'and')}{which}")
        clipped = family.serial_blocks and (family.first_serial is not None or family.last_serial is not None)
        limit = ", within first_serial and last_serial on the line's axis" if clipped else ""
        known = listing(ranges[:6], "and")
        super().__init__(f"no set of the family has the serial {quoted(serial)}; there are {known}{limit}")


def plain_serial(text: str) -> str:
    """A serial in its plain form: capitals, no spaces or dashes; NotationError where it is none."""
    return str(parse_serial(text))


def places_of(family: Family, serial: str | None, line: str | None = None) -> tuple[Place, ...]:
    """The stretches of the lines' axes that a serial fits, within the family's first and last serial."""
    first = -1 if family.first_serial is None else family.first_serial
    last = OPEN_END if family.last_serial is None else family.last_serial
    return tuple(
        Place(place.line, max(place.first, first), min(place.last, last))
        for place in locate(family, serial, line)
        if place.first <= last and place.last >= first
    )


def in_range(family: Family, serial: str, line: str | None = None) -> bool:
    """Whether a set of the family (of the line, where known) can have this serial.

    Raises NotationError where a serial is so illegible that it says next to nothing.
    """
    return bool(places_of(family, serial, line))
