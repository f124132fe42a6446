"""`setwright casebook`: everything of a workshop in one file, out and in."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    name="casebook",
    help="Save everything in one file, or take such a file in.",
    rich_markup_mode=None,
    no_args_is_help=True,
)

DataFolder = Annotated[Path | None, typer.Option(help="The data folder (default: your own).", file_okay=False)]


@app.command()
def save(
    file: Annotated[Path, typer.Argument(help="The file to write, such as workshop.zip.", dir_okay=False)],
    family: Annotated[
        list[str] | None, typer.Option(help="Only this family, its sets and what they cite; may be given again.")
    ] = None,
    history: Annotated[bool, typer.Option("--history/--no-history", help="Take every change along.")] = True,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that exists.")] = False,
    data: DataFolder = None,
) -> None:
    """Save families, sets, survivors, literature, photos and their history in one file."""
    from setwright.files.problems import listing, refuse
    from setwright.workbench.server import prepare

    if file.exists() and not force:
        raise refuse(
            str(file), "the file exists already and was not touched; give another name, or --force to replace it"
        )
    prepare(data)
    from setwright.workbench.casebook.saving import save_casebook
    from setwright.workbench.families.models import FamilyRecord

    known = list(FamilyRecord.objects.values_list("key", flat=True))
    unknown = [key for key in family or () if key not in known]
    if unknown:
        raise refuse(unknown[0], f"there is no such family; there are {listing(known, 'and') or 'none'}")
    handle, beside = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.absolute().parent)
    try:
        with os.fdopen(handle, "w+b") as stream:
            saved = save_casebook(stream, families=family or None, history=history)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(beside, file)
    except BaseException:
        Path(beside).unlink()
        raise
    print(
        f"{file}: {saved.families} families, {saved.sets} sets, {saved.registers} registers of survivors, "
        f"{saved.documents} documents, {saved.photos} photos, {saved.scans} scans"
    )
    for name in saved.missing:
        print(f"{name} is named by a record, but not to be had (missing or damaged)", file=sys.stderr)


@app.command()
def take(
    file: Annotated[Path, typer.Argument(help="The casebook.", dir_okay=False)],
    theirs: Annotated[
        bool, typer.Option("--theirs", help="Where a record is here with another text, take the casebook's.")
    ] = False,
    mine: Annotated[bool, typer.Option("--mine", help="Where a record is here with another text, keep it.")] = False,
    data: DataFolder = None,
) -> None:
    """Take a casebook in: all of it or, where anything is wrong with it, nothing."""
    if theirs and mine:
        raise typer.BadParameter("--theirs and --mine exclude each other")
    from setwright.files.casebook import open_casebook
    from setwright.workbench.server import prepare

    prepare(data)
    from setwright.workbench.casebook.taking import look_at, take_casebook

    with open_casebook(file) as book:
        differing = [coming.name for coming in look_at(book) if coming.state == "differs"]
        if differing and not (theirs or mine):
            for kind, key in differing:
                print(f"{kind} {key} is here already, with another text", file=sys.stderr)
            print("Nothing was taken in. Say --theirs to replace them, or --mine to keep them.", file=sys.stderr)
            raise typer.Exit(1)
        taken = take_casebook(book, by=None, theirs=differing if theirs else ())
    print(
        f"{file}: {len(taken.new)} new, {len(taken.replaced)} replaced, {len(taken.kept_mine)} kept as they were, "
        f"{taken.same} the same; {taken.photos} photos and {taken.scans} scans added"
    )
