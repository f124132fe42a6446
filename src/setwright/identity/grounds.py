"""What the answer has to say about its own grounds: what was left out, estimated, or could not be used."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.identity.history import History
from setwright.identity.model import BenchSet, Family, Survivors
from setwright.identity.places import FRACTION_UNIT, Axis


def warnings_of(
    family: Family,
    history: History,
    bench_set: BenchSet,
    survivors: Survivors,
    axes: Mapping[str, Axis],
    flat: bool,
    left_out: int | None,
) -> tuple[str, ...]:
    """Warnings in reading order.

    flat : survivors count item by item. left_out : survivors that took no part in drawn histories; None where none
    were drawn.
    """
    warnings = _undocumented(family, history, left_out is not None and len(survivors) > 0)
    warnings += _axes(family, bench_set, axes)
    if flat and len(survivors):
        warnings += _flat(survivors)
    elif left_out:
        warnings.append(
            f"Left out: {_count(left_out, 'survivor')} that fit no place of the run or, the register being large, "
            "whose place is uncertain and of which little was seen."
        )
    for observation in bench_set.latest.values():
        if observation.drift:
            label = family.feature(observation.feature).label
            warnings.append(
                f"{label}: the measured {observation.written} matches no listed value. Parts drift with age, so it "
                "says nothing about the factory state; a marked value would."
            )
    return tuple(warnings)


def _axes(family: Family, bench_set: BenchSet, axes: Mapping[str, Axis]) -> list[str]:
    warnings = []
    for axis in axes.values():
        if not axis.inferred:
            continue
        line = f" of line {axis.line}" if len(axes) > 1 else ""
        if axis.unit == FRACTION_UNIT:
            if any(bound.line == axis.line for bound in family.cut_in_bounds):
                warnings.append(
                    f"The documented cut-in bounds{line} are not used: without a serial they have no place."
                )
            if bench_set.serial is not None and bench_set.line in (None, axis.line):
                warnings.append(
                    f"The serial {bench_set.serial} is not used{line}: * leaves open how many digits it has, and "
                    "neither a last serial nor another set's serial limits them."
                )
            warnings.append(
                f"No serial{line} is known: places in the run are fractions of it, 0 the first set, 1 the last."
            )
        else:
            warnings.append(
                f"The last serial{line} is not documented; it was taken as {axis.last} from the serials known."
            )
    return warnings


def _undocumented(family: Family, history: History, learnt: bool) -> list[str]:
    warnings = []
    for line in history.lines:
        if not line.undocumented:
            continue
        where = f" of line {line.line}" if len(history.lines) > 1 else ""
        labels = ", ".join(family.feature(f).label for f in line.undocumented)
        its = "its history is" if len(line.undocumented) == 1 else "their history is"
        told = f"{its} learnt from the survivors" if learnt else "every state is taken as equally likely there"
        warnings.append(f"The documents{where} say nothing about {labels}; {told}.")
    return warnings


def _flat(survivors: Survivors) -> list[str]:
    """What counting the survivors item by item leaves out."""
    warnings = ["Survivors count item by item: whether a set as a whole was rebuilt or married is not looked into."]
    placeless = int((survivors.position < 0).sum())
    lineless = int(((survivors.line < 0) & (survivors.position >= 0)).sum())
    if placeless:
        warnings.append(
            f"Left out: {_count(placeless, 'survivor')} without a full serial, or whose serial fits several lines."
        )
    if lineless:
        warnings.append(f"Left out: {_count(lineless, 'survivor')} of unknown line.")
    return warnings


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number:,} {noun}s"
