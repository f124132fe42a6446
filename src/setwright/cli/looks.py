"""`setwright looks`: a sheet of everything that is still to be looked at, to print and take along."""

from __future__ import annotations

from setwright.cli.answering import answer_for
from setwright.cli.options import Also, Draws, Exact, FamilyFile, Force, Learned, OutFile, Seed, SetFile, SurvivorsFile
from setwright.cli.output import put


def looks(
    family: FamilyFile,
    set_file: SetFile,
    survivors: SurvivorsFile = None,
    out: OutFile = None,
    force: Force = False,
    exact: Exact = False,
    learned: Learned = False,
    also: Also = None,
    draws: Draws = None,
    seed: Seed = 0,
) -> None:
    """Write a look sheet: boxes for every feature still to be seen, with the cautions of each step.

    What the set is open for now comes first, then the rest in the order of opening; within a step, what tells most.
    """
    case = answer_for(family, set_file, survivors, also=also, seed=seed, exact=exact, learned=learned, draws=draws)

    from setwright.cli.look_sheet_text import look_sheet_text
    from setwright.identity.look_sheet import look_sheet

    sheet = look_sheet(case.family, case.bench, case.answer)
    put(look_sheet_text(case.family, case.bench, sheet), out, force=force)
