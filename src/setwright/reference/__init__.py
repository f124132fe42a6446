"""Published tables, each row with its source and how far it was checked."""

from setwright.reference._part_codes import PartCodeScheme, misread_figures, part_code_schemes
from setwright.reference._rectifier_points import RectifierPoint, rectifier_points
from setwright.reference._safety import SafetyLimit, safety_limit
from setwright.reference._tube_points import (
    CoupledStage,
    CurvePoint,
    OperatingPoint,
    RectifierLaw,
    Regulator,
    StoredFit,
    coupled_stages,
    curve_points,
    operating_points,
    rectifier_laws,
    regulator,
    stored_fit,
    tube_assumption,
    types_with_points,
)
from setwright.reference._tubes import Equivalent, Pin, TubeType, equivalent, tube_type, tube_types

__all__ = [
    "CoupledStage",
    "CurvePoint",
    "Equivalent",
    "OperatingPoint",
    "PartCodeScheme",
    "Pin",
    "RectifierLaw",
    "RectifierPoint",
    "Regulator",
    "SafetyLimit",
    "StoredFit",
    "TubeType",
    "coupled_stages",
    "curve_points",
    "equivalent",
    "misread_figures",
    "operating_points",
    "part_code_schemes",
    "rectifier_laws",
    "rectifier_points",
    "regulator",
    "safety_limit",
    "stored_fit",
    "tube_assumption",
    "tube_type",
    "tube_types",
    "types_with_points",
]
