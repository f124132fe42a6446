"""The identity page of one set: every figure of the answer, put into reading order and words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from setwright.identity.answer import Answer, AxisAnswer, ChangeAnswer, Interval
from setwright.identity.model import BenchSet, Family
from setwright.identity.phrases import hedged
from setwright.identity.places import SERIAL_UNIT, locate
from setwright.workbench.families.grid import Grid, grid_of
from setwright.workbench.literature.citing import Cited
from setwright.workbench.pictures.serial_line import SerialLine, changes_of, variants
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.sets.comparison import set_cells
from setwright.workbench.sets.evidence import Evidence, evidence_of
from setwright.workbench.sets.looks import NextLooks, next_looks
from setwright.workbench.sets.method import MethodNotes, method_notes
from setwright.workbench.sets.origins import FreeRow, GroupRow, Misfit, free_rows, group_rows, misfit_of
from setwright.workbench.sets.others import FEW, AskRow, SisterRow, ask_rows, sister_rows
from setwright.workbench.sets.words import verdict_label, verdict_sentence
from setwright.workbench.site.words import (
    ACCESS_WORDS,
    CONDITION_WORDS,
    count,
    interval_words,
    line_words,
    percent,
    place_words,
)
from setwright.workbench.survivors.reading import UnplacedRow, positions_on, unplaced_count, unplaced_rows

WORTH_A_LINE = 0.005
"""Possibilities below this are summed up in one line."""

SETTLED = 0.99
"""A prediction from here on is as good as certain."""

LINE_WORTH_A_PICTURE = 0.05


@dataclass(frozen=True, slots=True)
class VerdictRow:
    """One possibility. `bar` is its probability in per cent."""

    label: str
    line: str
    percent: str
    bar: float
    leading: bool
    versions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Share:
    """One of several alternatives with its probability."""

    label: str
    percent: str
    bar: float


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change in figures."""

    label: str
    from_state: str
    to_state: str
    line: str
    gap: str
    cut_in: str
    median: str
    applied: str


@dataclass(frozen=True, slots=True)
class PredictionRow:
    """What a feature that was not seen should be."""

    label: str
    state: str
    percent: str
    bar: float
    others: str


@dataclass(frozen=True, slots=True)
class Predictions:
    """What was not seen: what is still open, the least certain first, what is as good as certain, and the labels of
    features of which nothing is foretold."""

    open: tuple[PredictionRow, ...]
    settled: tuple[PredictionRow, ...]
    untold: tuple[str, ...] = ()

    @property
    def any(self) -> bool:
        """Whether anything was not seen."""
        return bool(self.open or self.settled)


@dataclass(frozen=True, slots=True)
class IdentityPage:
    """Everything the page shows."""

    heading: str
    facts: tuple[tuple[str, str], ...]
    summary: str
    verdict: tuple[VerdictRow, ...]
    verdict_rest: str
    misfit: Misfit | None
    explanations: tuple[str, ...]
    several_lines: bool
    stand_known: bool
    pictures: tuple[tuple[str, tuple[SerialLine, ...]], ...]
    unplaced: tuple[UnplacedRow, ...]
    unplaced_more: int
    changes: tuple[ChangeRow, ...]
    free: tuple[FreeRow, ...]
    grid: Grid
    evidence: Evidence
    condition: tuple[Share, ...]
    groups: tuple[GroupRow, ...]
    predictions: Predictions
    looks: NextLooks
    ask: tuple[AskRow, ...]
    sisters: tuple[SisterRow, ...]
    warnings: tuple[str, ...]
    method: MethodNotes


def identity_page(case: IdentityCase, cited: Mapping[str, Cited] | None = None) -> IdentityPage:
    """Lays the answer out. cited : what the sources of observations stand for."""
    family, bench_set, answer = case.family, case.bench_set, case.answer
    leading = answer.verdict[0]
    rows, rest = _verdict_rows(family, answer)
    misfit = misfit_of(family, answer)
    leading_versions = leading.between or ((leading.version,) if leading.version else ())
    return IdentityPage(
        heading=bench_set.id,
        facts=_facts(family, case),
        summary=verdict_sentence(family, leading),
        verdict=rows,
        verdict_rest=rest,
        misfit=misfit,
        # What would explain a misfit stands beside the misfit, at the top.
        explanations=tuple(s for s in answer.explanations if misfit is None or s not in misfit.suggestions),
        several_lines=len(family.lines) > 1,
        stand_known=(known := _stand(case)).low == known.high,
        pictures=_pictures(case),
        unplaced=(without := unplaced_rows(family, case.survivors))[0],
        unplaced_more=without[1],
        changes=tuple(_change_row(family, answer, change) for change in answer.changes),
        free=free_rows(family, answer),
        grid=grid_of(
            family,
            leading.line,
            set_cells(family, bench_set, answer),
            set_label=bench_set.id,
            leading=leading_versions,
        ),
        evidence=evidence_of(family, bench_set, answer, cited),
        condition=tuple(_share(CONDITION_WORDS[name], value) for name, value in answer.condition.items()),
        groups=group_rows(family, answer),
        predictions=_predictions(family, case.bench_set, answer),
        looks=next_looks(family, answer, bench_set.open_to),
        ask=ask_rows(family, answer),
        sisters=sister_rows(case, FEW),
        warnings=answer.warnings,
        method=method_notes(answer),
    )


