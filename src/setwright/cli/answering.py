"""From the files that a command names to the answer: what `identify`, `looks`, `ask` and `sisters` share."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from setwright.cli.progress import Progress

if TYPE_CHECKING:
    from setwright.files import Register
    from setwright.identity import Answer, BenchSet, Family, Survivors


@dataclass(frozen=True)
class Case:
    """What was read, and the answer to it."""

    family: Family
    bench: BenchSet
    survivors: Survivors
    answer: Answer


def answer_for(
    family: Path,
    set_file: Path,
    survivors: Path | None,
    *,
    seed: int = 0,
    level: float = 0.9,
    exact: bool = False,
    learned: bool = False,
    draws: int | None = None,
) -> Case:
    """Read the files and compute the answer; what the register's reader noted goes in front of its warnings.

    On a terminal, a bar on stderr shows how far a longer computation is.

    Raises FileProblems for a file with problems (of set and survivors together where both have some) and
    ImpossibleHistory where the documents contradict each other.
    """
    from dataclasses import replace

    with Progress() as progress:
        progress("Reading the files", 0.0)

        from setwright.identity import Assumptions, no_survivors
        from setwright.identity import identify as identity_of

        documents, bench, register = _read(family, set_file, survivors)
        known = no_survivors() if register is None else register.survivors
        answer = identity_of(
            documents,
            bench,
            known,
            assumptions=Assumptions(level=level),
            seed=seed,
            exact=exact,
            learned=learned,
            draws=draws,
            progress=progress,
        )
    if register is not None:
        answer = replace(answer, warnings=(*register.warnings, *answer.warnings))
    return Case(documents, bench, known, answer)


def _read(family: Path, set_file: Path, survivors: Path | None) -> tuple[Family, BenchSet, Register | None]:
    from setwright.files import FileProblems, read_family, read_set, read_survivors

    documents = read_family(family).family
    problems: list[FileProblems] = []
    bench = register = None
    try:
        bench = read_set(set_file, documents).set
    except FileProblems as failure:
        problems.append(failure)
    if survivors is not None:
        try:
            register = read_survivors(survivors, documents, bench=bench)
        except FileProblems as failure:
            problems.append(failure)
    if bench is None or problems:
        raise FileProblems(tuple(p for f in problems for p in f.problems), sum(f.left_out for f in problems))
    return documents, bench, register
