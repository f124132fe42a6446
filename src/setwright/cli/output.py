"""Where a command's text goes: to the terminal, or whole into a file."""

from __future__ import annotations

from pathlib import Path


def put(text: str, out: Path | None, *, force: bool = False) -> None:
    """Print the text, or write it into a file at one stroke and say so. Raises FileProblems where it cannot."""
    if out is None:
        print(text, end="")
        return
    from setwright.files.writing import write_text

    write_text(out, text, overwrite=force)
    print(f"{out} is written.")
