"""`setwright identify`: which version a set is, what was altered in it, what to look at next."""

from __future__ import annotations

import json as json_format
import sys
from typing import Annotated

import typer

from setwright.cli.answering import answer_for
from setwright.cli.options import Also, Draws, Exact, FamilyFile, Learned, Seed, SetFile, SurvivorsFile


def between_nought_and_one(level: float) -> float:
    """A level of probability as an option; BadParameter for what is none."""
    if not 0.0 < level < 1.0:
        raise typer.BadParameter("must lie between 0 and 1, such as 0.9")
    return level


def identify(
    family: FamilyFile,
    set_file: SetFile,
    survivors: SurvivorsFile = None,
    json: Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")] = False,
    exact: Exact = False,
    learned: Learned = False,
    also: Also = None,
    draws: Draws = None,
    seed: Seed = 0,
    level: Annotated[
        float,
        typer.Option(help="Probability that the ranges hold.", callback=between_nought_and_one),
    ] = 0.9,
) -> None:
    """Tell which documented version a set is, with all that was seen of it.

    The answer is a list of probabilities: versions, and places between two versions. It says what speaks for
    them, what looks altered or misread, and which look would tell most for the least work.
    """
    case = answer_for(
        family, set_file, survivors, also=also, seed=seed, level=level, exact=exact, learned=learned, draws=draws
    )
    if json:
        from setwright.files import answer_as_json

        print(json_format.dumps(answer_as_json(case.answer), indent=2, ensure_ascii=not shows(sys.stdout, "µΩ→")))
        return
    from setwright.cli.identity_report import print_report
    from setwright.cli.paper import Paper

    print_report(case.family, case.bench, case.answer, Paper(blocks=shows(sys.stdout, "█▌")), teachers=case.teachers)


def shows(stream: object, characters: str) -> bool:
    """Whether a stream's encoding has these characters (a terminal of an older system may not)."""
    try:
        characters.encode(getattr(stream, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
