"""A survivor in a minute: a picture, the serial, and what can be seen of the few most telling features."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from setwright.identity.model import Family, Feature
from setwright.workbench.survivors.telling import telling_features

SOMETHING_ELSE = "*else"
"""The choice beside the listed states; what it is stands in a field of its own."""


@dataclass(frozen=True, slots=True)
class QuickField:
    """One telling feature with the choice made so far; `other` is what was written beside the listed states."""

    feature: Feature
    chosen: str
    other: str


def quick_fields(family: Family, posted: Mapping[str, str]) -> tuple[QuickField, ...]:
    """The features asked for, with what was chosen."""
    return tuple(
        QuickField(feature, posted.get(f"state:{feature.id}", ""), posted.get(f"other:{feature.id}", ""))
        for feature in telling_features(family)
    )


def quick_cells(family: Family, posted: Mapping[str, str], taken: Collection[str], today: date) -> dict[str, str]:
    """The new row. Without a name it is called after its serial, else after the day. taken : names that sets have."""
    cells: dict[str, str] = {}
    for column in ("serial", "line", "source", "x-link", "note"):
        cells[column] = _plain(posted.get(column, ""))
    for field in quick_fields(family, posted):
        other = _plain(field.other)
        chosen = _plain(field.chosen)
        cells[field.feature.id] = other if chosen == SOMETHING_ELSE or (other and not chosen) else chosen
    cells["seen_on"] = today.isoformat()
    wanted = _plain(posted.get("name", "")) or cells["serial"] or f"seen {today.isoformat()}"
    cells = {"id": wanted if "name" in posted and posted["name"].strip() else _free(wanted, taken), **cells}
    return {column: cell for column, cell in cells.items() if cell}


def _plain(text: str) -> str:
    return " ".join(text[:2000].split())


def _free(name: str, taken: Collection[str]) -> str:
    """The name, with a number behind it where it is taken."""
    candidates = (name if number == 1 else f"{name} ({number})" for number in range(1, len(taken) + 2))
    return next(candidate for candidate in candidates if candidate not in taken)
