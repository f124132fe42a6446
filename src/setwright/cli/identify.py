"""`setwright identify`: which version a set is, what was altered in it, what to look at next."""

from __future__ import annotations

import json as json_format
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from setwright.identity import Answer, BenchSet, Family


def _between_nought_and_one(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise typer.BadParameter("must lie between 0 and 1, such as 0.9")
    return level


def identify(
    family: Annotated[Path, typer.Argument(metavar="FAMILY", help="The family file (TOML).")],
    set_file: Annotated[Path, typer.Argument(metavar="SET", help="The file of the set on the bench (TOML).")],
    survivors: Annotated[
        Path | None, typer.Option(metavar="CSV", help="Other known sets of the family, one a row.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")] = False,
    seed: Annotated[int, typer.Option(min=0, help="Seed of whatever is drawn at random.")] = 0,
    level: Annotated[
        float,
        typer.Option(help="Probability that the ranges hold.", callback=_between_nought_and_one),
    ] = 0.9,
) -> None:
    """Tell which documented version a set is, with all that was seen of it.

    The answer is a list of probabilities: versions, and places between two versions. It says what speaks for
    them, what looks altered or misread, and which look would tell most for the least work.
    """
    read_family, bench, answer = answer_for(family, set_file, survivors, seed=seed, level=level)
    if json:
        from setwright.files import answer_as_json

        print(json_format.dumps(answer_as_json(answer), indent=2, ensure_ascii=not _shows(sys.stdout, "µΩ→")))
        return
    from setwright.cli.identity_report import print_report

    print_report(read_family, bench, answer, blocks=_shows(sys.stdout, "█▌"))


def answer_for(
    family: Path, set_file: Path, survivors: Path | None, *, seed: int = 0, level: float = 0.9
) -> tuple[Family, BenchSet, Answer]:
    """Read the files and compute the answer; what the register's reader noted goes in front of its warnings.

    Raises FileProblems for a file with problems (of set and survivors together where both have some) and
    ImpossibleHistory where the documents contradict each other.
    """
    from dataclasses import replace

    from setwright.files import FileProblems, read_family, read_set, read_survivors
    from setwright.identity import Assumptions
    from setwright.identity import identify as identity_of

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
    known = None if register is None else register.survivors
    answer = identity_of(documents, bench, known, assumptions=Assumptions(level=level), seed=seed)
    if register is not None:
        answer = replace(answer, warnings=(*register.warnings, *answer.warnings))
    return documents, bench, answer


def _shows(stream: object, characters: str) -> bool:
    """Whether a stream's encoding has these characters (a terminal of an older system may not)."""
    try:
        characters.encode(getattr(stream, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
