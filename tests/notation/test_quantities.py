"""Quantities as the trade writes them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.notation import NotationError, format_modern, format_period, parse_quantity

UNITS = ("F", "ohm", "V", "A", "H", "W", "Hz")
values = st.floats(min_value=1e-14, max_value=1e11, allow_nan=False).filter(lambda value: value > 0)

READ_AS = {
    "F": {
        2e-8: [".02 mfd", "0.02 MFD", "20 nF", ".02 mf", "0.02 µF", "0.02 μF", "20,000 mmf", "0,02 uF", "·02 mfd"],
        4.7e-9: ["0.0047 uF", "4.7 nF", "4n7", "4700 pF", "4,700 mmfd", "0,0047 uF"],
        5e-10: ["500 mmf", "500 mmfd", "500uuf", "500 µµF", "500 pf", "500 M.M.F.", "500 micro-micro-farads", ".0005"],
        2e-5: ["20 mfd", "20 MF", "20 mf.", "20 M.F.D.", "20 microfarads", "20u"],
        5e-7: ["1/2 mfd", "½ mfd", ".5 mfd"],
        5e-8: [",05 mfd", ".05 mfd,", ".05"],
    },
    "ohm": {
        470e3: ["470k", "470 K", "470,000 ohms", "470000", "470 kΩ", "470 k. ohms", ".47 meg", "470 kilohms"],
        2.2e6: ["2.2 meg", "2.2 MEG", "2.2 megohms", "2.2 MΩ", "2M2", "2,200,000 ohms"],
        250e3: ["1/4 meg", ".25 meg", "¼ meg."],
        4.7: ["4.7 ohms", "4R7", "4,7 Ω"],
        4700.0: ["4k7", "4,7k", "4700", "4,700 ohms", "4\u202f700 Ω"],
    },
    "W": {
        10.0: ["10 W", "10-watt", "10 watts", "10"],
        0.5: ["1/2 W", "½ W", ".5 watt", "500 mW"],
        1.5: ["1½ W", "1 1/2 W"],
    },
    "H": {10.0: ["10 H", "10 henries", "10 hy."], 2.5e-3: ["2.5 mh", "2.5 MH", "2.5 m"], 30e-6: ["30 uH", "30 u"]},
    "A": {0.15: ["150 ma", "150 MA", "150 mils", ".15 amp", "150 m"]},
    "V": {6000.0: ["6 kv", "6,000 volts", "6k"], 600.0: ["600 V", "600 W.V.", "600 VDCW", "600 d-c working volts"]},
    "Hz": {
        455e3: ["455 kc", "455 KC.", "455 kc/s", "455 kHz"],
        1.5e6: ["1,500 kc", "1.5 mc"],
        60.0: ["60 cycles", "60 c/s"],
    },
}
ROWS = [(unit, value, text) for unit, rows in READ_AS.items() for value, texts in rows.items() for text in texts]


@pytest.mark.parametrize(("unit", "value", "text"), ROWS)
def test_written_the_way_the_trade_writes_it(unit, value, text):
    quantity = parse_quantity(text, unit)
    assert (quantity.value, quantity.unit) == (value, unit)


@pytest.mark.parametrize(("unit", "value", "text"), [row for row in ROWS if row[2][-1].isalpha() and len(row[2]) > 5])
def test_unit_is_taken_from_the_text_where_none_is_asked_for(unit, value, text):
    assert parse_quantity(text).unit == unit


@pytest.mark.parametrize("text", ["470M", "470 M", "470m", "470 M ohms", "470Mohm"])
def test_m_is_thousand_or_million_and_so_refused_with_both_readings(text):
    for unit in (None, "ohm"):
        with pytest.raises(NotationError) as refused:
            parse_quantity(text, unit)
        assert "470,000 ohms" in refused.value.message
        assert "470 megohms" in refused.value.message
        assert refused.value.suggestion == "470k"
    assert parse_quantity(text, "ohm", m_means_thousand=True).value == 470_000
    assert parse_quantity(text, m_means_thousand=True).unit == "ohm"


@pytest.mark.parametrize("text", ["2.2 meg", "2.2 MEG", "2.2 megohms"])
def test_meg_is_million_on_old_drawings_too(text):
    assert parse_quantity(text, m_means_thousand=True).value == 2.2e6


@pytest.mark.parametrize("text", ["2.2 MΩ", "2M2"])
def test_modern_m_is_refused_where_m_means_thousand(text):
    assert parse_quantity(text).value == 2.2e6
    with pytest.raises(NotationError, match="two ways"):
        parse_quantity(text, m_means_thousand=True)


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("", None, "nothing is written"),
        ("20", "F", '"20 mfd" or "20 mmf"'),
        ("1e-8", "F", "no unit"),
        ("20 M", "F", '"20 mfd" or "20 mmf"'),
        ("10 M", "Hz", "not clear"),
        ("470k", "F", "is a resistance (ohm); here a capacitance (F) belongs"),
        ("20", None, "no unit"),
        ("-3 V", None, "negative"),
        ("0 ohm", None, '"absent"'),
        ("1e99 F", None, "far outside"),
        ("20-20 mfd", None, "its own reference"),
        ("20/450", None, "not a fraction"),
        ("4,700 k", None, "4700 k"),
        ("4,7000 ohms", None, "write 4.7000"),
        ("1.000,5 ohms", None, "1000.5"),
        ("0,000,500 uF", None, "two commas"),
        ("12 furlongs", None, "not a unit known here"),
        ("5 V", "volt", "the units are F, ohm"),
        ("9" * 300, "ohm", "characters long"),
        (".05 mfd paper", None, "not a unit"),
        ("20 mfd+", None, "is not a unit"),
    ],
)
def test_what_cannot_be_read_says_what_would_be_right(text, unit, words):
    with pytest.raises(NotationError) as refused:
        parse_quantity(text, unit)
    assert words in refused.value.message


def test_a_near_miss_of_a_unit_is_named():
    with pytest.raises(NotationError) as refused:
        parse_quantity("20 mdf")
    assert refused.value.suggestion == "20 mfd"


def test_thousands_of_kilohms_could_be_decimal_but_thousands_of_kilocycles_are_usual():
    with pytest.raises(NotationError, match=r"1\.500 k"):
        parse_quantity("1,500 k")
    assert parse_quantity("1,500 kc").value == 1.5e6


@given(values, st.sampled_from(UNITS))
def test_written_out_and_read_back_is_the_same_value(value, unit):
    for write in (format_modern, format_period):
        read = parse_quantity(write(value, unit))
        assert (read.value, read.unit) == (value, unit)
        assert parse_quantity(write(value, unit), unit) == read


@given(st.text(max_size=30), st.sampled_from((None, *UNITS)), st.booleans())
def test_any_text_is_a_quantity_or_refused(text, unit, thousand):
    try:
        quantity = parse_quantity(text, unit, m_means_thousand=thousand)
    except NotationError:
        return
    assert quantity.value > 0


@given(st.text(alphabet="0123456789.,/-+ ½µΩ%kKmMfFegohmsvVwWuRnp±", max_size=16), st.sampled_from((None, *UNITS)))
def test_text_of_the_trades_characters_is_a_quantity_or_refused(text, unit):
    try:
        quantity = parse_quantity(text, unit)
    except NotationError:
        return
    assert parse_quantity(format_modern(quantity.value, quantity.unit)) == quantity
