"""Words that several commands use."""

from __future__ import annotations


def count(number: int, noun: str, plural: str | None = None) -> str:
    """A number of things.

    >>> count(1, "tube"), count(2, "tube"), count(2000, "family", "families")
    ('1 tube', '2 tubes', '2,000 families')
    """
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}"
