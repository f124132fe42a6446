"""Productions and sets drawn at random, as the model has them: for calibration, benchmarks and demonstrations.

A production is one cut-in for every documented change and one history for every feature that no document mentions.
Sets are drawn from it in columns, so that a register of a million costs little: where each stands, which group of
its features came from another, what left the factory, what was altered, what was read, what of its serial is left.
"""

from setwright.identity.simulate.built import factory_states
from setwright.identity.simulate.free import CHANGES, MIXED, THROUGHOUT, FreeRun
from setwright.identity.simulate.known import bench_set_of, survivors_of
from setwright.identity.simulate.marriages import NOT_MARRIED, Marriages
from setwright.identity.simulate.production import Production, draw_production, draw_productions
from setwright.identity.simulate.reading import OTHER_STATE, Shown, observe
from setwright.identity.simulate.sets import DrawnSets, draw_sets
from setwright.identity.simulate.truth import true_entry
from setwright.identity.simulate.windows import draw_windows

__all__ = [
    "CHANGES",
    "MIXED",
    "NOT_MARRIED",
    "OTHER_STATE",
    "THROUGHOUT",
    "DrawnSets",
    "FreeRun",
    "Marriages",
    "Production",
    "Shown",
    "bench_set_of",
    "draw_production",
    "draw_productions",
    "draw_sets",
    "draw_windows",
    "factory_states",
    "observe",
    "survivors_of",
    "true_entry",
]
