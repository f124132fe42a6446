"""Why there is no backup, or why one was not put back."""

from __future__ import annotations


class CannotBackUp(Exception):
    """No backup was made; the message is one plain sentence or two."""


class CannotRestore(Exception):
    """Nothing was put back and nothing touched; the message is one plain sentence or two."""
