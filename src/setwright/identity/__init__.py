"""Which version is this set, what has been altered, what to look at next."""

from setwright.identity.answer import Answer
from setwright.identity.assumptions import Assumptions
from setwright.identity.identify import identify
from setwright.identity.model import BenchSet, Family, ImpossibleHistory, Observation, Survivors, no_survivors

__all__ = [
    "Answer",
    "Assumptions",
    "BenchSet",
    "Family",
    "ImpossibleHistory",
    "Observation",
    "Survivors",
    "identify",
    "no_survivors",
]
