"""The cells of a survivors file, each read into the number that identity's columns hold.

Both ways of reading a register, row by row and column by column, read a cell through the same function here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from setwright.files.dates import read_part_date
from setwright.files.problems import listing, quoted
from setwright.files.states import StateProblem, read_state
from setwright.files.suggest import nearest
from setwright.files.survivors.columns import PART_DATE, Columns
from setwright.files.survivors.spreadsheet import clean, is_formula, spoiled, without_text_mark
from setwright.identity.model import SURENESSES, Family, Feature
from setwright.notation import NotationError, parse_date

MOST_REMEMBERED = 20_000
"""So many different cells of one column are remembered; a column with more is read afresh each time."""

_TRUE = ("true", "yes", "1")
_FALSE = ("false", "no", "0")
_SAYS_NOTHING = ("?", "??", "???", "-", "--", "n/a", "na", "unknown", "not seen", "none", "null", "nan", "tbd", "x")


class CellProblem(ValueError):
    """A cell that is refused."""

    def __init__(self, message: str, suggestion: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.suggestion = suggestion


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as read: its number, or why it is refused, and whether its text may have been meant as "unknown"."""

    value: int
    problem: CellProblem | None = None
    doubtful: bool = False


class CellReader:
    """Reads the cells of one column, each different text once."""

    def __init__(self, read: Callable[[str], Cell], empty: int) -> None:
        self._read = read
        self.known: dict[str, Cell] = {"": Cell(empty)}
        """Cells met before, so that whoever reads many may ask here first."""
        self.doubtful: set[str] = set()
        """Texts that may have been meant as "unknown"."""

    def __call__(self, raw: str) -> Cell:
        """What a cell says; `raw` is the cell as it stands in the file."""
        cell = self.known.get(raw)
        if cell is None:
            cell = self._read_anew(raw)
            if len(self.known) < MOST_REMEMBERED:
                self.known[raw] = cell
        return cell

    def _read_anew(self, raw: str) -> Cell:
        text = clean(raw)
        if not text:
            return self.known[""]
        try:
            cell = self._read(text)
        except CellProblem as problem:
            return Cell(self.known[""].value, problem)
        if cell.doubtful and len(self.doubtful) < MOST_REMEMBERED:
            self.doubtful.add(text)
        return cell


def says_nothing(text: str) -> bool:
    """Whether a (cleaned) cell is one of the ways in which people write that they do not know.

    >>> says_nothing("N/A"), says_nothing("6BE6")
    (True, False)
    """
    return text.casefold() in _SAYS_NOTHING


def refuse_formula(text: str) -> None:
    """CellProblem for a cell that a spreadsheet would run."""
    if is_formula(text):
        raise CellProblem(
            f"{quoted(text)} is a formula; write what it stands for (text that should begin so needs a word before it)"
        )


def _plain(text: str) -> str:
    """A cell of a column that is read, without the spreadsheet's text mark; formulas are refused."""
    refuse_formula(text)
    return without_text_mark(text)


def state_reader(feature: Feature) -> CellReader:
    """Reads a feature's own column; the value is the number of the state, that of all states for something else."""
    states = feature.all_states

    def read(text: str) -> Cell:
        if text in states:
            return Cell(states.index(text))
        text = _plain(text)
        spoilt = spoiled(text)
        if spoilt is not None and (feature.unit is None or not text[:1].isdigit() or "-" in text or "/" in text):
            raise CellProblem(f"{quoted(text)}: {spoilt}; write the state as seen, with the cell's format set to text")
        try:
            seen = read_state(feature, text)
        except StateProblem as problem:
            raise CellProblem(problem.message, problem.suggestion) from problem
        if seen.listed:
            return Cell(states.index(seen.state))
        return Cell(len(states), doubtful=says_nothing(text))

    return CellReader(read, empty=-1)


def sure_reader() -> CellReader:
    """Reads a `.sure` column; the value is the place in SURENESSES, "certain" where nothing is said."""

    def read(text: str) -> Cell:
        text = _plain(text)
        if text in SURENESSES:
            return Cell(SURENESSES.index(text))
        raise CellProblem(f"must be {listing(SURENESSES)}; {quoted(text)} was given", nearest(text, SURENESSES))

    return CellReader(read, empty=0)


def serviced_reader() -> CellReader:
    """Reads a `.serviced` column; the value is 1 where the item looks serviced."""

    def read(text: str) -> Cell:
        text = _plain(text)
        if text.casefold() in _TRUE + _FALSE:
            return Cell(int(text.casefold() in _TRUE))
        raise CellProblem(f"must be true or false; {quoted(text)} was given")

    return CellReader(read, empty=0)


def line_reader(family: Family) -> CellReader:
    """Reads the `line` column; the value is the place in the family's lines, -1 where it is unknown."""

    def read(text: str) -> Cell:
        text = _plain(text)
        if text in family.line_ids:
            return Cell(family.line_ids.index(text))
        known = listing(map(quoted, family.line_ids), "and")
        close = nearest(text, family.line_ids)
        raise CellProblem(f"the family has no line {quoted(text)}; its lines are {known}", close)

    return CellReader(read, empty=-1)


def date_reader(column: str) -> CellReader:
    """Reads `stamp_date` or a `part_date.…` column; the cells are only checked."""
    part = column.removeprefix(PART_DATE)

    def read(text: str) -> Cell:
        text = _plain(text)
        try:
            if column.startswith(PART_DATE):
                read_part_date(part, text)
            else:
                parse_date(text)
        except NotationError as error:
            raise CellProblem(error.message, error.suggestion) from error
        return Cell(0)

    return CellReader(read, empty=0)


def free_reader() -> CellReader:
    """Reads a free column: anything but a formula."""

    def read(text: str) -> Cell:
        refuse_formula(text)
        return Cell(0)

    return CellReader(read, empty=0)


def read_id(raw: str) -> str:
    """The name of a set; CellProblem where it has none or an unusable one."""
    text = _plain(clean(raw))
    if not text:
        raise CellProblem("the id is missing; every set needs a name of its own")
    spoilt = spoiled(text)
    if spoilt is not None:
        raise CellProblem(f"{quoted(text)}: {spoilt}; write the id anew, with the column's format set to text")
    if len(text) > 200 or not text.isprintable():
        raise CellProblem(f"{quoted(text)} is no id; write up to 200 printable characters")
    return text


def cell_readers(columns: Columns, family: Family) -> dict[int, CellReader]:
    """The reader of each column but for `id` and `serial`, by place."""
    readers: dict[int, CellReader] = {}
    if columns.line is not None:
        readers[columns.line] = line_reader(family)
    for place in columns.features.values():
        if place.state is not None:
            readers[place.state] = state_reader(place.feature)
        if place.sure is not None:
            readers[place.sure] = sure_reader()
        if place.serviced is not None:
            readers[place.serviced] = serviced_reader()
    for column, index in columns.dates.items():
        readers[index] = date_reader(column)
    for index in columns.free:
        readers[index] = free_reader()
    return readers
