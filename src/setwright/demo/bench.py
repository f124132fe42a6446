"""The set on the bench: what was seen of it, and its file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from setwright.demo.calendar import finished_on, part_code
from setwright.demo.case import BenchCase
from setwright.demo.plans import BenchPlan, PlannedDate
from setwright.identity.model import ACCESSES, Family

PARTLY_LEGIBLE = "   # * stands for whatever cannot be read, ? would be one character"


@dataclass(frozen=True, slots=True)
class Seen:
    """One observation as it goes into the file; `state` None means that it could not be decided."""

    feature: str
    state: str | None
    sure: str = "certain"
    serviced: bool = False
    note: str = ""
    source: str = ""


def observations_of(family: Family, plan: BenchPlan, case: BenchCase) -> tuple[Seen, ...]:
    """Everything that was looked at, in the order in which a set is opened.

    Raises ValueError where the plan does not fit what the set is: an altered part that shows the factory's
    state, or a misreading that is none.
    """
    seen = {observation.feature: observation for observation in _observations(plan, case)}
    order = {access: i for i, access in enumerate(ACCESSES)}
    features = sorted((f for f in family.features if f.id in seen), key=lambda f: order[f.access])
    return tuple(replace(seen[feature.id], source=plan.sources.get(feature.id, "")) for feature in features)


def _observations(plan: BenchPlan, case: BenchCase) -> Iterator[Seen]:
    planned = {*plan.altered, *plan.touched, *plan.undecided}
    if plan.misread is not None:
        planned.add(plan.misread.feature)
    for feature in (*plan.marks, *plan.looked_at):
        if feature not in planned and (feature not in case.made or feature in case.seen_marks):
            sure = plan.unsure.get(feature, "certain")
            yield Seen(feature, case.states[feature], sure, note=plan.notes.get(feature, ""))
    for feature, state in plan.altered.items():
        _refuse_equal(plan, feature, state, case)
        yield Seen(feature, state, plan.unsure.get(feature, "certain"), note=plan.notes.get(feature, ""))
    for feature, note in plan.touched.items():
        yield Seen(feature, case.states[feature], serviced=True, note=note)
    for feature, note in plan.undecided.items():
        yield Seen(feature, None, note=note)
    if plan.misread is not None:
        _refuse_equal(plan, plan.misread.feature, plan.misread.state, case)
        yield Seen(plan.misread.feature, plan.misread.state, plan.misread.sure, note=plan.misread.note)


def _refuse_equal(plan: BenchPlan, feature: str, state: str, case: BenchCase) -> None:
    if case.states[feature] == state:
        raise ValueError(f"{plan.id}: {feature} left the factory as {state}; the plan wants it to show something else")


def set_file(family: Family, plan: BenchPlan, case: BenchCase, seen: tuple[Seen, ...], rng: np.random.Generator) -> str:
    """The set's TOML text."""
    lines = [f"# {line}" for line in plan.story]
    serial = case.serial if plan.legible is None else _legible_end(case.serial, plan.legible)
    lines += [
        "",
        'format = "setwright-set/1"',
        f"id = {_quoted(plan.id)}",
        f"family = {_quoted(family.id)}",
        f"serial = {_quoted(serial)}" + (PARTLY_LEGIBLE if plan.legible else ""),
        f"open_to = {_quoted(plan.open_to)}",
    ]
    for observation in seen:
        lines += ["", *_table(observation)]
    if plan.dated_part is not None:
        day = finished_on(family, case.production.axes[case.line], case.position, rng)
        lines += [
            "",
            "[[date_evidence]]",
            'kind = "part"',
            f"part = {_quoted(plan.dated_part)}",
            f"code = {_quoted(part_code(day, rng))}",
            'scheme = "year-week"',
        ]
    for planned in plan.more_dates:
        lines += ["", *_dated(family, plan, case, planned)]
    return "\n".join(lines) + "\n"


def _dated(family: Family, plan: BenchPlan, case: BenchCase, planned: PlannedDate) -> list[str]:
    """A further date on the set; drawn apart from everything else, so that adding one changes nothing else."""
    position = case.married if planned.elsewhere else case.position
    assert position is not None, "what comes from elsewhere needs a marriage"
    rng = np.random.default_rng([position, plan.more_dates.index(planned)])
    day = finished_on(family, case.production.axes[case.line], position, rng)
    lines = ["[[date_evidence]]"]
    if planned.part is None:
        year, week, _ = day.isocalendar()
        return [*lines, 'kind = "stamp"', f'date = "{year}-W{week:02d}"']
    lines += ['kind = "part"', f"part = {_quoted(planned.part)}"]
    if planned.years_later:
        year, week, _ = (day + timedelta(days=round(365.25 * planned.years_later))).isocalendar()
        return [*lines, f'code = "{year % 100}{week:02d}"', 'scheme = "year2-week"']
    return [*lines, f"code = {_quoted(part_code(day, rng))}", 'scheme = "year-week"']


def _legible_end(serial: str, digits: int) -> str:
    """The serial with everything before its last digits illegible."""
    number = serial[len(serial.rstrip("0123456789")) :]
    return f"*{number[-digits:]}"


def _table(seen: Seen) -> list[str]:
    lines = ["[[observation]]", f"feature = {_quoted(seen.feature)}"]
    lines.append("cannot_tell = true" if seen.state is None else f"state = {_quoted(seen.state)}")
    if seen.sure != "certain":
        lines.append(f"sure = {_quoted(seen.sure)}")
    if seen.serviced:
        lines.append("serviced = true")
    if seen.note:
        lines.append(f"note = {_quoted(seen.note)}")
    if seen.source:
        lines.append(f"source = {_quoted(seen.source)}")
    return lines


def _quoted(text: str) -> str:
    """A TOML string; JSON's escapes are a part of TOML's."""
    return json.dumps(text, ensure_ascii=False)
