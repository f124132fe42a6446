"""Readings files: what is read, and what every mistake is told."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from setwright.circuits import compare_chart, compare_readings
from setwright.files import FileProblems
from setwright.files.readings import read_readings

sys.path.insert(0, str(Path(__file__).parents[1] / "circuits"))
from drawings import two_stages

HEADER = "point,reference,quantity,value,unit,meter,condition,accuracy,resolution,line_volts\n"


def read(rows: str, header: str = HEADER):
    return read_readings((header + rows).encode(), two_stages(), "r.csv").readings


def test_a_reading_is_read_in_si() -> None:
    first, second = read("V2.cathode,chassis,volts,11900,mV,20k/V@50,on,3%,,120\nV1.grid,,ohms,9.8,meg,,off,,,\n")
    assert (first.value, first.meter.ohms, first.accuracy, first.line_volts) == (11.9, 1e6, 0.03, 120.0)
    assert (second.value, second.reference, second.condition) == (9.8e6, "chassis", "off")


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("V9.plate,,volts,1,V,10M,on,,,", "no point"),
        ("V2.cathode,,volt,1,V,10M,on,,,", 'Did you mean "volts"'),
        ("V2.cathode,,volts,x,V,10M,on,,,", "must be a number"),
        ("V2.cathode,,volts,12,ohms,10M,on,,,", "voltage"),
        ("V2.cathode,,volts,12,V,twenty,on,,,", "no meter known"),
        ("V2.cathode,,ohms,-5,ohms,,off,,,", "cannot be"),
        ("V2.cathode,,ohms,270,ohms,,on,,,", "unplugged"),
        ("V2.cathode,,volts,12,V,10M,off,,,", "say nothing"),
        ("V2.cathode,,volts,12,,10M,on,,,", "unit is missing"),
        ("V2.cathode,,volts,,V,10M,on,,,", "value is missing"),
        (",,volts,12,V,10M,on,,,", "point is missing"),
        ("V2.cathode,,volts,12,V,10M,on,,,2000", "at most 1000"),
    ],
)
def test_mistakes_are_told_with_their_row(row: str, told: str) -> None:
    with pytest.raises(FileProblems) as failure:
        read(row + "\n")
    assert told in str(failure.value)
    assert "row 2" in str(failure.value)


def test_an_unknown_column_is_told_with_the_nearest() -> None:
    with pytest.raises(FileProblems, match="point"):
        read("a,b\n", "pont,quantity,value,unit\n")


def test_readings_that_fit_and_one_that_does_not() -> None:
    rows = compare_readings(
        two_stages(),
        read(
            "V2.cathode,chassis,volts,12.1,V,10M,on,,,\nV2.cathode,chassis,volts,25,V,10M,on,,,\n"
            "V2.cathode,chassis,ohms,275,ohms,,off,,,\nV2.screen,V2.cathode,volts,235,V,20k/V@250,on,,,\n"
        ),
    )
    assert [row.misfit for row in rows] == [False, True, False, False]


def test_between_two_points_the_meter_lies_across_both() -> None:
    fine, coarse = compare_readings(
        two_stages(), read("V1.plate,V2.grid,volts,1,V,10M,on,,,\nV1.plate,V2.grid,volts,1,V,1k/V@250,on,,,\n")
    )
    assert coarse.expected < fine.expected - 10.0


def test_a_chart_made_at_another_line_is_told() -> None:
    at_100 = compare_readings(two_stages(), read("V2.plate,,volts,1,V,10M,on,,,100\nB+,,volts,1,V,10M,on,,,100\n"))
    values = [row.expected for row in at_100] + [0.0]
    cathode = compare_readings(two_stages(), read("V2.cathode,,volts,1,V,10M,on,,,100\n"))[0].expected
    rows = f"V2.plate,,volts,{values[0]:.1f},V,10M,on,0.01,,\nB+,,volts,{values[1]:.1f},V,10M,on,0.01,,\n"
    rows += f"V2.screen,,volts,{values[1]:.1f},V,10M,on,0.01,,\nV2.cathode,,volts,{cathode:.2f},V,10M,on,0.01,,\n"
    chart = compare_chart(two_stages(), read(rows))
    reasons = [row.reason for row in chart if row.comparison.misfit]
    assert len(reasons) >= 3
    assert all("line of about" in reason for reason in reasons)


def test_a_chart_of_another_meter_is_told() -> None:
    loaded = compare_readings(two_stages(), read("V1.plate,,volts,1,V,1k/V@250,on,,,\n"))[0].expected
    chart = compare_chart(two_stages(), read(f"V1.plate,,volts,{loaded:.0f},V,10M,on,,,\n"))
    assert "1k/V" in chart[0].reason or "misprint" in chart[0].reason
    assert chart[0].comparison.misfit
