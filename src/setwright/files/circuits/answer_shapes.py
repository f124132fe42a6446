"""The shape of the machine-readable chart, for its JSON Schema. Further keys may be added to it."""

from __future__ import annotations

from typing import Literal

from setwright.files.answer_shapes import AnswerShape, Probability


class ExpectPinShape(AnswerShape):
    """An electrode on a node."""

    ref: str
    section: str | None
    electrode: str


class ExpectPointShape(AnswerShape):
    """One point of the chart, as the given meter would show it; value null where nothing conducts."""

    point: str
    reference: str
    quantity: Literal["volts", "ohms"]
    value: float | None
    low: float | None
    high: float | None
    level: Probability
    unit: Literal["V", "ohm"]
    unloaded: float | None = None
    meter: str | None = None
    pins: list[ExpectPinShape] = []


class ExpectTubeShape(AnswerShape):
    """One section at work; plate_volts against its own cathode, of a rectifier its mean drop while it conducts."""

    ref: str
    section: str | None
    plate_volts: float
    plate_amps: float
    screen_amps: float
    grid_amps: float
    dissipation_watts: float


class ExpectSupplyShape(AnswerShape):
    """One reservoir."""

    node: str
    volts: float
    ripple_volts_peak_to_peak: float
    peak_amps: float


class ExpectReadingShape(AnswerShape):
    """A measured or printed reading beside what is expected on its meter."""

    point: str
    measured: float
    expected: float | None
    low: float | None
    high: float | None
    z: float | None
    misfit: bool
    reason: str


class ExpectAnswerShape(AnswerShape):
    """The whole chart of one set in one state."""

    format: Literal["setwright-expect/1"]
    points: list[ExpectPointShape]
    tubes: list[ExpectTubeShape]
    supplies: list[ExpectSupplyShape]
    warnings: list[str]
    readings: list[ExpectReadingShape] = []
