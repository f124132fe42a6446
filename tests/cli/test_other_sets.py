"""`setwright ask` and `setwright sisters`: letters to other owners, and this set beside others."""

from __future__ import annotations

from dataclasses import replace

import pytest

from setwright.identity.letter import letters


def flat(text):
    return " ".join(text.split())


def test_the_letter_goes_to_whoever_can_tell_most(told, plover, full_answer):
    family, bench, survivors = plover
    code, output, errors = told("ask")
    assert code == 0
    assert output == letters(family, bench, survivors, full_answer)[0].text()
    assert "listed as P-05" in output
    assert errors == "Others who could tell something (--of): P-04 (0.06 bits).\n"


def test_a_letter_about_one_set_and_how_far_it_may_be_open(told):
    code, output, errors = told("ask", "--of", "P-04")
    assert (code, errors) == (0, "")
    assert "1. Knob inserts: brass, painted, or something else?" in output
    assert "Coupling capacitor" not in output
    code, output, _ = told("ask", "--of", "P-04", "--open-to", "underside")
    assert "2. Coupling capacitor (C14)" in output
    assert "Only if the underside is open to view anyway" in flat(output)


def test_a_set_that_would_tell_nothing(told, full_answer, monkeypatch):
    code, output, errors = told("ask", "--of", "P-07")
    assert (code, output) == (1, "")
    assert errors.startswith("Nothing that could be seen of P-07 with a set no further open than back off")
    monkeypatch.setattr("setwright.identity.identify", lambda *a, **k: replace(full_answer, ask=()))
    code, output, errors = told("ask", "--open-to", "powered")
    assert (code, output) == (1, "")
    assert errors == "Nothing that could be seen of another set would tell much about tall-shelf.\n"


@pytest.mark.parametrize(("command", "option"), [("ask", "--of"), ("sisters", "--with")])
def test_a_set_that_is_not_there(told, command, option):
    code, output, errors = told(command, option, "P_04")
    assert (code, output) == (2, "")
    assert "there is no set 'P_04' among the survivors. Did you mean 'P-04'?" in flat(errors)


def test_a_letter_into_a_file(told, tmp_path):
    path = tmp_path / "letter.txt"
    assert told("ask", "--out", path)[:2] == (0, f"{path} is written.\n")
    assert path.read_text(encoding="utf-8").startswith("Subject: ")
    assert told("ask", "--out", path)[0] == 1


@pytest.mark.parametrize("command", ["ask", "sisters"])
def test_there_must_be_survivors(told, command):
    code, _, errors = told(command, survivors=False)
    assert code == 2
    assert "--survivors" in errors


def test_the_list_of_sisters(told):
    code, output, _ = told("sisters")
    assert code == 0
    assert [line.split()[0] for line in output.splitlines() if line.startswith("  P-")] == [
        "P-04",
        "P-05",
        "P-14",
        "P-12",
    ]
    assert "no change apart" not in output
    assert "Apart is the expected number of documented changes" in flat(output)


def test_the_line_is_compared_where_there_are_several(told, full_answer, monkeypatch):
    assert "same line" not in told("sisters")[1]
    other = replace(full_answer.axes[0], line="export", probability=0.0)
    several = replace(full_answer, axes=(*full_answer.axes, other))
    monkeypatch.setattr("setwright.identity.identify", lambda *a, **k: several)
    assert "same line" in told("identify")[1]


def test_a_comparison_with_one(told):
    code, output, _ = told("sisters", "--with", "P-04")
    assert code == 0
    assert "tall-shelf beside P-04" in output
    assert "0.4 changes apart" in output
    row = next(line for line in output.splitlines() if "Detector tube" in line)
    assert flat(row) == "Detector tube 12SQ7 12AV6 -7.5 5.6 times as bad"


def test_a_set_that_cannot_be_compared(told, full_answer, monkeypatch):
    code, output, errors = told("sisters", "--with", "P-07")
    assert (code, output) == (1, "")
    assert errors == (
        "P-07 is not among the sets nearest to tall-shelf, or shows nothing that could be compared with it.\n"
    )
    monkeypatch.setattr("setwright.identity.identify", lambda *a, **k: replace(full_answer, sisters=()))
    assert "No survivor shows anything that could be compared." in told("sisters")[1]
