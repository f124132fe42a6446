"""The model of each tube type: what it conducts, from which rows, and how well they are met."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from setwright.circuits.drawing import DrawnType
from setwright.circuits.tubes.equations import PentodeParameters, TriodeParameters
from setwright.circuits.tubes.fitting import fit_type, usable_points
from setwright.reference import (
    OperatingPoint,
    StoredFit,
    equivalent,
    operating_points,
    rectifier_laws,
    regulator,
    stored_fit,
    tube_assumption,
    tube_type,
)

DIODE_OF_COMBINATION = "6SQ7 (one diode)"
"""Where the small diodes beside a triode or pentode take their law from."""

_NOTHING_KNOWN = (
    "no published operation of the type {name} is in the tables; define it in a [[tube_type]] by its maker's points"
)
ELECTRODES = {
    "diode": ("plate", "cathode"),
    "regulator": ("plate", "cathode"),
    "triode": ("plate", "grid", "cathode"),
    "pentode": ("plate", "grid2", "grid1", "cathode"),
    "converter": ("plate", "grid2", "grid1", "grid3", "cathode"),
}
"""The electrodes each kind must have drawn; grid3 of a pentode may be left out, then it is at the cathode."""


@dataclass(frozen=True, slots=True)
class ConverterParameters:
    """Published oscillating currents of a converter, in A, and the screen volts they were published at."""

    plate_amps: float
    screen_amps: float
    screen_volts: float
    plate_volts: float


@dataclass(frozen=True, slots=True)
class TubeModel:
    """What one section conducts. kind : a key of ELECTRODES.

    rated_type : the type whose rows are used, where that is another. misfit : root-mean-square relative error of
    plate current over those rows; None for laws of one constant. proven : whether any row is not from memory.
    """

    type: str
    kind: str
    rated_type: str
    triode: TriodeParameters | None = None
    pentode: PentodeParameters | None = None
    converter: ConverterParameters | None = None
    perveance: float = 0.0
    contact_volts: float = 0.0
    softness_volts: float = 0.0
    regulated_volts: float = 0.0
    starting_volts: float = 0.0
    misfit: float | None = None
    proven: bool = True
    warm: bool = True


class UnknownTube(ValueError):
    """No model for a type or its section; the message says what there is."""


def sections_of(name: str) -> tuple[str, ...]:
    """The sections of a type of the tables: ("1", "2"), ("triode", "diode 1", "diode 2") or ("",).

    >>> sections_of("12AV6"), sections_of("6V6GT"), sections_of("5Y3GT")
    (('triode', 'diode 1', 'diode 2'), ('',), ('1', '2'))
    """
    known = tube_type(name)
    kind = known.kind if known is not None else ""
    if kind.startswith("duodiode-triode"):
        return ("triode", "diode 1", "diode 2")
    if kind.startswith("triode-pentode"):
        return ("triode", "pentode")
    if kind.startswith("diode-pentode"):
        return ("pentode", "diode")
    if kind.startswith(("twin", "diode duo")) or "full-wave" in kind or "two units" in kind:
        return ("1", "2")
    return ("",)


def model_of(name: str, section: str, drawn: tuple[DrawnType, ...] = ()) -> TubeModel:
    """The model of one section of a type, one that the drawing defines before one of the tables.

    Raises UnknownTube for a type nothing is known of, and for a section it does not have.
    """
    for own in drawn:
        if own.name == name:
            return _drawn_model(own)
    sections = sections_of(name)
    if tube_type(name) is None and not _has_rows(name):
        raise UnknownTube(_NOTHING_KNOWN.format(name=name))
    if section not in sections:
        if sections == ("",):
            raise UnknownTube(f"a {name} has one section only; leave section out")
        raise UnknownTube(f'a {name} has the sections {", ".join(sections)}; write section = "{sections[0]}"')
    return _table_model(name, section)


@cache
def _table_model(name: str, section: str) -> TubeModel:
    known, alias = tube_type(name), equivalent(name)
    kind = known.kind if known is not None else ""
    if section.startswith("diode") and "duo" not in kind.replace("duodiode", ""):
        return _diode(name, DIODE_OF_COMBINATION, signal=True)
    for rated in (name, *((alias.same_as,) if alias is not None else ())):
        if (tube := regulator(rated)) is not None:
            return TubeModel(
                name,
                "regulator",
                rated,
                regulated_volts=tube.volts,
                starting_volts=tube.starting_volts,
                proven=False,
                warm=False,
            )
        if rectifier_laws(rated):
            return _diode(name, rated, signal=kind.startswith("diode"))
        if (fit := stored_fit(rated)) is not None:
            return _fitted(name, rated, fit)
        rows = operating_points(rated)
        if "converter" in kind and rows:
            return _converter(name, rated, rows)
    raise UnknownTube(_NOTHING_KNOWN.format(name=name))


def _has_rows(name: str) -> bool:
    known = (regulator(name), stored_fit(name), equivalent(name))
    return bool(rectifier_laws(name)) or any(item is not None for item in known)


def _diode(name: str, rated: str, *, signal: bool) -> TubeModel:
    law = rectifier_laws(rated)[0]
    return TubeModel(
        name,
        "diode",
        rated,
        perveance=law.perveance,
        contact_volts=tube_assumption("diode-contact-volts") if signal else 0.0,
        softness_volts=tube_assumption("diode-softness-volts" if signal else "rectifier-softness-volts"),
        proven=law.evidence != "from memory",
    )


def _fitted(name: str, rated: str, fit: StoredFit) -> TubeModel:
    triode = TriodeParameters(**fit.parameters) if fit.form == "triode" else None
    return TubeModel(
        name,
        fit.form,
        rated,
        triode=triode,
        pentode=None if triode is not None else PentodeParameters(**fit.parameters),
        misfit=fit.misfit,
        proven=fit.remembered < fit.points,
    )


def _converter(name: str, rated: str, rows: tuple[OperatingPoint, ...]) -> TubeModel:
    row = next((r for r in rows if r.plate_amps and r.screen_amps and r.screen_volts and r.plate_volts), None)
    if row is None:
        raise UnknownTube(f"the rows of the converter {name} need plate and screen volts and both currents")
    assert row.plate_amps is not None
    assert row.screen_amps is not None
    assert row.screen_volts is not None
    assert row.plate_volts is not None
    published = ConverterParameters(row.plate_amps, row.screen_amps, row.screen_volts, row.plate_volts)
    return TubeModel(name, "converter", rated, converter=published, proven=not row.from_memory)


@cache
def _drawn_model(own: DrawnType) -> TubeModel:
    kind = "pentode" if own.kind == "beam" else own.kind
    first = next((r for r in own.points if r.plate_volts and r.plate_amps), None)
    if first is None:
        raise UnknownTube(f"the type {own.name} needs a point with plate_volts and plate_amps")
    assert first.plate_volts is not None
    assert first.plate_amps is not None
    if kind == "converter":
        return _converter(own.name, own.name, own.points)
    if kind == "regulator":
        return TubeModel(
            own.name,
            kind,
            own.name,
            regulated_volts=first.plate_volts,
            starting_volts=1.25 * first.plate_volts,
            warm=False,
        )
    if kind == "diode":
        softness = tube_assumption("rectifier-softness-volts")
        law = first.plate_amps / first.plate_volts**1.5
        return TubeModel(own.name, kind, own.name, perveance=law, softness_volts=softness)
    try:
        rows = usable_points(own.points)
    except ValueError:
        raise UnknownTube(f"the type {own.name} needs a point with plate current and grid_volts") from None
    if kind == "pentode" and not any(r.screen_volts and not r.triode_connected for r in rows):
        raise UnknownTube(f"the type {own.name} is a {own.kind} tube; its points need screen_volts")
    return _fitted(own.name, own.name, fit_type(own.name, rows))
