"""Under which names and addresses others reach this machine."""

from __future__ import annotations

import ipaddress
import socket
from contextlib import suppress

LOCAL = ("127.0.0.1", "localhost", "[::1]")

_SOMEWHERE_ELSE = ("192.0.2.1", 9)
"""An address kept for documentation (RFC 5737): the system says from where it would go there, and nothing is sent."""


def is_own(host: str) -> bool:
    """Whether only this machine itself reaches a site that listens there."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def names_of(host: str) -> list[str]:
    """The host names that a site which listens there is asked under; in brackets where they are IPv6 addresses."""
    if not _is_every(host):
        return sorted({*LOCAL, _bracketed(host)})
    name = socket.gethostname().lower()
    return sorted({*LOCAL, name, f"{name.split('.')[0]}.local", *map(_bracketed, _addresses(name))})


def shown_host(host: str) -> str:
    """The host of the address to tell others."""
    return _bracketed(_outward() or LOCAL[0]) if _is_every(host) else _bracketed(host)


def _is_every(host: str) -> bool:
    """Whether it means every address of the machine."""
    try:
        return ipaddress.ip_address(host).is_unspecified
    except ValueError:
        return False


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _outward() -> str | None:
    """The address with which this machine goes into its network; None where it is in none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(_SOMEWHERE_ELSE)
            return str(probe.getsockname()[0])
    except OSError:
        return None


def _addresses(name: str) -> set[str]:
    found = {_outward()}
    with suppress(OSError):  # a machine that does not know its own name still has the address above
        found |= {str(entry[4][0]).split("%")[0] for entry in socket.getaddrinfo(name, None)}
    return {address for address in found if address}
