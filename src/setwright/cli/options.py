"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

FamilyFile = Annotated[Path, typer.Argument(metavar="FAMILY", help="The family file (TOML).")]
SetFile = Annotated[Path, typer.Argument(metavar="SET", help="The file of the set on the bench (TOML).")]
SurvivorsFile = Annotated[
    Path | None, typer.Option("--survivors", metavar="CSV", help="Other known sets of the family, one a row.")
]
NeededSurvivorsFile = Annotated[
    Path, typer.Option("--survivors", metavar="CSV", help="Other known sets of the family, one a row.")
]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Seed of whatever is drawn at random.")]
Exact = Annotated[
    bool,
    typer.Option(
        "--exact",
        help="Survivors count item by item, at the usual rates of alteration, without full serial or line not at all. "
        "The answer is summed where nothing else is in doubt; histories are still drawn for features no document "
        "mentions, silent versions, old stock, shared cut-ins, and a group that may come from another set.",
    ),
]
Learned = Annotated[
    bool,
    typer.Option("--learned", help="Use the alteration rates learnt from the survivors, not the usual ones."),
]
Also = Annotated[
    list[str] | None,
    typer.Option(
        "--also",
        metavar="FAMILY,SURVIVORS",
        help="Another family and its survivors, which teach the alteration rates too (may be given several times).",
    ),
]
Draws = Annotated[
    int | None,
    typer.Option("--draws", min=1, metavar="N", help="How many joint histories are drawn (default: enough for most)."),
]
OutFile = Annotated[
    Path | None, typer.Option("--out", "-o", metavar="FILE", help="The file to write (default: print it).")
]
Force = Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")]
