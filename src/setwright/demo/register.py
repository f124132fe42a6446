"""The register of survivors as a club keeps it: gaps, abbreviations, remarks, and now and then no serial."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.demo.calendar import as_stamped, finished_on, part_code
from setwright.demo.plans import FamilyPlan
from setwright.identity.assumptions import CONDITIONS
from setwright.identity.model import ABSENT, LOOKS_SERVICED, NOT_SEEN, SURENESSES, Family, Feature
from setwright.identity.places import Axis, describe
from setwright.identity.simulate import NOT_MARRIED, DrawnSets, Production, draw_sets
from setwright.notation import format_modern, format_period

NOT_LOOKED_AT = {
    "outside": 0.12,
    "back off": 0.25,
    "chassis out": 0.35,
    "underside": 0.42,
    "powered": 0.6,
    "lead lifted": 0.9,
}
"""What nobody looked at, by access: about three in ten of all cells."""

SURENESS = (0.9, 0.08, 0.02)
"""Shares of certain, likely and guess; with it, three in a hundred unaltered items are misread."""

LOOKS_ALTERED = 0.2
"""Share of altered items that look it."""

MOST_REGISTERS = 1000
"""So many registers are drawn until one has as many married and rebuilt sets as planned."""

SEEN_AT = (
    "club meet",
    "auction photographs",
    "letter from the owner",
    "sale catalogue",
    "museum store",
    "dealer's shelf",
)
REMARKS = (
    "cabinet refinished",
    "back cover missing a corner",
    "chassis only",
    "seen once, in a hurry",
    "one owner since new, says the seller",
    "photographs of the underside exist",
    "stored in a damp cellar",
)


@dataclass(frozen=True, slots=True)
class RegisterDraft:
    """The survivors as they truly are, with the ids of the rows; a row's serial may be hidden in the file."""

    drawn: DrawnSets
    ids: tuple[str, ...]


def draw_survivors(
    plan: FamilyPlan, production: Production, taken: Sequence[tuple[str, int]], rng: np.random.Generator
) -> RegisterDraft:
    """Draw the survivors of a production, no two with one serial; `taken` are line and position of the bench sets.

    Raises ValueError where registers with as many married and rebuilt ones as planned hardly occur.
    """
    places = {line: _free_places(production.axes[line], line, taken) for line in plan.survivors}
    for _ in range(MOST_REGISTERS):
        drawn = _draw(plan, production, places, rng)
        if _fits(plan, drawn):
            order = rng.permutation(len(drawn))
            return RegisterDraft(drawn, tuple(f"{plan.prefix}-{number:02d}" for number in np.argsort(order) + 1))
    raise ValueError(
        f"{plan.folder}: none of {MOST_REGISTERS:,} registers has as many married and rebuilt sets as planned; "
        "plan others, or more of them"
    )


def _free_places(axis: Axis, line: str, taken: Sequence[tuple[str, int]]) -> np.ndarray:
    """The positions of a line that hold sets other than those taken."""
    every = np.concatenate([np.arange(low, high + 1) for low, high in axis.stretches])
    return np.setdiff1d(every, [position for its_line, position in taken if its_line == line])


def _draw(
    plan: FamilyPlan, production: Production, places: Mapping[str, np.ndarray], rng: np.random.Generator
) -> DrawnSets:
    lines = [line for line, count in plan.survivors.items() for _ in range(count)]
    chosen = [rng.choice(places[line], size=count, replace=False) for line, count in plan.survivors.items()]
    return draw_sets(
        production,
        len(lines),
        rng,
        not_seen=NOT_LOOKED_AT,
        sureness=SURENESS,
        noticed=LOOKS_ALTERED,
        line=lines,
        position=np.concatenate(chosen),
        married=0.0 if plan.married is None else sum(plan.married) / 2 / len(lines),
    )


def _fits(plan: FamilyPlan, drawn: DrawnSets) -> bool:
    married = int((drawn.marriages.group != NOT_MARRIED).sum())
    rebuilt = int((drawn.condition == len(CONDITIONS) - 1).sum())
    planned = ((plan.married, married), (plan.rebuilt, rebuilt))
    return all(limits is None or limits[0] <= count <= limits[1] for limits, count in planned)


