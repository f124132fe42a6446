"""The lines of a family, their serial blocks and the range of serials."""

from __future__ import annotations

from setwright.files.problems import ProblemList, quoted
from setwright.files.shape_check import Checked
from setwright.files.shapes import LARGEST_SERIAL, FamilyShape, SerialBlockShape
from setwright.files.suggest import nearest, squeezed
from setwright.files.toml.lines import Path
from setwright.files.toml.text import TomlFile
from setwright.identity.model import MAIN_LINE, Line, SerialBlock
from setwright.notation import NotationError, plain_prefix


def build_lines(toml: TomlFile, checked: Checked[FamilyShape], problems: ProblemList) -> tuple[Line, ...]:
    """Every line that a [[line]], a version or a serial block names, in the order of the file; at least `main`."""
    named: dict[str, Path] = {}
    shares: dict[str, str | None] = {}
    for path, table in checked.tables("line"):
        named.setdefault(table.id, (*path, "id"))
        shares.setdefault(table.id, table.shares_cutins_with)
    for kind in ("version", "serial_block"):
        for path, table in checked.tables(kind):
            named.setdefault(table.line, (*path, "line"))
    _check_sharing(toml, checked, set(named) | {MAIN_LINE}, problems)
    _refuse_slips(toml, named, problems)
    return tuple(Line(name, shares.get(name)) for name in named) or (Line(MAIN_LINE),)


def _check_sharing(toml: TomlFile, checked: Checked[FamilyShape], known: set[str], problems: ProblemList) -> None:
    shares = {table.id: table.shares_cutins_with for _, table in checked.tables("line")}
    for path, table in checked.tables("line"):
        other = table.shares_cutins_with
        if other is None:
            continue
        place = (*path, "shares_cutins_with")
        if other not in known and other not in checked.broken["line"]:
            message = f"there is no line {quoted(other)}; the lines are {', '.join(sorted(known))}"
            problems.add(toml.where(place), message, line=toml.line(place), suggestion=nearest(other, known))
        elif other == table.id:
            problems.add(toml.where(place), "a line cannot share cut-ins with itself", line=toml.line(place))
        elif shares.get(other) is not None:
            message = f"line {quoted(other)} itself shares cut-ins with {quoted(shares[other])}; name that one directly"
            problems.add(toml.where(place), message, line=toml.line(place))


def _refuse_slips(toml: TomlFile, named: dict[str, Path], problems: ProblemList) -> None:
    """A line comes into being by being named, so "Main" beside "main" would make a second one."""
    seen: dict[str, str] = {}
    for name, place in named.items():
        first = seen.setdefault(squeezed(name), name)
        if first != name:
            message = f"line {quoted(name)} is line {quoted(first)} but for case or punctuation; use one name"
            problems.add(toml.where(place), message, line=toml.line(place), suggestion=first)


PlacedBlock = tuple[Path, SerialBlock]
"""A serial block and where it stands in the file."""


def build_blocks(toml: TomlFile, checked: Checked[FamilyShape], problems: ProblemList) -> list[PlacedBlock]:
    """The serial blocks with their prefixes in plain form and every `starts_at` worked out.

    Without `starts_at` a block stands after the block before it on its line; the first block of a line
    stands at its own first serial.
    """
    blocks: list[PlacedBlock] = []
    ends: dict[str, int] = {}
    for path, table in checked.tables("serial_block"):
        start = _start_of(table, ends.get(table.line))
        end = ends[table.line] = start + table.last - table.first
        try:
            prefix = plain_prefix(table.prefix)
        except NotationError as error:
            place = (*path, "prefix")
            problems.add(toml.where(place), error.message, line=toml.line(place), suggestion=error.suggestion)
            continue
        if table.last < table.first:
            place = (*path, "last")
            message = f"last = {table.last} lies before first = {table.first}; exchange or correct them"
            problems.add(toml.where(place), message, line=toml.line(place))
        elif end > LARGEST_SERIAL:
            problems.add(toml.where(path), f"the block would reach beyond {LARGEST_SERIAL:,}", line=toml.line(path))
        else:
            blocks.append((path, SerialBlock(prefix, table.first, table.last, start, table.line)))
    _refuse_double_places(toml, blocks, problems)
    return blocks


def _start_of(table: SerialBlockShape, end_of_last: int | None) -> int:
    if table.starts_at is not None:
        return table.starts_at
    return table.first if end_of_last is None else end_of_last + 1


def _refuse_double_places(toml: TomlFile, blocks: list[PlacedBlock], problems: ProblemList) -> None:
    """A numbering that was restarted may use a serial again, but not at the same time in the same line."""
    for index, (path, block) in enumerate(blocks):
        for _, earlier in blocks[:index]:
            if _meet(earlier, block):
                low, high = max(earlier.first, block.first), min(earlier.last, block.last)
                message = (
                    f"serials {block.prefix}{low} to {block.prefix}{high} stand in an earlier block of this line too, "
                    "on the same stretch of its axis; each serial belongs to one block"
                )
                problems.add(toml.where(path), message, line=toml.line(path))
                break


def _meet(one: SerialBlock, other: SerialBlock) -> bool:
    return (
        (one.line, one.prefix) == (other.line, other.prefix)
        and one.first <= other.last
        and other.first <= one.last
        and one.starts_at <= _end(other)
        and other.starts_at <= _end(one)
    )


def _end(block: SerialBlock) -> int:
    return block.starts_at + block.last - block.first


def check_range(toml: TomlFile, shape: FamilyShape, blocks: list[PlacedBlock], problems: ProblemList) -> None:
    """The documented first and last serial: in order, and leaving something of every block."""
    first = 0 if shape.first_serial is None else shape.first_serial
    last = LARGEST_SERIAL if shape.last_serial is None else shape.last_serial
    if last < first:
        message = f"last_serial = {last} lies before first_serial = {first}; exchange or correct them"
        problems.add("key last_serial", message, line=toml.line(("last_serial",)))
        return
    for path, block in blocks:
        if block.starts_at > last or _end(block) < first:
            limit = f"last_serial = {last}" if block.starts_at > last else f"first_serial = {first}"
            message = (
                f"the block stands at {block.starts_at} to {_end(block)} on its line's axis, wholly outside {limit}, "
                "which is a position there too; correct one of them"
            )
            problems.add(toml.where(path), message, line=toml.line(path))
