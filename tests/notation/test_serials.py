"""Serials with illegible characters."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.notation import NotationError, SerialPattern, parse_serial, plain_prefix


@pytest.mark.parametrize(
    ("text", "prefix", "digits", "number"),
    [
        ("B 71?08", "B", "71?08", None),
        ("b-1204", "B", "1204", 1204),
        ("No. 12 04", "", "1204", 1204),
        ("Serial No. 55", "", "55", 55),
        ("#0012", "", "0012", 12),
        ("?71?08", "", "?71?08", None),
        ("?B708", "?B", "708", None),
        ("*", "", "*", None),
        ("B*?*8", "B", "?*8", None),
        ("11A/300", "11A", "300", 300),
    ],
)
def test_prefix_and_digits(text, prefix, digits, number):
    serial = parse_serial(text)
    assert (serial.prefix, serial.digits, serial.number) == (prefix, digits, number)
    assert serial.is_full == (number is not None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no serial"),
        (" - ", "no serial"),
        ("1204B", "ends in a letter"),
        ("12£4", '"£" cannot stand in a serial'),
        ("1" * 41, "at most 40"),
        ("1" * 16, "at most 15 digits"),
    ],
)
def test_what_is_no_serial_is_refused(text, words):
    with pytest.raises(NotationError) as refused:
        parse_serial(text)
    assert words in refused.value.message


def test_prefixes_in_plain_form():
    assert plain_prefix(" b-") == "B"
    assert plain_prefix("") == ""
    with pytest.raises(NotationError, match="cannot stand in the prefix"):
        plain_prefix("B?")


def fits_by_definition(serial: SerialPattern, prefix: str, number: int) -> bool:
    """The rule in plain words: some way of writing the number, with any leading zeros, fits character by character."""
    pattern = re.compile(str(serial).replace("?", ".").replace("*", ".*"))
    return any(pattern.fullmatch(f"{prefix}{number:0{width}}") for width in range(1, len(str(serial)) + 6))


serial_texts = st.text(alphabet="B0127?*", min_size=1, max_size=6).filter(lambda text: not text.endswith("B"))


@given(serial_texts, st.sampled_from(("", "B", "B1", "7", "BB")), st.integers(0, 300), st.integers(0, 1500))
def test_ranges_and_counts_are_those_of_the_definition(text, prefix, first, more):
    serial, last = parse_serial(text), first + more
    expected = [number for number in range(first, last + 1) if fits_by_definition(serial, prefix, number)]
    ranges = serial.matching_numbers(prefix, first, last)
    assert [number for low, high in ranges for number in range(low, high + 1)] == expected
    assert serial.count_matching(prefix, first, last) == len(expected)
    assert all(ranges[i][1] + 1 < ranges[i + 1][0] for i in range(len(ranges) - 1))


@given(serial_texts)
def test_plain_form_reads_back_as_itself(text):
    serial = parse_serial(text)
    assert parse_serial(str(serial)) == serial
    assert parse_serial(" ".join(text.lower())) == serial


@given(st.text(max_size=50))
def test_any_text_is_a_serial_or_refused(text):
    try:
        serial = parse_serial(text)
    except NotationError:
        return
    assert parse_serial(str(serial)) == serial


def test_leading_zeros():
    assert parse_serial("0012").matching_numbers("", 1, 100) == ((12, 12),)
    assert parse_serial("0?5").matching_numbers("", 1, 1000) == tuple((n, n) for n in range(5, 100, 10))
    assert parse_serial("?").matching_numbers("", 0, 1000) == ((0, 9),)
    assert parse_serial("000").matching_numbers("", 0, 5) == ((0, 0),)


def test_wildcards_in_the_prefix():
    assert parse_serial("?1204").matching_numbers("B", 1, 9999) == ((1204, 1204),)
    assert parse_serial("?1204").matching_numbers("", 1, 99999)[0] == (1204, 1204)
    assert parse_serial("?B12").matching_numbers("AB", 1, 99) == ((12, 12),)
    assert parse_serial("B12").matching_numbers("C", 1, 99) == ()


def test_among_a_thousand_million_numbers_only_the_ranges_are_visited():
    billion = 10**9
    assert parse_serial("*").matching_numbers("", 1, billion) == ((1, billion),)
    assert parse_serial("71?08????").matching_numbers("", 1, billion)[0] == (710_080_000, 710_089_999)
    assert parse_serial("7*8").count_matching("", 1, billion) == sum(10**k for k in range(8))
    with pytest.raises(NotationError, match="leave the serial out"):
        parse_serial("*8").matching_numbers("", 1, billion)
    assert parse_serial("*8").count_matching("", 1, billion) == billion // 10


def test_an_empty_range_fits_nothing():
    assert parse_serial("*").matching_numbers("", 10, 9) == ()
    assert parse_serial("*").count_matching("", 10, 9) == 0
