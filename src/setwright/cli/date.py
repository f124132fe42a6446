"""`setwright date`: when a set was built, which of its parts are later, how many were made."""

from __future__ import annotations

import csv as csv_format
import json as json_format
import sys
from typing import Annotated

import typer

from setwright.cli.dating import dated
from setwright.cli.identify import between_nought_and_one, shows
from setwright.cli.options import FamilyFile, SetFile, SurvivorsFile


def date(
    family: FamilyFile,
    set_file: SetFile,
    survivors: SurvivorsFile = None,
    json: Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print the answer as a table (CSV).")] = False,
    cut_ins: Annotated[
        bool, typer.Option("--cut-ins", help="Also date every documented change of the production.")
    ] = False,
    check: Annotated[
        bool,
        typer.Option("--check", help="Also date every stamped survivor from the others, to see how far to trust it."),
    ] = False,
    level: Annotated[
        float,
        typer.Option(help="Probability that the ranges hold.", callback=between_nought_and_one),
    ] = 0.9,
) -> None:
    """Date a set by its serial among dated survivors, and by what is dated on it.

    Stamps, date codes of parts and documents all count; parts that are later replacements are told, and so is what
    contradicts what. Where the serial is not known in full, the features seen say where in the run the set stands.
    """
    if json and csv:
        raise typer.BadParameter("give --json or --csv, not both")
    read = dated(family, set_file, survivors, level, cut_ins=cut_ins, check=check)
    if json:
        from setwright.files import date_answer_as_json

        made = date_answer_as_json(read.answer, read.trust)
        print(json_format.dumps(made, indent=2, ensure_ascii=not shows(sys.stdout, "µΩ→")))
        return
    if csv:
        from setwright.files.dating_answers import COLUMNS, date_answer_rows

        writer = csv_format.writer(sys.stdout, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(date_answer_rows(read.answer, read.trust))
        return
    from setwright.cli.date_report import print_date
    from setwright.cli.paper import Paper

    paper = Paper(blocks=shows(sys.stdout, "█▌"))
    print_date(paper, read.family, read.bench, read.answer, read.trust, checked=check)
