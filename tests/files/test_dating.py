"""From files to what dating works on, and what dating and identity tell each other."""

from __future__ import annotations

import json

import jsonschema
import numpy as np
import pytest

from setwright.chronology import date_set, fit, leave_one_out
from setwright.demo import generate
from setwright.files import FileProblems, date_answer_as_json, read_family, read_set, read_survivors, schema
from setwright.files.dating import beliefs_of, cut_in_beliefs, dating_case, with_dated_cut_ins
from setwright.files.dating_answers import COLUMNS, date_answer_rows
from setwright.identity import identify

FAMILY = """
format = "setwright-family/1"
id = "finch-5"
name = "Finch 5 table set"
kind = "radio"
introduced = "1948-01"
discontinued = "1949-12"
first_serial = 1
last_serial = 20000
[[feature]]
id = "knob"
label = "Knob"
states = ["brown", "ivory"]
access = "outside"
permanence = "riveted"
[[version]]
id = "early"
states = { knob = "brown" }
[[version]]
id = "late"
states = { knob = "ivory" }
[[cutin]]
feature = "knob"
about = "1949-01"
"""
SET = 'format = "setwright-set/1"\nid = "bench"\nfamily = "finch-5"\n'
SURVIVORS = """id,serial,stamp_date,part_date.speaker,knob
a,1500,1948-W09,year-week:803,brown
b,5100,1948-W28,,brown
c,9000,1948-W48,year-week:840,
d,13000,1949-04-20,,
e,18800,1949-W46,year-week:938,ivory
f,?7000,1949,,ivory
g,,1948-W20,year-week:812,
h,6000,,,
"""


@pytest.fixture
def family():
    return read_family(FAMILY.encode()).family


@pytest.fixture
def register(family):
    return read_survivors(SURVIVORS.encode(), family)


def set_with(family, text=""):
    return read_set((SET + text).encode(), family)


def test_survivors_bring_their_places_and_dates(family, register):
    case = dating_case(family, set_with(family, 'serial = "10343"\n'), register)
    by_id = {one.id: one for one in case.survivors}
    assert set(by_id) == set("abcdefg")
    assert by_id["a"].position == ("main", 1500)
    assert [item.kind for item in by_id["a"].evidence] == ["stamp", "part"]
    assert by_id["a"].evidence[1].scheme == "year-week"
    assert {(place.first, place.last) for place in by_id["f"].places} == {(7000, 7000), (17_000, 17_000)}
    assert by_id["g"].places[0].last == 20_000
    assert case.bench.position == ("main", 10_343)
    assert case.serials == {"main": [1500, 5100, 9000, 13_000, 18_800, 6000]}
    (run,) = case.production.runs
    assert (run.first, run.last, run.first_documented, run.last_documented) == (1, 20_000, True, True)


def test_on_the_first_day_there_are_fractions_and_no_total(family):
    text = FAMILY.replace("first_serial = 1\nlast_serial = 20000\n", "").replace('about = "1949-01"', "after = 40")
    bare = read_family(text.encode()).family
    case = dating_case(bare, set_with(bare))
    assert case.production.runs[0].unit == "fraction of the run"
    answer = date_set(fit(case.production), case.bench)
    assert answer.production.median is None
    assert answer.date.low.year == 1948


def test_a_change_about_a_date_is_bounded_in_serials(family, register):
    case = dating_case(family, set_with(family), register)
    bounded = with_dated_cut_ins(family, fit(case.production, case.survivors))
    (bound,) = bounded.cut_in_bounds
    assert 5000 < bound.after < 10_500 < bound.before < 16_000
    answer = identify(bounded, set_with(family).set, register.survivors, exact=True)
    assert bound.after < answer.changes[0].cut_in.low


