"""What the documents do not tell: groups from elsewhere, undocumented features, what would explain a misfit."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer
from setwright.identity.model import Family
from setwright.identity.phrases import WORTH_NAMING, other_patterns, pattern_phrase
from setwright.identity.places import SERIAL_UNIT
from setwright.workbench.site.words import KEEP, interval_words, line_words, percent, place_words

NO_DOCUMENTED_HISTORY = 0.01
"""Below this p-value of the misfit check no documented history explains the set."""


@dataclass(frozen=True, slots=True)
class GroupRow:
    """A group of features that may have come from another set, and where that stood."""

    label: str
    percent: str
    bar: float
    median: str
    span: str


@dataclass(frozen=True, slots=True)
class FreeRow:
    """How a feature that no document mentions most probably ran through production."""

    label: str
    pattern: str
    percent: str
    others: str
    line: str


@dataclass(frozen=True, slots=True)
class Misfit:
    """That no documented history explains the set, what drives it, and what would explain it."""

    sentence: str
    drivers: tuple[str, ...]
    suggestions: tuple[str, ...]


def group_rows(family: Family, answer: Answer) -> tuple[GroupRow, ...]:
    """The groups that may not belong, the most doubtful first."""
    units = {axis.line: axis.unit for axis in answer.axes}
    rows = []
    for group in sorted(answer.groups, key=lambda group: -group.elsewhere_probability):
        if group.elsewhere_probability < WORTH_NAMING:
            continue
        unit = units.get(group.line, SERIAL_UNIT)
        line = f", {line_words(group.line)}" if len(family.lines) > 1 else ""
        rows.append(
            GroupRow(
                label=group.group[0].upper() + group.group[1:],
                percent=percent(group.elsewhere_probability),
                bar=round(100 * group.elsewhere_probability, 2),
                median=f"{place_words(family, group.line, group.serial.median, unit)}{line}",
                span=f"{interval_words(family, group.line, group.serial, unit)} ({percent(group.serial.level)} range)",
            )
        )
    return tuple(rows)


def free_rows(family: Family, answer: Answer) -> tuple[FreeRow, ...]:
    """Features that no document mentions, those of the leading line first."""
    leading = answer.verdict[0].line
    return tuple(
        FreeRow(
            label=family.feature(item.feature).label,
            pattern=pattern_phrase(item.patterns[0], item.shares),
            percent=percent(item.patterns[0].probability),
            others=other_patterns(item),
            line=line_words(item.line) if len(family.lines) > 1 else "",
        )
        for item in sorted(answer.free, key=lambda item: item.line != leading)
        if item.patterns
    )


def misfit_of(family: Family, answer: Answer) -> Misfit | None:
    """What is said where no documented history explains the set; None where one does."""
    if answer.misfit_p_value >= NO_DOCUMENTED_HISTORY:
        return None
    return Misfit(
        sentence=(
            "No documented history explains this set: of sets built and altered as the documents and the usual rates "
            f"have it, {percent(max(answer.misfit_p_value, 1e-9))} would look as odd as this one. The possibilities "
            "below are the least bad."
        ),
        drivers=tuple(
            f"{family.feature(item.feature).label} ({item.state}, {item.decibans:.0f}{KEEP}decibans)"
            for item in answer.misfit_drivers
        ),
        suggestions=answer.misfit_suggestions,
    )
