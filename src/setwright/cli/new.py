"""`setwright new`: a commented starter file."""

from __future__ import annotations

import enum
from pathlib import Path
from typing import Annotated

import typer


class Kind(enum.StrEnum):
    """What can be started."""

    FAMILY = "family"
    SET = "set"


def new(
    kind: Annotated[Kind, typer.Argument(help="What to start: a family of sets with its history, or one set.")],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The file to write (default: print it).", metavar="FILE")
    ] = None,
    family: Annotated[
        Path | None,
        typer.Option(help="For a set: its family file, whose features are listed to fill in.", metavar="FAMILY.toml"),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
) -> None:
    """Write a commented starter file that explains each key and which features are strong evidence."""
    from setwright.files import read_family
    from setwright.files.starters import family_starter, set_starter
    from setwright.files.writing import write_text

    if kind is Kind.FAMILY and family is not None:
        raise typer.BadParameter("goes only with `setwright new set`", param_hint="--family")
    if kind is Kind.FAMILY:
        text = family_starter()
    else:
        text = set_starter(read_family(family).family if family else None)
    if output is None:
        print(text, end="")
        return
    write_text(output, text, overwrite=force)
    print(f"{output} is written. {_next_step(kind, output, family)}")


def _next_step(kind: Kind, output: Path, family: Path | None) -> str:
    if kind is Kind.FAMILY:
        return f"Edit it, then: setwright check {output}"
    return f"Fill it in, then: setwright identify {family or 'FAMILY.toml'} {output}"
