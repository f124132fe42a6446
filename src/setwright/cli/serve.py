"""`setwright serve`: the site, on this machine, or shared with those who have an account."""

from __future__ import annotations

import sys
import webbrowser
from pathlib import Path
from typing import Annotated

import typer

UNENCRYPTED = (
    "Passwords and pages travel unencrypted in this network. Where that matters, put a proxy with TLS before Setwright "
    "and set SETWRIGHT_HTTPS=1."
)


def serve(
    files: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[FILE]...",
            help="Family, set, survivors, circuit and literature files to take into the data folder first, with the "
            "pictures they name. With several families, say whose survivors they are: FAMILY=FILE.",
        ),
    ] = None,
    port: Annotated[int, typer.Option(help="The port on this machine; 0 takes any free one.")] = 8117,
    data: Annotated[Path | None, typer.Option(help="The data folder (default: your own).", file_okay=False)] = None,
    open_browser: Annotated[bool, typer.Option("--open/--no-open", help="Open the first page in the browser.")] = False,
    share: Annotated[
        bool, typer.Option("--share", help="Let others in this network in, with the accounts of `setwright account`.")
    ] = False,
    host: Annotated[
        str | None,
        typer.Option(
            help="The address to listen on (default: this machine only; with --share, every address it has).",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Serve the pages of your sets on this machine until stopped with Ctrl-C."""
    run_site(files or [], port=port, data=data, open_browser=open_browser, share=share, host=host)


def run_site(
    files: list[str],
    *,
    port: int,
    data: Path | None = None,
    open_browser: bool = False,
    path: str = "/",
    tell_files: bool = True,
    share: bool = False,
    host: str | None = None,
) -> None:
    """Prepares the data folder, takes the files in, prints the address as one line and serves until stopped.

    path : the page whose address is printed and opened. tell_files : say on stderr what was taken in.
    share, host : whether others come in, and where the site listens.
    """
    from setwright.workbench import server

    try:
        server.prepare(data, share=share, host=host)
        server.check_shared(host)
        if files:
            from setwright.workbench.services.imports import import_files

            imported = import_files(files)
            if tell_files:
                print(*imported, sep="\n", file=sys.stderr)
        server.serve(port, ready=lambda address: _announce(address, open_browser), path=path, host=host)
    except server.CannotServe as error:
        print(error, file=sys.stderr)
        raise typer.Exit(1) from error


def _announce(address: str, open_browser: bool) -> None:
    from django.conf import settings

    print(f"Setwright is ready at {address} (Ctrl-C stops it)", flush=True)
    if settings.SHARED and not settings.HTTPS:
        print(UNENCRYPTED, file=sys.stderr)
    if open_browser:
        webbrowser.open(address)
