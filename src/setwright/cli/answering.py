"""From the files that a command names to the answer: what `identify`, `looks`, `ask` and `sisters` share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from setwright.cli.other_families import Pair, check_families, check_use, evidence_of, pairs_of
from setwright.cli.progress import Progress

if TYPE_CHECKING:
    from setwright.files import Register
    from setwright.identity import Answer, BenchSet, Family, Survivors


@dataclass(frozen=True)
class Case:
    """What was read, and the answer to it. teachers : names of the other families that taught rates of alteration."""

    family: Family
    bench: BenchSet
    survivors: Survivors
    answer: Answer
    teachers: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Read:
    """What the files hold; `others` are other families with their survivors."""

    family: Family
    bench: BenchSet
    register: Register | None
    others: tuple[tuple[Family, Survivors], ...]


def answer_for(
    family: Path,
    set_file: Path,
    survivors: Path | None,
    *,
    also: Sequence[str] | None = None,
    seed: int = 0,
    level: float = 0.9,
    exact: bool = False,
    learned: bool = False,
    draws: int | None = None,
) -> Case:
    """Read the files and compute the answer; what the register's reader noted goes in front of its warnings.

    On a terminal, a bar on stderr shows how far a longer computation is.

    Raises FileProblems for files with problems (of set, survivors and other families together where several have
    some), ImpossibleHistory where the documents contradict each other, NothingLearnt where another family teaches
    nothing, and BadParameter for `also` that names no pair of files.
    """
    from dataclasses import replace

    pairs = pairs_of(also or ())
    check_use(pairs, survivors=survivors is not None, exact=exact)
    with Progress() as progress:
        progress("Reading the files", 0.0)

        from setwright.identity import Assumptions, no_survivors
        from setwright.identity import identify as identity_of
        from setwright.identity.progress import part_of

        read = _read(family, set_file, survivors, pairs)
        known = no_survivors() if read.register is None else read.register.survivors
        # Other families take fewer draws than an answer, and an answer with learnt rates is computed twice.
        before = len(pairs) / (len(pairs) + (4 if learned else 2))
        evidence = evidence_of(read.others, seed, lambda text, share: progress(text, before * share))
        answer = identity_of(
            read.family,
            read.bench,
            known,
            assumptions=Assumptions(level=level),
            seed=seed,
            exact=exact,
            learned=learned,
            other_families=evidence,
            draws=draws,
            progress=part_of(progress, before, 1.0),
        )
    if read.register is not None:
        answer = replace(answer, warnings=(*read.register.warnings, *answer.warnings))
    return Case(read.family, read.bench, known, answer, tuple(other.name for other, _ in read.others))


def _read(family: Path, set_file: Path, survivors: Path | None, pairs: Sequence[Pair]) -> _Read:
    from setwright.files import FileProblems, read_family, read_set, read_survivors

    documents = read_family(family).family
    problems: list[FileProblems] = []
    bench = register = None
    others = []
    try:
        bench = read_set(set_file, documents).set
    except FileProblems as failure:
        problems.append(failure)
    if survivors is not None:
        try:
            register = read_survivors(survivors, documents, bench=bench)
        except FileProblems as failure:
            problems.append(failure)
    for pair in pairs:
        try:
            other = read_family(pair.family).family
            others.append((other, read_survivors(pair.survivors, other).survivors))
        except FileProblems as failure:
            problems.append(failure)
    if bench is None or problems:
        raise FileProblems(tuple(p for f in problems for p in f.problems), sum(f.left_out for f in problems))
    check_families(documents, [other for other, _ in others])
    return _Read(documents, bench, register, tuple(others))