def _facts(family: Family, case: IdentityCase) -> tuple[tuple[str, str], ...]:
    bench_set = case.bench_set
    survivors = len(case.survivors)
    facts = [("Serial", bench_set.serial or "not known")]
    if len(family.lines) > 1:
        facts.append(("Line", line_words(bench_set.line) if bench_set.line else "not known"))
    facts.append(("Opened so far", ACCESS_WORDS[bench_set.open_to]))
    facts.append(("Seen", f"{len(bench_set.latest)} of {count(len(family.features), 'feature')}"))
    facts.append(("Compared with", count(survivors, "survivor")))
    return tuple(facts)


def _verdict_rows(family: Family, answer: Answer) -> tuple[tuple[VerdictRow, ...], str]:
    shown = [entry for entry in answer.verdict if entry.probability >= WORTH_A_LINE] or [answer.verdict[0]]
    rest = answer.verdict[len(shown) :]
    names = {version.id: version.label for version in family.versions}
    rows = tuple(
        VerdictRow(
            label=verdict_label(family, entry),
            line=entry.line,
            percent=percent(entry.probability),
            bar=round(100 * entry.probability, 2),
            leading=entry is answer.verdict[0],
            versions=tuple((v, names[v]) for v in (entry.between or ((entry.version,) if entry.version else ()))),
        )
        for entry in shown
    )
    if not rest:
        return rows, ""
    together = percent(sum(entry.probability for entry in rest))
    return rows, f"{count(len(rest), 'other possibility', 'other possibilities')}, together {together}."


def _pictures(case: IdentityCase) -> tuple[tuple[str, tuple[SerialLine, ...]], ...]:
    """The axis of every line the set may belong to, the most probable first."""
    family, answer = case.family, case.answer
    axes = sorted(answer.axes, key=lambda axis: -axis.probability)
    shown = [axis for axis in axes if axis.probability >= LINE_WORTH_A_PICTURE] or axes[:1]
    pictures = []
    for axis in shown:
        heading = f"{line_words(axis.line).capitalize()}, {percent(axis.probability)}" if len(family.lines) > 1 else ""
        stand = _stand(case) if axis.line == answer.verdict[0].line else None
        pictures.append(
            (
                heading,
                variants(
                    family,
                    axis,
                    changes_of(answer, axis.line),
                    _positions(case, axis),
                    stand,
                    unplaced=unplaced_count(family, case.survivors, axis.line),
                ),
            )
        )
    return tuple(pictures)


def _stand(case: IdentityCase) -> Interval:
    """Where the set stands on the leading line: its serial where that is known in full, else the answer's range."""
    serial = case.bench_set.serial
    places = [] if serial is None else locate(case.family, serial, case.answer.verdict[0].line)
    if len(places) == 1 and places[0].first == places[0].last:
        known = float(places[0].first)
        return Interval(known, known, known, 1.0)
    return case.answer.serial


def _positions(case: IdentityCase, axis: AxisAnswer) -> np.ndarray:
    """Known positions of the survivors of one line."""
    return positions_on(case.family, case.survivors, axis.line)


def _change_row(family: Family, answer: Answer, change: ChangeAnswer) -> ChangeRow:
    unit = next((axis.unit for axis in answer.axes if axis.line == change.line), SERIAL_UNIT)
    versions = family.versions_of(change.line)
    gap = "not in any document"
    if change.block is not None and 1 <= change.block < len(versions):
        gap = f"{versions[change.block - 1].label} to {versions[change.block].label}"
    return ChangeRow(
        label=family.feature(change.feature).label,
        from_state=change.from_state,
        to_state=change.to_state,
        line=line_words(change.line) if len(family.lines) > 1 else "",
        gap=gap,
        cut_in=interval_words(family, change.line, change.cut_in, unit),
        median=place_words(family, change.line, change.cut_in.median, unit),
        applied=percent(hedged(change.applied_probability, answer.method)),
    )


def _share(label: str, probability: float) -> Share:
    return Share(label, percent(probability), round(100 * probability, 2))


def _predictions(family: Family, bench_set: BenchSet, answer: Answer) -> Predictions:
    foretold = {prediction.feature for prediction in answer.predicted} | set(bench_set.latest)
    line = answer.verdict[0].line
    untold = tuple(f.label for f in family.features if f.id not in foretold and f.in_line(line))
    rows = []
    for prediction in answer.predicted:
        if not prediction.states:
            continue
        ordered = sorted(prediction.states.items(), key=lambda item: -item[1])
        state, probability = ordered[0]
        feature = family.feature(prediction.feature)
        others = ", ".join(f"{other} ({percent(p)})" for other, p in ordered[1:] if p >= WORTH_A_LINE)
        rows.append(
            PredictionRow(
                label=feature.label,
                state=state,
                percent=percent(probability),
                bar=round(100 * probability, 2),
                others=others,
            )
        )
    rows.sort(key=lambda row: row.bar)
    return Predictions(
        open=tuple(row for row in rows if row.bar < 100 * SETTLED),
        settled=tuple(row for row in rows if row.bar >= 100 * SETTLED),
        untold=untold,
    )
