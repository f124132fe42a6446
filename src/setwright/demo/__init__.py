"""A demonstration with invented makers and models, made from a seed: documents, survivors, sets on the bench."""

from setwright.demo.scenario import (
    BenchTruth,
    DemoScenario,
    Elsewhere,
    FamilyScenario,
    SetScenario,
    everything,
    generate,
    write,
)

__all__ = [
    "BenchTruth",
    "DemoScenario",
    "Elsewhere",
    "FamilyScenario",
    "SetScenario",
    "everything",
    "generate",
    "write",
]
