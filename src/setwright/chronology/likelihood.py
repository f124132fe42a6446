"""What each piece of evidence says of the week in which a set was finished.

Every function gives a likelihood over the steps of a grid of weeks, nowhere nought: a stamp may be misread or belong to
another set, a part may be a later replacement.
"""

from __future__ import annotations

import numpy as np

from setwright.chronology.model import Assumptions, Evidence
from setwright.chronology.parts import reading_of
from setwright.chronology.weeks import Weeks


def says_something(evidence: Evidence, assumptions: Assumptions) -> bool:
    """Whether a piece of evidence can be read at all."""
    return evidence.kind != "part" or bool(reading_of(evidence, assumptions).dates)


def stamp_likelihood(evidence: Evidence, weeks: Weeks, assumptions: Assumptions) -> np.ndarray:
    """(count,) probability of a stamp's date by the week the set was finished; a wrong one may say any week."""
    assert evidence.date is not None
    inside = weeks.share_inside(evidence.date)
    days = (evidence.date.last - evidence.date.first).days + 1
    anywhere = days / (7.0 * weeks.step * weeks.count)
    # A date of one day is one of the week's seven; all the same to the weeks, so both are counted by what they cover.
    return np.asarray((1.0 - assumptions.wrong_stamp) * inside + assumptions.wrong_stamp * anywhere)


def document_likelihood(evidence: Evidence, weeks: Weeks, assumptions: Assumptions) -> np.ndarray:
    """(count,) likelihood of a document that names the set: it was finished by then, unless the document is wrong."""
    assert evidence.date is not None
    begun = weeks.edges[:-1] <= evidence.date.last.toordinal()
    return np.where(begun, 1.0, assumptions.wrong_stamp)


def scatter_kernel(weeks: Weeks, scatter_weeks: float) -> np.ndarray:
    """Probability that a set is finished so many steps before or after its number's turn; odd length, sums to 1.

    Two-sided geometric with the standard deviation given: variance 2 g / (1 - g)^2.
    """
    variance = (scatter_weeks / weeks.step) ** 2
    if variance <= 0.0:
        return np.ones(1)
    g = (1.0 + variance - np.sqrt(1.0 + 2.0 * variance)) / variance
    reach = min(int(np.ceil(np.log(1e-12) / np.log(g))), weeks.count - 1)
    kernel = g ** np.abs(np.arange(-reach, reach + 1))
    return np.asarray(kernel / kernel.sum())


def scattered(values: np.ndarray, kernel: np.ndarray) -> np.ndarray:
    """(count,) values moved by the scatter between a number's turn and the set's date, the same both ways."""
    if len(kernel) == 1:
        return values
    return np.maximum(np.convolve(values, kernel, mode="same"), 0.0)
