"""`setwright sisters`: the sets most like this one, and this one beside another."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from setwright.cli.answering import answer_for
from setwright.cli.identify import shows
from setwright.cli.options import Also, Draws, Exact, FamilyFile, Learned, NeededSurvivorsFile, Seed, SetFile
from setwright.cli.other_sets import known_id


def sisters(
    family: FamilyFile,
    set_file: SetFile,
    survivors: NeededSurvivorsFile,
    other: Annotated[
        str | None, typer.Option("--with", metavar="ID", help="Compare with this set, feature by feature.")
    ] = None,
    exact: Exact = False,
    learned: Learned = False,
    also: Also = None,
    draws: Draws = None,
    seed: Seed = 0,
) -> None:
    """List the sets most like this one, or compare it with one of them, difference by difference."""
    case = answer_for(family, set_file, survivors, also=also, seed=seed, exact=exact, learned=learned, draws=draws)

    from setwright.cli.paper import Paper
    from setwright.cli.sister_report import compare_with, list_sisters

    paper = Paper(blocks=shows(sys.stdout, "█▌"))
    if other is None:
        list_sisters(paper, case)
        return
    known_id(other, case.survivors.ids, "--with")
    sister = next((sister for sister in case.answer.sisters if sister.id == other), None)
    if sister is None:
        own = case.bench.id
        message = f"{other} is not among the sets nearest to {own}, or shows nothing that could be compared with it."
        print(message, file=sys.stderr)
        raise typer.Exit(1)
    compare_with(paper, case, sister)