def register_file(plan: FamilyPlan, draft: RegisterDraft, rng: np.random.Generator) -> str:
    """The register's CSV text, in the order of its ids."""
    family = draft.drawn.production.family
    rows = [_Row(plan, draft, row, rng).cells() for row in np.argsort(draft.ids)]
    hidden = rng.choice(len(rows), size=plan.without_serial + plan.partial_serial, replace=False)
    for count, index in enumerate(hidden):
        rows[index]["serial"] = "" if count < plan.without_serial else _with_illegible_digit(rows[index]["serial"])
    columns = [name for name in _columns(family) if name == "id" or any(row.get(name) for row in rows)]
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _with_illegible_digit(serial: str) -> str:
    """The serial with the last digit but one illegible; the only digit if there is but one."""
    hidden = max(len(serial) - 2, len(serial.rstrip("0123456789")))
    return serial[:hidden] + "?" + serial[hidden + 1 :]


def _columns(family: Family) -> list[str]:
    columns = ["id", "serial", "line", "stamp_date", "part_date.speaker"]
    for feature in family.features:
        columns += [feature.id, f"{feature.id}.sure", f"{feature.id}.serviced"]
    return [*columns, "condition", "note", "source", "seen_on", "x-photographs"]


class _Row:
    """One survivor's cells."""

    def __init__(self, plan: FamilyPlan, draft: RegisterDraft, row: int, rng: np.random.Generator) -> None:
        self.plan, self.rng, self.row = plan, rng, row
        self.drawn, self.id = draft.drawn, draft.ids[row]
        self.family = draft.drawn.production.family
        self.line = self.family.line_ids[draft.drawn.line[row]]

    def cells(self) -> dict[str, str]:
        """Everything noted of the set, by column."""
        position = int(self.drawn.position[self.row])
        cells = {"id": self.id, "serial": self._written_serial(describe(self.family, self.line, position))}
        if len(self.family.lines) > 1 and self.rng.random() < 0.6:
            cells["line"] = self.line
        cells |= self._dates(position)
        for feature in self.family.features:
            cells |= self._feature(feature)
        return cells | self._remarks()

    def _written_serial(self, serial: str) -> str:
        """Most people write it as it stands; some with a space or a dash, or small letters."""
        letters = serial.rstrip("0123456789")
        number = serial[len(letters) :]
        if not letters:
            return serial
        forms = [serial, f"{letters} {number}", f"{letters}-{number}", serial.lower()]
        return str(self.rng.choice(forms, p=[0.6, 0.2, 0.1, 0.1]))

    def _dates(self, position: int) -> dict[str, str]:
        day = finished_on(self.family, self.drawn.production.axes[self.line], position, self.rng)
        cells = {}
        if self.rng.random() < 0.4:
            cells["stamp_date"] = as_stamped(day, self.rng)
        if self.rng.random() < 0.35:
            cells["part_date.speaker"] = f"year-week:{part_code(day, self.rng)}"
        return cells

    def _feature(self, feature: Feature) -> dict[str, str]:
        code = int(self.drawn.seen[feature.id][self.row])
        if code == NOT_SEEN:
            return {}
        if code == LOOKS_SERVICED:
            built = feature.all_states[int(self.drawn.built[feature.id][self.row])]
            return {feature.id: self._written(feature, built), f"{feature.id}.serviced": "true"}
        state, sure = divmod(code, len(SURENESSES))
        if state < len(feature.all_states):
            text = self._written(feature, feature.all_states[state])
        else:
            text = str(self.rng.choice(self.plan.others.get(feature.id, self.plan.other)))
        return {feature.id: text} | ({} if sure == 0 else {f"{feature.id}.sure": SURENESSES[sure]})

    def _written(self, feature: Feature, state: str) -> str:
        """A state as somebody may write it: values in the period's way, as today, or as in the family file."""
        if feature.unit is None or state == ABSENT:
            return state
        value = feature.values[feature.states.index(state)]
        assert value is not None
        forms = (state, format_modern(value, feature.unit), format_period(value, feature.unit))
        return str(self.rng.choice(forms))

    def _remarks(self) -> dict[str, str]:
        cells: dict[str, str] = {}
        if self.rng.random() < 0.3:
            cells["note"] = str(self.rng.choice(REMARKS))
        if self.rng.random() < 0.7:
            cells["source"] = str(self.rng.choice(SEEN_AT))
        if self.rng.random() < 0.7:
            cells["seen_on"] = f"{self.rng.integers(1998, 2024)}-{self.rng.integers(1, 13):02d}"
        if self.rng.random() < 0.25:
            cells["condition"] = str(self.rng.choice(_CONDITION_WORDS))
        if self.rng.random() < 0.2:
            cells["x-photographs"] = str(self.rng.integers(1, 9))
        return cells


_CONDITION_WORDS: Sequence[str] = ("complete", "dusty", "plays", "not tried", "parts set")
