"""Values written out in the two ways."""

import pytest

from setwright.notation import NotationError, format_modern, format_period


@pytest.mark.parametrize(
    ("value", "unit", "modern", "period"),
    [
        (2e-8, "F", "20 nF", ".02 mfd"),
        (1e-9, "F", "1 nF", ".001 mfd"),
        (5e-10, "F", "500 pF", "500 mmf"),
        (2e-3, "F", "2000 µF", "2,000 mfd"),
        (470e3, "ohm", "470 kΩ", "470,000 ohms"),
        (500e3, "ohm", "500 kΩ", ".5 meg"),
        (250e3, "ohm", "250 kΩ", ".25 meg"),
        (2.2e6, "ohm", "2.2 MΩ", "2.2 meg"),
        (1.0, "ohm", "1 Ω", "1 ohm"),
        (4700.0, "ohm", "4.7 kΩ", "4,700 ohms"),
        (0.5, "W", "500 mW", "1/2 watt"),
        (10.0, "W", "10 W", "10 watts"),
        (10.0, "H", "10 H", "10 henries"),
        (0.15, "A", "150 mA", "150 ma"),
        (6300.0, "V", "6.3 kV", "6,300 volts"),
        (455e3, "Hz", "455 kHz", "455 kc"),
    ],
)
def test_both_ways(value, unit, modern, period):
    assert format_modern(value, unit) == modern
    assert format_period(value, unit) == period


def test_digits_round_and_carry():
    assert format_modern(47123.4, "ohm", digits=3) == "47.1 kΩ"
    assert format_modern(999.6, "ohm", digits=3) == "1 kΩ"
    assert format_period(19.96e-9, "F", digits=2) == ".02 mfd"


@pytest.mark.parametrize(("value", "unit"), [(1.0, "stone"), (float("nan"), "F"), (float("inf"), "ohm")])
def test_what_cannot_be_written_is_refused(value, unit):
    for write in (format_modern, format_period):
        with pytest.raises(NotationError):
            write(value, unit)
