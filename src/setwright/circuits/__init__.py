"""What to measure in a set: its network, its tubes, its supplies, and what a meter shows at each point.

`expect` and `expect_cold` answer for a sound set. `compile_network`, `operate` and `solve` are what to build on where
variants of one circuit are wanted, thousands at a time.
"""

from setwright.circuits.answer import (
    Driver,
    Expectation,
    PointExpectation,
    StageFigure,
    SupplyExpectation,
    TimeConstant,
    TubeExpectation,
)
from setwright.circuits.compiling import compile_network
from setwright.circuits.drawing import Circuit, DrawnType, Fault, Part, SeenState, Tube, for_set
from setwright.circuits.expect import expect, expect_cold
from setwright.circuits.meters import Meter, parse_meter
from setwright.circuits.network import Network, Variants
from setwright.circuits.newton import solve
from setwright.circuits.operating import OperatingState, operate
from setwright.circuits.points import node_of
from setwright.circuits.problems import NoConvergence, UnknownPoint, UnsoundCircuit
from setwright.circuits.readings import ChartRow, Comparison, Reading, compare_chart, compare_readings

__all__ = [
    "ChartRow",
    "Circuit",
    "Comparison",
    "DrawnType",
    "Driver",
    "Expectation",
    "Fault",
    "Meter",
    "Network",
    "NoConvergence",
    "OperatingState",
    "Part",
    "PointExpectation",
    "Reading",
    "SeenState",
    "StageFigure",
    "SupplyExpectation",
    "TimeConstant",
    "Tube",
    "TubeExpectation",
    "UnknownPoint",
    "UnsoundCircuit",
    "Variants",
    "compare_chart",
    "compare_readings",
    "compile_network",
    "expect",
    "expect_cold",
    "for_set",
    "node_of",
    "operate",
    "parse_meter",
    "solve",
]
