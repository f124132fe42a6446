"""`--also`: other families, the survivors of which teach the rates of alteration too."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import typer

if TYPE_CHECKING:
    from setwright.identity import Family, Survivors
    from setwright.identity.answer import RateEvidence

OPTION = "--also"


class Pair(NamedTuple):
    """A family file and the file of its survivors."""

    family: Path
    survivors: Path


def pairs_of(values: Sequence[str]) -> tuple[Pair, ...]:
    """The files that the option names, one pair each time it is given. Raises BadParameter for what is no pair."""
    return tuple(_pair(value) for value in values)


def _pair(value: str) -> Pair:
    cuts = [(value[:at].strip(), value[at + 1 :].strip()) for at, sign in enumerate(value) if sign == ","]
    # A name may hold a comma itself: then the files that are there tell where to cut.
    there = [cut for cut in cuts if all(name and Path(name).is_file() for name in cut)]
    if len(there) != 1 and (len(cuts) != 1 or not all(cuts[0])):
        raise _bad(
            f"{value!r} is not a pair of files. Write the family file, a comma, and the file of its survivors: "
            "heron.toml,heron.csv"
        )
    first, second = (there or cuts)[0]
    if first.lower().endswith(".csv") and second.lower().endswith(".toml"):
        raise _bad(f"the family file comes first: {second},{first}")
    return Pair(Path(first), Path(second))


def check_use(pairs: Sequence[Pair], *, survivors: bool, exact: bool) -> None:
    """Raises BadParameter where other families could teach nothing."""
    if pairs and not survivors:
        raise _bad("rates are learnt from the family's own survivors first: name them with --survivors")
    if pairs and exact:
        raise _bad("with --exact nothing is learnt; leave one of the two out")


def check_families(own: Family, others: Sequence[Family]) -> None:
    """Raises BadParameter where a family is named twice."""
    seen = [own.id]
    for family in others:
        if family.id == own.id:
            raise _bad(f"{family.id} is the family of the set itself; its survivors belong to --survivors")
        if family.id in seen:
            raise _bad(f"the family {family.id} is named twice; put its survivors into one file")
        seen.append(family.id)


def evidence_of(
    others: Sequence[tuple[Family, Survivors]], seed: int, progress: Callable[[str, float], None]
) -> tuple[RateEvidence, ...]:
    """What each of the other families teaches. Raises NothingLearnt for one that teaches nothing."""
    from setwright.identity import rates_of
    from setwright.identity.progress import part_of

    evidence = []
    for number, (family, survivors) in enumerate(others):
        share = part_of(progress, number / len(others), (number + 1) / len(others))
        evidence.append(rates_of(family, survivors, seed, _named(family.name, share)))
    return tuple(evidence)


def _named(name: str, progress: Callable[[str, float], None] | None) -> Callable[[str, float], None] | None:
    return None if progress is None else lambda _, share: progress(f"Learning rates from {name}", share)


def _bad(message: str) -> typer.BadParameter:
    return typer.BadParameter(message, param_hint=OPTION)
