"""`setwright ask`: a letter to the owner of another set that could tell something of this one."""

from __future__ import annotations

import enum
import sys
from typing import TYPE_CHECKING, Annotated

import typer

from setwright.cli.answering import answer_for
from setwright.cli.options import (
    Also,
    Draws,
    Exact,
    FamilyFile,
    Force,
    Learned,
    NeededSurvivorsFile,
    OutFile,
    Seed,
    SetFile,
)
from setwright.cli.output import put

if TYPE_CHECKING:
    from setwright.identity.letter import Letter

_MOST_OTHERS = 5


class OpenTo(enum.StrEnum):
    """How far the other set may be open for a question about it."""

    OUTSIDE = "outside"
    BACK_OFF = "back off"
    CHASSIS_OUT = "chassis out"
    UNDERSIDE = "underside"
    POWERED = "powered"


def ask(
    family: FamilyFile,
    set_file: SetFile,
    survivors: NeededSurvivorsFile,
    of: Annotated[
        str | None, typer.Option("--of", metavar="ID", help="The set to ask about (default: the one that tells most).")
    ] = None,
    open_to: Annotated[
        OpenTo, typer.Option("--open-to", help="How far the other set may be open for what is asked.")
    ] = OpenTo.BACK_OFF,
    out: OutFile = None,
    force: Force = False,
    exact: Exact = False,
    learned: Learned = False,
    also: Also = None,
    draws: Draws = None,
    seed: Seed = 0,
) -> None:
    """Write a short letter that asks another owner for the looks that would tell most about this set."""
    case = answer_for(family, set_file, survivors, also=also, seed=seed, exact=exact, learned=learned, draws=draws)

    from setwright.cli.other_sets import known_id
    from setwright.identity.letter import letters
    from setwright.identity.look_sheet import is_open
    from setwright.identity.model import ACCESSES

    if of is not None:
        known_id(of, case.survivors.ids, "--of")
    accesses = [access for access in ACCESSES if is_open(access, open_to.value)]
    written = letters(case.family, case.bench, case.survivors, case.answer, accesses=accesses)
    chosen = next((letter for letter in written if of in (None, letter.set)), None)
    if chosen is None:
        print(_nothing_to_ask(case.bench.id, of, open_to), file=sys.stderr)
        raise typer.Exit(1)
    put(chosen.text(), out, force=force)
    if of is None and len(written) > 1:
        print(f"Others who could tell something (--of): {_listed(written[1:])}.", file=sys.stderr)


def _nothing_to_ask(own: str, of: str | None, open_to: OpenTo) -> str:
    which = "another set" if of is None else of
    deeper = "" if open_to is OpenTo.POWERED else f" with a set no further open than {open_to.value} (--open-to)"
    return f"Nothing that could be seen of {which}{deeper} would tell much about {own}."


def _listed(others: tuple[Letter, ...]) -> str:
    some = ", ".join(f"{letter.set} ({letter.bits:.2f} bits)" for letter in others[:_MOST_OTHERS])
    more = len(others) - _MOST_OTHERS
    return f"{some} and {more} more" if more > 0 else some
