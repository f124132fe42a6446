"""Other sets that a command names by their id."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

import typer


def known_id(name: str, ids: Sequence[str], option: str) -> int:
    """The row of the survivor of that id. Raises BadParameter, with the nearest id, where there is none."""
    for row, known in enumerate(ids):
        if known == name:
            return row
    near = difflib.get_close_matches(name, ids, n=1, cutoff=0.6)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    raise typer.BadParameter(f"there is no set {name!r} among the survivors.{hint}", param_hint=option)
