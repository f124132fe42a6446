"""Currents of tubes and their slopes, for arrays of tubes and variants at once.

All functions take voltages against the cathode in volts, arrays of one shape (or shapes that broadcast), and return
currents in amperes with their derivatives in siemens. They are smooth but for the plate's corner at nought volts.
Valid from rest to somewhat beyond a tube's ratings; not for secondary emission, saturation or grids driven by tens
of volts.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

FOOT_VOLTS = 10.0
"""How low the electrode's voltage must be for the widening of its foot to stop growing, in V (`space_current`).

Of 3, 10, 30 and 100 V the one by which charts at other supply voltages were met best.
"""


def soft_power(v: Values, perveance: Any, contact: Any, softness: Any) -> tuple[Values, Values]:
    """Three-halves-power law with a rounded foot: P·(s·ln(1+exp((v+c)/s)))^1.5, and its slope.

    perveance : P in A/V^1.5. contact : c in V, by which it conducts before nought. softness : s in V; far below the
    bend one e-fold takes two thirds of s, as the speeds of emitted electrons have it.

    >>> i, g = soft_power(np.array([-5.0, 4.0]), 1e-3, 0.0, 0.1)
    >>> bool(i[0] < 1e-20), round(float(i[1]), 6)
    (True, 0.008)
    """
    x = (v + contact) / softness
    root = softness * np.logaddexp(0.0, x)
    current = perveance * root * np.sqrt(root)
    slope = 1.5 * perveance * np.sqrt(root) * logistic(x)
    return current, slope


def child_law(v: Values, perveance: Any) -> tuple[Values, Values]:
    """A rectifier's plate: P·v^1.5 for v above nought, nothing below, and its slope (Child 1911)."""
    root = np.sqrt(np.maximum(v, 0.0))
    return perveance * root**3, 1.5 * perveance * root


class TriodeParameters(NamedTuple):
    """Parameters of `triode`: mu and ex have no unit, kg1 scales 1/A, kp scales the foot, kvb is in V², vct in V.

    foot : in V; at ten volts less than that the foot is twice as wide as in proportion to the voltage.
    """

    mu: Any
    ex: Any
    kg1: Any
    kp: Any
    kvb: Any
    vct: Any
    foot: Any


class PentodeParameters(NamedTuple):
    """Parameters of `pentode`: those of the triode that screen and cathode form, and how plate and screen share.

    share : of the cathode's current that the plate takes at high plate voltage. knee : in V, where it takes half of
    that. pull : how much a volt on the plate counts against one on the screen.
    """

    mu: Any
    ex: Any
    kg1: Any
    kp: Any
    kvb: Any
    vct: Any
    foot: Any
    share: Any
    knee: Any
    pull: Any


def space_current(p: Any, u: Values, vg: Values) -> tuple[Values, Values, Values]:
    """Current drawn by an electrode at `u` volts behind a grid at `vg`, and its slopes along u and vg.

    I = 2·E^ex / kg1,  E = (w·u/kp)·ln(1 + exp((kp/w)·(1/mu + (vg + vct)/sqrt(kvb + u²)))),  w = 1 + foot/(u + 10 V);
    nothing for u below nought.

    Form published by N. Koren, Glass Audio 8(5), 1996, with w = 1: the foot is then as wide as u/kp. Printed charts of
    stages at a tenth of a milliampere need it wider where u is some tens of volts, which w makes it; w is our own.
    With kvb, a cut-off triode's some ten nanoamperes fall by a few as its plate rises towards ten volts.
    """
    plus = np.maximum(u, 0.0)
    squared = p.kvb + plus * plus
    root = np.sqrt(squared)
    drive = (vg + p.vct) / root
    near = 1.0 / (plus + FOOT_VOLTS)
    wide = 1.0 + p.foot * near
    x = p.kp * (1.0 / p.mu + drive) / wide
    bend = np.logaddexp(0.0, x)
    raised = bend * wide / p.kp
    sigma = logistic(x)
    e = plus * raised
    # e^(ex-1) also gives the slope; what is nought stays nought without a warning.
    power = np.exp((p.ex - 1.0) * np.log(np.maximum(e, 1e-200)))
    current = (2.0 / p.kg1) * power * e
    steep = (2.0 * p.ex / p.kg1) * power
    by_grid = steep * plus * sigma / root
    narrows = p.foot * near * near * plus / p.kp
    by_u = raised - narrows * (bend - sigma * x) - sigma * drive * plus * plus / squared
    by_plate = np.where(u > 0.0, steep * by_u, 0.0)
    return current, by_plate, by_grid


def triode(p: TriodeParameters, vp: Values, vg: Values) -> tuple[Values, Values, Values]:
    """Plate current and its slopes along plate and grid: `space_current` of the plate."""
    return space_current(p, vp, vg)


class PentodeCurrents(NamedTuple):
    """Plate and screen current with their slopes along plate (p), screen (s) and control grid (g)."""

    plate: Values
    screen: Values
    plate_p: Values
    plate_s: Values
    plate_g: Values
    screen_p: Values
    screen_s: Values
    screen_g: Values


def pentode(p: PentodeParameters, vp: Values, vs: Values, vg: Values) -> PentodeCurrents:
    """Currents of a pentode or beam tube, its suppressor at the cathode.

    The cathode's current is `space_current` at u = vs + pull·vp; the plate takes share·(2/pi)·arctan(vp/knee) of it,
    the screen the rest. With screen and plate tied the sum is the triode's current.
    """
    plus = np.maximum(vp, 0.0)
    total, by_u, by_grid = space_current(p, vs + p.pull * plus, vg)
    by_plate, by_screen = by_u * p.pull * (vp > 0.0), by_u
    taken = p.share * (2.0 / np.pi) * np.arctan(plus / p.knee)
    more = np.where(vp > 0.0, p.share * (2.0 / np.pi) * p.knee / (p.knee**2 + plus * plus), 0.0)
    left = 1.0 - taken
    return PentodeCurrents(
        plate=total * taken,
        screen=total * left,
        plate_p=by_plate * taken + total * more,
        plate_s=by_screen * taken,
        plate_g=by_grid * taken,
        screen_p=by_plate * left - total * more,
        screen_s=by_screen * left,
        screen_g=by_grid * left,
    )


def logistic(x: Values) -> Values:
    """1/(1+exp(-x)) without overflow."""
    return 0.5 * (1.0 + np.tanh(0.5 * x))
