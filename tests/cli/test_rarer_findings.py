"""`setwright identify` on a set with a marriage, a free feature, sisters and a misfit; and what it passes on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from setwright.identity.answer import Batch


def flat(text):
    return " ".join(text.split())


def part(output, heading):
    """What stands under one heading."""
    assert f"\n\n{heading}\n" in output, heading
    return output.split(f"\n\n{heading}\n", 1)[1].split("\n\n", 1)[0]


def test_a_feature_that_no_document_mentions(told):
    _, output, _ = told("identify")
    words = flat(part(output, "Features that no document mentions, learnt from survivors"))
    assert "Knob inserts changed from brass to painted 83 %" in words
    assert "side by side 16 %" in words


def test_a_group_that_does_not_belong(told):
    _, output, _ = told("identify")
    words = flat(part(output, "Groups that do not belong"))
    assert "cabinet 93 % 4900 4010 to 5930" in words
    assert "those of the set without the group" in words


def test_what_drives_the_misfit(told):
    _, output, _ = told("identify")
    words = flat(part(output, "The set as a whole"))
    assert "no documented history explains this set" in words
    assert "Grille cloth weave (basket, 11 decibans)" in words


def test_the_three_nearest_sisters(told):
    _, output, _ = told("identify")
    words = part(output, "Sets most like this one")
    assert [line.split()[0] for line in words.splitlines()[1:4]] == ["P-04", "P-05", "P-14"]
    assert "P-12" not in words
    assert "0.4 changes" in words
    assert "2 of 3 features" in words


def test_what_to_ask_another_owner(told):
    _, output, _ = told("identify")
    words = part(output, "What to ask the owners of other sets")
    assert "P-05" in words.splitlines()[1]
    assert "Dial glass lettering" in words.splitlines()[1]
    assert "0.31" in words.splitlines()[1]


@pytest.mark.parametrize(("used", "words"), [(False, "not used; --learned uses them"), (True, "used")])
def test_learnt_rates_beside_the_default_ones(told, full_answer, monkeypatch, used, words):
    answer = replace(full_answer, method=replace(full_answer.method, learned_rates=used))
    monkeypatch.setattr("setwright.identity.identify", lambda *values, **options: answer)
    _, output, _ = told("identify", *(["--learned"] if used else []))
    rates = flat(part(output, f"Alteration rates learnt from survivors ({words})"))
    assert "riveted 1.1 % (0.2 to 3.4 %, from 48 items); default 2.0 %" in rates
    assert "other families" not in rates
    notes = flat(output.rsplit("How this was computed", 1)[1])
    assert ("Rates of alteration were learnt from survivors" in notes) is used


def test_the_method_in_one_line(told):
    _, output, _ = told("identify")
    words = flat(output.rsplit("How this was computed", 1)[1])
    assert words.startswith("Weighted: 1,200 joint histories, 870 effective, seed 0;")


def test_what_is_open_now_comes_first_and_is_said(told, full_answer, monkeypatch):
    batches = tuple(
        Batch(access, (feature,), bits, 5.0, bits / 5.0, ())
        for access, feature, bits in (
            ("chassis out", "output-socket", 0.4),
            ("back off", "detector", 0.1),
            ("underside", "coupling", 0.001),
        )
    )
    answer = replace(full_answer, batches=batches)
    monkeypatch.setattr("setwright.identity.identify", lambda *values, **options: answer)
    _, output, _ = told("identify")
    steps = [line.strip() for line in output.splitlines() if line.startswith(("  1.", "  2.", "  3."))]
    assert steps == ["1. With the back off (open now): Detector tube.", "2. With the chassis out: Output tube socket."]


def test_options_reach_the_computation(told):
    told("identify", "--exact", "--learned", "--draws", "500", "--seed", "7")
    given = {name: told.options[name] for name in ("exact", "learned", "draws", "seed")}
    assert given == {"exact": True, "learned": True, "draws": 500, "seed": 7}
    told("identify")
    given = {name: told.options[name] for name in ("exact", "learned", "draws", "seed")}
    assert given == {"exact": False, "learned": False, "draws": None, "seed": 0}


@pytest.mark.parametrize("columns", [60, 80, 200])
def test_lines_keep_to_the_terminal(told, columns):
    _, output, _ = told("identify", columns=columns)
    assert max(map(len, output.splitlines())) <= min(columns, 100)


@pytest.mark.parametrize("draws", ["0", "-3", "some"])
def test_draws_that_cannot_be(told, draws):
    code, output, errors = told("identify", "--draws", draws)
    assert (code, output) == (2, "")
    assert "--draws" in errors
