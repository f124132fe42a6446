"""Values as books print them, read by `notation`. The source stands beside each row."""

from datetime import date

import pytest

from setwright.notation import parse_date, parse_part_value, parse_quantity

# (as printed, value, relative tolerance, source)
WITH_TOLERANCE = [
    ("6200 pF +-5 %", 6.2e-9, 0.05, "Grob, Basic Electronics, 11th ed., example 16-9"),
    ("56000 pF +-5 %", 5.6e-8, 0.05, "Grob, Basic Electronics, 11th ed., example 16-7a"),
    ("0.047 uF +80 -20 %", 4.7e-8, 0.80, "Grob, Basic Electronics, 11th ed., example 16-8; the wider side counts"),
    ("47 uF, 35 V, +-10 %", 4.7e-5, 0.10, "Grob, Basic Electronics, 11th ed., example 16-10"),
    ("5800 ohm +-20 %", 5800.0, 0.20, "amateur-handbook style chart of body-end-dot marking: green, grey, red, plain"),
    ("1000 pF, 100 V dc, +-10 %", 1e-9, 0.10, "film-capacitor catalogue sheets: 2A102K"),
    ("4.7 pF +-0.25 pF", 4.7e-12, 0.25 / 4.7, "Grob, Basic Electronics, 11th ed., example 16-7b (film code 479C)"),
]

# IEC 60063 (2015 edition of the preferred number series): series, usual tolerance in per cent, significant figures
PREFERRED = [
    ("E6", 20, "10 15 22 33 47 68"),
    ("E12", 10, "10 12 15 18 22 27 33 39 47 56 68 82"),
    ("E24", 5, "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"),
]


def test_two_printed_forms_of_one_value():
    # component code page, RMA mica three-dot marking red green black: "25 pF (0.000025 uF)"
    assert parse_quantity("25 pF") == parse_quantity("0.000025 uF")


@pytest.mark.parametrize(("printed", "value", "tolerance", "source"), WITH_TOLERANCE)
def test_printed_value_with_tolerance(printed, value, tolerance, source):
    part = parse_part_value(printed)
    assert part.value == value, source
    assert part.tolerance == pytest.approx(tolerance, rel=1e-8), source


def test_the_limits_of_a_47_kilohm_resistor_are_those_printed():
    # teaching page on four-band resistors: yellow violet orange silver, 47 kohm +-10 %, "42.3 to 51.7 k"
    part = parse_part_value("47 kohm +-10 %")
    low, high = part.value * (1 - part.tolerance), part.value * (1 + part.tolerance)
    assert low == pytest.approx(parse_quantity("42.3 k").value, rel=1e-12)
    assert high == pytest.approx(parse_quantity("51.7 k").value, rel=1e-12)


@pytest.mark.parametrize(("series", "percent", "figures"), PREFERRED)
def test_every_preferred_value_reads_alike_in_kilohms_ohms_and_by_the_letter(series, percent, figures):
    for figure in figures.split():
        ohms = int(figure) * 100
        written = {f"{ohms / 1000:g}k", f"{ohms:,} ohms", f"{figure[0]}k{figure[1]}", f"{ohms / 1e6:g} meg"}
        assert {parse_part_value(f"{text} {percent}%", "ohm").value for text in written} == {float(ohms)}, series


def test_weeks_as_iso_8601_counts_them():
    # ISO 8601, week date examples, from memory: 2008-12-29 is the Monday of 2009-W01, 2010-01-03 the Sunday of 2009-W53
    assert parse_date("2009-W01").first == date(2008, 12, 29)
    assert parse_date("2009-W53").last == date(2010, 1, 3)


def test_the_worked_date_code_week_touches_the_iso_week():
    # ECIA page on EIA source codes: code 9910 is week 10 of 1999, 7 to 13 March. EIA weeks begin on Sunday, ISO weeks
    # on Monday, so the ISO week of the same number stands one day later.
    week = parse_date("1999-W10")
    assert (week.first - date(1999, 3, 7)).days == 1
    assert (week.last - date(1999, 3, 13)).days == 1


@pytest.mark.parametrize("year", range(1900, 2001))
def test_a_year_has_53_weeks_only_by_the_rule_of_iso_8601(year):
    # ISO 8601 (from memory): the long years are those that begin or end on a Thursday.
    long_year = 3 in (date(year, 1, 1).weekday(), date(year, 12, 31).weekday())
    if long_year:
        assert parse_date(f"{year}-W53").last >= date(year, 12, 31)
    else:
        with pytest.raises(ValueError, match=f"{year} has 52 weeks"):
            parse_date(f"{year}-W53")
