"""From the columns of a table of survivors to proposed features, each to be accepted or not.

A table says what the states are and in which order they seem to have come; it cannot say how far in one must go to
see a feature or how lasting it is. These two are filled in with what is usual and said to be so.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from setwright.files.learning.states import NoStates, States, states_of
from setwright.files.partslists.kinds import is_reference_letters, kind_of
from setwright.files.partslists.lines import plain_reference
from setwright.files.partslists.proposals import slug, unused
from setwright.files.shapes import RESERVED
from setwright.files.survivors.cells import says_nothing
from setwright.files.survivors.columns import COMPANIONS, PART_DATE
from setwright.files.survivors.spreadsheet import clean, is_formula, spoiled, without_text_mark
from setwright.identity.model import ABSENT, Family
from setwright.notation import NotationError, parse_serial

DEFAULT_ACCESS = "outside"
DEFAULT_PERMANENCE = "soldered"
"""What a proposal says of a column whose name tells nothing (common practice, no source): to be corrected by hand."""

FREE_STATES = 4
"""A feature that no version mentions is learnt from survivors up to so many states."""

OWN_COLUMNS = ("x-photos", "x-link")
"""Free columns that hold something else than a feature."""

_REFERENCE = re.compile(r"([A-Za-z]{1,4})[ -]?\d{1,4}[A-Za-z]?")


@dataclass(frozen=True, slots=True)
class LearntFeature:
    """A feature that a column proposes.

    column : the column's name in the table. states : as proposed, the earliest first where serials tell it.
    counts : how many sets show each. guessed : whether access and permanence are only the usual ones of any part.
    notes : what the reader should know, without the full stop.
    """

    column: str
    id: str
    label: str
    states: tuple[str, ...]
    counts: tuple[int, ...]
    access: str
    permanence: str
    guessed: bool
    role: str = "change"
    unit: str | None = None
    tolerance: float | None = None
    part: str | None = None
    notes: tuple[str, ...] = ()

    @property
    def shown(self) -> tuple[tuple[str, int], ...]:
        """Each state with how many sets show it."""
        return tuple(zip(self.states, self.counts, strict=True))


@dataclass(frozen=True, slots=True)
class Learning:
    """What a table proposes. `passed_over` are columns of which nothing is made, each with the reason."""

    features: tuple[LearntFeature, ...]
    passed_over: tuple[tuple[str, str], ...]
    sets: int


def learn_features(columns: Mapping[str, Sequence[str]], family: Family | None = None) -> Learning:
    """Propose features from the columns of a table of survivors.

    columns : the cells by column name, all of one length. family : its features are passed over.
    """
    cells = {name.strip(): [_cell(cell) for cell in column] for name, column in columns.items() if name.strip()}
    numbers = _serial_numbers(cells.get("serial", ()))
    taken = set(RESERVED) | ({feature.id for feature in family.features} if family else set())
    known = {feature.id for feature in family.features} if family else set()
    found: list[LearntFeature] = []
    passed_over: list[tuple[str, str]] = []
    for name, column in cells.items():
        if _is_no_candidate(name, known):
            continue
        try:
            feature = _feature(name, column, numbers, taken)
        except NoStates as reason:
            passed_over.append((name, str(reason)))
            continue
        taken.add(feature.id)
        found.append(feature)
    return Learning(tuple(found), tuple(passed_over), max(map(len, cells.values()), default=0))


def feature_table(feature: LearntFeature, changes: Mapping[str, object] | None = None) -> dict[str, object]:
    """The proposal as a table of a family file. changes : keys the person has put differently."""
    table: dict[str, object] = {
        "id": feature.id,
        "label": feature.label,
        "role": feature.role if feature.role != "change" else None,
        "access": feature.access,
        "permanence": feature.permanence,
        "part": feature.part,
        "unit": feature.unit,
        "tolerance": feature.tolerance,
        "states": list(feature.states),
    }
    return {key: value for key, value in {**table, **(changes or {})}.items() if value is not None}


def _cell(raw: str) -> str:
    """The text of a cell, "" where it says nothing or a spreadsheet has spoiled it."""
    text = clean(raw)
    if not text or is_formula(text) or spoiled(text) is not None or says_nothing(text):
        return ""
    text = without_text_mark(text)
    return ABSENT if text.casefold() == ABSENT else text


def _is_no_candidate(name: str, known: Collection[str]) -> bool:
    base, _, companion = name.partition(".")
    return (
        name in RESERVED
        or name in known
        or name in OWN_COLUMNS
        or name.startswith(PART_DATE)
        or (base != "" and companion in COMPANIONS)
    )


def _serial_numbers(serials: Sequence[str]) -> list[int | None]:
    """The number of each serial that is known in full."""
    numbers: list[int | None] = []
    for text in serials:
        try:
            numbers.append(parse_serial(text).number if text else None)
        except NotationError:
            numbers.append(None)
    return numbers


def _feature(name: str, cells: Sequence[str], numbers: Sequence[int | None], taken: Collection[str]) -> LearntFeature:
    said = [cell for cell in cells if cell]
    found = states_of(said)
    _refuse_descriptions(found, len(said))
    states, ordered = _in_order(found, cells, numbers)
    plain = name.removeprefix("x-")
    access, permanence, part = _usual_place(plain, found.unit)
    notes = list(found.notes)
    notes += [] if ordered else ["the table does not tell in which order the states came"]
    notes += [
        f"{state} was seen once only" for state, count in zip(found.states, found.counts, strict=True) if count == 1
    ]
    many = len(states) > FREE_STATES
    if many:
        notes.append(
            f"with over {FREE_STATES} states it is taken for a variant, made side by side, until versions name it"
        )
    return LearntFeature(
        column=name,
        id=unused(slug(plain, "feature"), taken),
        label=_label(plain),
        states=states,
        counts=tuple(found.counts[found.states.index(state)] for state in states),
        access=access or DEFAULT_ACCESS,
        permanence=permanence or DEFAULT_PERMANENCE,
        guessed=access is None,
        role="variant" if many else "change",
        unit=found.unit,
        tolerance=found.tolerance,
        part=part,
        notes=tuple(notes),
    )


def _refuse_descriptions(found: States, sets: int) -> None:
    """Text of which nearly every set has its own is a description, no feature."""
    if found.unit is None and sets >= 4 and len(found.states) > max(2, sets // 2):
        raise NoStates("nearly every set has an entry of its own; it stays a remark")


def _in_order(found: States, cells: Sequence[str], numbers: Sequence[int | None]) -> tuple[tuple[str, ...], bool]:
    """The states by the middle of the serials that show them, and whether serials tell the order at all."""
    seen: dict[str, list[int]] = {state: [] for state in found.states}
    for cell, number in zip(cells, numbers, strict=False):
        state = found.by_cell.get(cell)
        if state is not None and number is not None:
            seen[state].append(number)
    if not all(seen.values()):
        return tuple(sorted(found.states, key=lambda state: -found.counts[found.states.index(state)])), False
    return tuple(sorted(found.states, key=lambda state: median(seen[state]))), True


def _usual_place(name: str, unit: str | None) -> tuple[str | None, str | None, str | None]:
    """Access, permanence and part that the column's name tells; None where it tells nothing."""
    words = name.replace("-", " ").replace("_", " ")
    reference = _REFERENCE.fullmatch(name)
    if reference and is_reference_letters(reference[1].upper()):
        kind = kind_of(reference[1].upper(), words)
        return kind.access, kind.permanence, plain_reference(name)
    letters = {"F": "C", "ohm": "R", "H": "L"}.get(unit or "")
    kind = kind_of(letters or "MP", words)
    telling = letters is not None or kind.name in ("label", "cabinet part")
    return (kind.access, kind.permanence, None) if telling else (None, None, None)


def _label(name: str) -> str:
    words = " ".join(name.replace("-", " ").replace("_", " ").split())
    return words[:1].upper() + words[1:]
