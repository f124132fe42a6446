"""A tube's socket from below: pins clockwise from the key or the gap, with what stands on each."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from math import cos, pi, sin

from setwright.circuits.sockets import CAP, Socket, SocketPin
from setwright.reference import Base, tube_base
from setwright.workbench.pictures.text import fitted

WIDTH, BODY, RING, CAP_ROOM = 358.0, 78.0, 56.0, 64.0
_PIN, _THICK, _SMALL = 13.0, 16.0, 13.0


@dataclass(frozen=True, slots=True)
class PinMark:
    """One pin as drawn. lines : what stands beside it. state : "", "read", "here" or "free"."""

    number: str
    x: float
    y: float
    radius: float
    label_x: float
    label_y: float
    anchor: str
    lines: tuple[str, ...]
    state: str


@dataclass(frozen=True, slots=True)
class SocketPicture:
    """The picture. key : "key" in the middle, "gap" between first and last pin, or "" for bases with thick pins."""

    name: str
    identifier: str
    title: str
    description: str
    width: float
    height: float
    x: float
    y: float
    body: float
    key: str
    pins: tuple[PinMark, ...]
    cap: PinMark | None


def socket_picture(
    socket: Socket,
    words: Callable[[SocketPin], tuple[str, ...]],
    *,
    here: Collection[str] = (),
    read: Collection[str] = (),
) -> SocketPicture | None:
    """Draws a socket; None for a base that is not known.

    words : the lines beside a pin, the first its electrode. here : pins to be measured now. read : pins that were.
    """
    base = tube_base(socket.base)
    if base is None:
        return None
    cap = next((pin for pin in socket.pins if pin.number == CAP), None)
    top = CAP_ROOM if cap is not None else 0.0
    x, y = WIDTH / 2, top + BODY + 52.0
    numbered = [pin for pin in socket.pins if pin.number.isdecimal()]
    marks = tuple(_mark(base, pin, x, y, words(pin), _state(pin, here, read)) for pin in numbered)
    over = None
    if cap is not None:
        over = PinMark(CAP, x, 30.0, _THICK, x + 26.0, 26.0, "start", words(cap), _state(cap, here, read))
    told = "; ".join(f"{_named(pin)}: {' '.join(words(pin))}" for pin in socket.pins)
    return SocketPicture(
        name="socket",
        identifier="socket",
        title=f"{socket.ref}, {socket.type}: the socket seen from below",
        description=f"{socket.base} base, pins counted clockwise. {told}.",
        width=WIDTH,
        height=y + BODY + (24.0 if base.mark == "gap" else 44.0),
        x=x,
        y=y,
        body=BODY,
        key=base.mark,
        pins=marks,
        cap=over,
    )


def _named(pin: SocketPin) -> str:
    return "top cap" if pin.number == CAP else f"pin {pin.number}"


def _state(pin: SocketPin, here: Collection[str], read: Collection[str]) -> str:
    if pin.number in here:
        return "here"
    if pin.number in read:
        return "read"
    return "" if pin.role else "free"


def _turn(base: Base, number: int) -> float:
    """Angle of a pin, clockwise from the bottom, where key or gap are."""
    if base.mark == "gap":
        return 2.0 * pi * number / (base.pins + 1)
    return 2.0 * pi * (number - 0.5) / base.pins


def _mark(base: Base, pin: SocketPin, x: float, y: float, lines: tuple[str, ...], state: str) -> PinMark:
    turn = _turn(base, int(pin.number))
    left, down = -sin(turn), cos(turn)
    thick = pin.number in base.thick_pins
    reach = BODY + 10.0
    middle = abs(left) < 0.2
    label_x = x + reach * left
    room = WIDTH * 0.6 if middle else (label_x if left < 0 else WIDTH - label_x) - 2.0
    shown = tuple(fitted(line, _SMALL, room) for line in lines)
    block = 15.0 * (len(shown) - 1)
    label_y = y + reach * down + (4.5 if abs(down) < 0.9 else 10.0 if down > 0 else -block - 2.0)
    if abs(down) < 0.9:
        label_y -= block / 2 if abs(down) < 0.4 else (0.0 if down > 0 else block)
    return PinMark(
        number=pin.number,
        x=round(x + RING * left, 1),
        y=round(y + RING * down, 1),
        radius=_THICK if thick else _PIN,
        label_x=round(label_x, 1),
        label_y=round(label_y, 1),
        anchor="middle" if middle else "end" if left < 0 else "start",
        lines=shown,
        state=state,
    )
