"""`setwright demo`: the site with invented sets in it, or only their files."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from setwright.cli.serve import run_site

SEED = 1951
"""The seed of the demonstration that everybody sees first."""


def demo(
    port: Annotated[int, typer.Option(help="The port on this machine; 0 takes any free one.")] = 8117,
    open_browser: Annotated[bool, typer.Option("--open/--no-open", help="Open the first page in the browser.")] = True,
    data: Annotated[
        Path | None,
        typer.Option(help="Keep the records in this folder (default: a temporary one).", file_okay=False),
    ] = None,
    seed: Annotated[
        int,
        typer.Option(envvar="SETWRIGHT_DEMO_SEED", min=0, help="Another seed makes other sets of the same families."),
    ] = SEED,
    write: Annotated[
        Path | None, typer.Option(help="Only write the files into this folder, and serve nothing.", file_okay=False)
    ] = None,
) -> None:
    """Show invented receivers: a transitional set on the bench, its fellow survivors, their documents."""
    from setwright.demo import generate
    from setwright.demo import write as write_files

    scenario = generate(seed)
    if write is not None:
        for path in write_files(scenario, write):
            print(path)
        return
    with tempfile.TemporaryDirectory(prefix="setwright-demo-", ignore_cleanup_errors=True) as folder:
        written = write_files(scenario, Path(folder))
        files = [str(path) for path in written]
        first = scenario.families[0].bench.id
        run_site(
            files,
            port=port,
            data=data or Path(folder, "data"),
            open_browser=open_browser,
            path=f"/sets/{first}/",
            tell_files=False,
        )
