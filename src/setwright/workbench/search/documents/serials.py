"""The other ways in which a serial is written."""

from __future__ import annotations

from setwright.notation import NotationError, parse_serial


def serial_forms(written: str) -> str:
    """A serial run together, and its prefix and digits apart; "" for what is no serial.

    >>> serial_forms("B 71?08"), serial_forms("illegible")
    ('B71?08 B 71?08', '')
    """
    try:
        serial = parse_serial(written)
    except NotationError:
        return ""
    return " ".join(dict.fromkeys(filter(None, (str(serial), serial.prefix, serial.digits))))
