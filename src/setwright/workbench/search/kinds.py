"""The kinds of things that are found, in the order in which a page lists them."""

from __future__ import annotations

HEADINGS = {
    "set": "Sets",
    "observation": "Observations",
    "note": "Notes",
    "want": "Wants",
    "photo": "Photos",
    "reading": "Readings",
    "survivor": "Survivors",
    "family": "Families",
    "version": "Versions",
    "feature": "Features",
    "source": "Sources of families",
    "circuit": "Circuits",
    "literature": "Literature",
}


def heading_of(kind: str) -> str:
    """What a page calls a kind."""
    return HEADINGS[kind]
