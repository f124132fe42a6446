"""`setwright backup` and `setwright restore`: everything in one verified file, and back."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

DataFolder = Annotated[Path | None, typer.Option(help="The data folder (default: your own).", file_okay=False)]


def backup(
    file: Annotated[
        Path | None,
        typer.Argument(help="The file to write (default: setwright-DATE.zip, here).", dir_okay=False),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that exists.")] = False,
    data: DataFolder = None,
) -> None:
    """Back up all records, photos and scans into one file, and read it back; the site may run meanwhile."""
    folder = _folder(data)
    from django.utils import timezone

    from setwright.files.problems import refuse
    from setwright.workbench.backup.errors import CannotBackUp
    from setwright.workbench.backup.making import make_backup

    now = timezone.now()
    target = (file or Path(f"setwright-{now:%Y-%m-%d}.zip")).absolute()
    if target.exists() and not force:
        raise refuse(str(target), "the file exists already and was not touched; give another name, or --force")
    try:
        make_backup(folder, target, with_files=True, made_at=now)
    except CannotBackUp as error:
        print(error, file=sys.stderr)
        raise typer.Exit(1) from error
    print(f"{target}: written and read back, {target.stat().st_size / 1e6:,.1f} MB")


def restore(
    file: Annotated[Path, typer.Argument(help="The backup.", dir_okay=False)],
    data: DataFolder = None,
) -> None:
    """Put a backup back in the place of the records; what was there is kept aside."""
    folder = _folder(data)
    from setwright.workbench.backup.errors import CannotRestore
    from setwright.workbench.backup.restoring import restore_backup

    try:
        restored = restore_backup(folder, file)
    except CannotRestore as error:
        print(error, file=sys.stderr)
        raise typer.Exit(1) from error
    print(f"{folder}: the records of {restored.made_at:%d %B %Y, %H:%M} UTC are back, with {restored.files} files")
    if restored.aside is not None:
        print(f"What was there before is in {restored.aside}")
    for name in restored.missing:
        print(f"{name} is named by the backup and not in the data folder any more", file=sys.stderr)


def _folder(data: Path | None) -> Path:
    """The data folder, with the settings read; its records are not touched."""
    if data is not None:
        os.environ["SETWRIGHT_DATA"] = str(data.expanduser().resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "setwright.workbench.settings")
    import django
    from django.conf import settings
    from django.core.exceptions import ImproperlyConfigured

    try:
        django.setup()
    except ImproperlyConfigured as error:
        print(error, file=sys.stderr)
        raise typer.Exit(1) from error
    return Path(settings.DATA_DIR)