def test_features_date_a_set_whose_serial_is_gone(family, register):
    ivory = set_with(family, '[[observation]]\nfeature = "knob"\nstate = "ivory"\n')
    case = dating_case(family, ivory, register)
    fitted = fit(case.production, case.survivors)
    identity = identify(with_dated_cut_ins(family, fitted), ivory.set, register.survivors, exact=True)
    without, knowing = date_set(fitted, case.bench), date_set(fitted, case.bench, belief=beliefs_of(identity))
    assert knowing.date.median > without.date.median
    assert knowing.date.low.isoformat() > "1948-09"
    cut_ins = date_set(fitted, case.bench, cut_ins=cut_in_beliefs(identity)).cut_ins
    assert [cut_in.change for cut_in in cut_ins] == ["main:knob:1"]
    assert "1948-07" < cut_ins[0].date.median.isoformat() < "1949-08"


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ('feature = "knob"\nabout = "1949-13"', "months run from 01 to 12"),
        ('feature = "knob"', "or about (a date)"),
    ],
)
def test_cut_ins_about_no_date_are_refused(table, said):
    text = FAMILY.replace('feature = "knob"\nabout = "1949-01"', table)
    with pytest.raises(FileProblems, match=said.replace("(", r"\(").replace(")", r"\)")):
        read_family(text.encode())


def test_schemes_are_refused_with_their_fields(family):
    text = '[[date_evidence]]\nkind = "part"\npart = "speaker"\ncode = "48"\nscheme = "year-fortnight"\n'
    with pytest.raises(FileProblems, match='"fortnight" is no field of a date code'):
        set_with(family, text)


def test_the_answer_as_json_keeps_to_its_schema(family, register):
    text = '[[date_evidence]]\nkind = "part"\npart = "speaker"\ncode = "8?1"\nscheme = "year-week"\n'
    case = dating_case(family, set_with(family, text), register)
    fitted = fit(case.production, case.survivors, also=case.bench.evidence)
    answer = date_set(fitted, case.bench, family=family.id, serials=case.serials)
    trust = leave_one_out(fitted)
    made = json.loads(json.dumps(date_answer_as_json(answer, trust, drawing=True)))
    jsonschema.validate(made, schema("date-answer"))
    assert made["format"] == "setwright-date/1"
    assert set(made) >= {"date", "parts", "production", "warnings"}
    assert set(made["date"]) == {"low", "median", "high", "level"}
    assert set(made["production"]) >= {"low", "median", "high", "level", "unbiased_estimate"}
    assert sum(found["probability"] for found in made["parts"][0]["dates"]) == pytest.approx(1.0)
    assert np.sum(made["picture"]["mass"]) == pytest.approx(1.0)
    assert made["trust"]["sets"] == 6  # the set with an illegible figure has found its place
    rows = list(date_answer_rows(answer, trust))
    assert all(len(row) == len(COLUMNS) for row in rows)
    assert rows[0][:2] == ("date", "bench")


@pytest.mark.parametrize("number", [0, 1])
def test_the_demonstration_is_dated_and_the_truth_lies_in_the_range(number):
    part = generate(1951).families[number]
    for scenario in part.sets:
        set_file = read_set(scenario.file.encode(), part.family)
        register = read_survivors(part.survivors_file.encode(), part.family, bench=set_file.set)
        case = dating_case(part.family, set_file, register)
        fitted = fit(case.production, case.survivors, also=case.bench.evidence)
        answer = date_set(fitted, case.bench, serials=case.serials)
        assert answer.date.days < 300
        assert answer.production.low < answer.production.high
        run = case.production.run(scenario.truth.line)
        share = (scenario.truth.position - run.first) / (run.last - run.first)
        first, last = case.production.introduced.first, case.production.discontinued.last
        built = first + (last - first) * share
        assert answer.date.low <= built <= answer.date.high


def test_the_demonstration_shows_a_later_part_and_a_stamp_from_elsewhere():
    part = generate(1951).families[0]
    told = {}
    for scenario in part.sets:
        set_file = read_set(scenario.file.encode(), part.family)
        register = read_survivors(part.survivors_file.encode(), part.family, bench=set_file.set)
        case = dating_case(part.family, set_file, register)
        fitted = fit(case.production, case.survivors, also=case.bench.evidence)
        told[scenario.truth.id] = {found.kind: found.item for found in date_set(fitted, case.bench).findings}
    assert told == {"sedgewater-bench": {"part": "output-transformer"}, "sedgewater-swapped": {"stamp": ""}}
