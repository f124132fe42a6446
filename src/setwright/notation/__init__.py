"""Values, serials and dates as the trade writes them, read into plain values and written back."""

from setwright.notation.dates import DateInterval, parse_date
from setwright.notation.errors import NotationError
from setwright.notation.formats import format_modern, format_part_value, format_period
from setwright.notation.part_values import PartValue, ReadValue, parse_part_value, read_part_value
from setwright.notation.quantities import Quantity, parse_quantity
from setwright.notation.serials import SerialPattern, parse_serial, plain_prefix

__all__ = [
    "DateInterval",
    "NotationError",
    "PartValue",
    "Quantity",
    "ReadValue",
    "SerialPattern",
    "format_modern",
    "format_part_value",
    "format_period",
    "parse_date",
    "parse_part_value",
    "parse_quantity",
    "parse_serial",
    "plain_prefix",
    "read_part_value",
]
