"""Values with their ratings, as parts lists write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.notation import NotationError, PartValue, format_part_value, parse_part_value, read_part_value


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (".02 mfd 600 V", PartValue(2e-8, "F", None, 600, None)),
        (".02 MFD. 600 volts", PartValue(2e-8, "F", None, 600, None)),
        (".05/400", PartValue(5e-8, "F", None, 400, None)),
        (".05 mfd/400 V", PartValue(5e-8, "F", None, 400, None)),
        (".05-400", PartValue(5e-8, "F", None, 400, None)),
        ("20 mfd, 450 W.V.", PartValue(2e-5, "F", None, 450, None)),
        ("20 mfd,450 V", PartValue(2e-5, "F", None, 450, None)),
        ("20 mfd @ 450 volts", PartValue(2e-5, "F", None, 450, None)),
        ("20 mfd at 450 v", PartValue(2e-5, "F", None, 450, None)),
        (",05 mfd 400 V", PartValue(5e-8, "F", None, 400, None)),
        ("470k 1/2 W 10%", PartValue(470e3, "ohm", 0.1, None, 0.5)),
        ("470K 1/2", PartValue(470e3, "ohm", None, None, 0.5)),
        ("10% 470,000 ohms ½ watt", PartValue(470e3, "ohm", 0.1, None, 0.5)),
        ("1 meg ±20 %", PartValue(1e6, "ohm", 0.2, None, None)),
        ("1 meg 20 per cent 1/2 watt", PartValue(1e6, "ohm", 0.2, None, 0.5)),
        ("100 mmf +/- 5 mmf", PartValue(1e-10, "F", 0.05, None, None)),
        (".047 uF +80 -20% 50 V", PartValue(4.7e-8, "F", 0.8, 50, None)),
        ("1/2 mfd 100 V", PartValue(5e-7, "F", None, 100, None)),
        ("10 H", PartValue(10, "H", None, None, None)),
        ("10 W", PartValue(10, "W", None, None, None)),
        ("500 ohms 10 watts", PartValue(500, "ohm", None, None, 10)),
    ],
)
def test_values_with_ratings(text, expected):
    assert parse_part_value(text) == expected


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("470k carbon", None, '"carbon" is neither a value nor a rating'),
        ("470M 1/2 W", None, "two ways"),
        ("20-20 mfd 150 V", None, "2 sections"),
        ("40/30/20 mfd", None, "3 sections"),
        ("470k .05 mfd", None, "two values"),
        (".05 mfd 400 V 600 V", None, "more than one rating"),
        ("20/450", "F", ".05 mfd 400 V"),
        ("20 450 V", "F", '"20 mfd" or "20 mmf"'),
        ("600 V", "F", "capacitance (F) belongs"),
        ("paper", "F", "is not a capacitance"),
        ("100 mmf +-5 k", None, "tolerance is not in the unit"),
    ],
)
def test_what_is_not_understood_is_named(text, unit, words):
    with pytest.raises(NotationError) as refused:
        parse_part_value(text, unit)
    assert words in refused.value.message


def test_m_means_thousand_reaches_values_with_ratings():
    assert parse_part_value("470M 1/2 W", m_means_thousand=True) == PartValue(470e3, "ohm", None, None, 0.5)


def test_a_bare_number_is_the_value_where_the_unit_is_known():
    assert parse_part_value("470 1/2 W", "ohm") == PartValue(470, "ohm", None, None, 0.5)
    assert parse_part_value(".05 400 V", "F") == PartValue(5e-8, "F", None, 400, None)
    assert parse_part_value("4k7 1/2 W", "ohm") == PartValue(4700, "ohm", None, None, 0.5)


def test_words_around_the_value_are_kept():
    assert read_part_value(".05/400 paper").part == PartValue(5e-8, "F", None, 400, None)
    read = read_part_value("tubular paper, .05 mfd 400 volts, screen bypass", "F")
    assert read.part == PartValue(5e-8, "F", None, 400, None)
    assert (read.value_text, read.rest) == (".05 mfd", "tubular paper screen bypass")


def test_a_bare_number_behind_a_word_is_no_value():
    read = read_part_value("see note 3", "ohm")
    assert read.part is None
    assert read.rest == "see note 3"


@pytest.mark.parametrize("text", ["6K7 r-f amplifier", "12SA7", "output transformer", "5R4", "part 50-1141"])
def test_tube_types_and_part_numbers_are_no_values(text):
    read = read_part_value(text)
    assert read.part is None
    assert read.rest == text


@pytest.mark.parametrize(
    ("text", "unit", "suggestion"), [("470 kohn 1/2 W", "ohm", "kohm"), (".05 mdf 400 V", "F", "mfd")]
)
def test_a_misspelt_unit_is_not_passed_over(text, unit, suggestion):
    with pytest.raises(NotationError) as refused:
        read_part_value(text, unit)
    assert refused.value.suggestion is not None
    assert refused.value.suggestion.endswith(suggestion)


def test_resistance_and_current_of_a_choke_stand_beside_its_value():
    read = read_part_value("filter choke 10 H 100 ma 320 ohms", "H")
    assert read.part == PartValue(10, "H")
    assert read.rest == "filter choke 100 ma 320 ohms"


def test_sections_of_a_can_are_read_one_by_one():
    read = read_part_value("40-20 mfd 150 V electrolytic", "F")
    assert read.sections == (4e-5, 2e-5)
    assert read.part == PartValue(4e-5, "F", None, 150, None)
    assert (read.value_text, read.rest) == ("40-20 mfd", "electrolytic")


percent = st.integers(1, 99).map(lambda value: value / 100)
parts = st.builds(
    PartValue,
    st.sampled_from((2e-8, 4.7e-9, 5e-10, 2e-5, 1e-12)),
    st.just("F"),
    st.none() | percent,
    st.none() | st.integers(1, 9000).map(float),
    st.none(),
) | st.builds(
    PartValue,
    st.integers(1, 10**8).map(float),
    st.just("ohm"),
    st.none() | percent,
    st.none(),
    st.none() | st.sampled_from((0.125, 0.25, 0.5, 1.0, 2.0, 10.0)),
)


@given(parts, st.booleans())
def test_written_out_and_read_back_is_the_same_part(part, period):
    assert parse_part_value(format_part_value(part, period)) == part


TRADE_CHARACTERS = "0123456789.,/-+@ ½µΩ%kKmMfdDFegohmsvVwWuRnpat±"


@given(st.text(alphabet=TRADE_CHARACTERS, max_size=24), st.sampled_from((None, "F", "ohm")))
def test_any_text_is_read_or_refused(text, unit):
    try:
        read = read_part_value(text, unit)
    except NotationError:
        return
    assert read.part is None or read.part.value > 0
