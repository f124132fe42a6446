"""What may stand in an address."""

from __future__ import annotations

from django.urls import register_converter


class KeyConverter:
    """The id of a family, version or set: letters, digits, dot, underscore, hyphen."""

    regex = r"[A-Za-z0-9._-]+"

    def to_python(self, value: str) -> str:
        """The id as it stands in the address."""
        return value

    def to_url(self, value: str) -> str:
        """The address part for an id."""
        return value


register_converter(KeyConverter, "key")
