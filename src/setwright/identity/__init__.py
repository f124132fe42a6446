"""Which version is this set, what has been altered, what to look at next."""

from setwright.identity.answer import Answer
from setwright.identity.assumptions import Assumptions
from setwright.identity.identify import identify
from setwright.identity.model import BenchSet, Family, ImpossibleHistory, Observation, Survivors, no_survivors
from setwright.identity.other_families import NothingLearnt, rates_of

__all__ = [
    "Answer",
    "Assumptions",
    "BenchSet",
    "Family",
    "ImpossibleHistory",
    "NothingLearnt",
    "Observation",
    "Survivors",
    "identify",
    "no_survivors",
    "rates_of",
]
