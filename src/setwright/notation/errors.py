"""The one error this package raises for text it cannot read."""

from __future__ import annotations


class NotationError(ValueError):
    """Text that cannot be read, or that can be read in two ways.

    `message` says what is wrong and what would be right; `suggestion` is text that could stand in its
    place, where there is one obvious candidate.
    """

    def __init__(self, message: str, suggestion: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.suggestion = suggestion
