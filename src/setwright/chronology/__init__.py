"""When was it built, which parts are later, how many were made.

`fit` dates a family's production from its survivors, `date_set` one set from that; `leave_one_out` says how far to
trust it. Time is counted in whole weeks, see `weeks`.
"""

from setwright.chronology.answer import DateAnswer, DateRange, HowMany, Trust
from setwright.chronology.codes import read_code
from setwright.chronology.dating import cut_in_range, date_set
from setwright.chronology.exchange import positions_by
from setwright.chronology.fit import Fitted, fit
from setwright.chronology.how_many import how_many_were_made, made_in_block
from setwright.chronology.model import (
    Assumptions,
    Block,
    DatedSet,
    Evidence,
    NothingDated,
    Place,
    PlaceBelief,
    Production,
    Run,
    usual_epochs,
)
from setwright.chronology.trust import leave_one_out

__all__ = [
    "Assumptions",
    "Block",
    "DateAnswer",
    "DateRange",
    "DatedSet",
    "Evidence",
    "Fitted",
    "HowMany",
    "NothingDated",
    "Place",
    "PlaceBelief",
    "Production",
    "Run",
    "Trust",
    "cut_in_range",
    "date_set",
    "fit",
    "how_many_were_made",
    "leave_one_out",
    "made_in_block",
    "positions_by",
    "read_code",
    "usual_epochs",
]
