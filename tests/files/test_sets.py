"""Set files: what the format says, sentence by sentence, and what is refused."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

from datetime import date

import pytest

from setwright.files import FileProblems, read_family, read_set
from setwright.files.dates import DateEvidence
from setwright.identity.model import Observation
from setwright.notation import parse_date


def observation(feature: str = "converter", more: str = 'state = "6SB7Y"') -> str:
    return f'[[observation]]\nfeature = "{feature}"\n{more}\n'


def evidence(kind: str, more: str) -> str:
    return f'[[date_evidence]]\nkind = "{kind}"\n{more}\n'


def with_blocks(family_text: str):
    blocks = (
        '[[serial_block]]\nprefix = "A"\nfirst = 1\nlast = 15000\n'
        '[[serial_block]]\nprefix = "X"\nline = "export"\nfirst = 1\nlast = 500\n'
    )
    return read_family((family_text + blocks).encode()).family


# What is read


def test_the_head_is_read(set_text, family):
    bench = read_set((set_text + 'line = "main"\nopen_to = "back off"').encode(), family).set
    assert (bench.id, bench.family, bench.serial, bench.line, bench.open_to) == (
        "bench-1",
        "heron-7",
        "41?08",
        "main",
        "back off",
    )


def test_serial_line_and_open_to_are_optional(family):
    bench = read_set(b'format = "setwright-set/1"\nid = "b"\nfamily = "heron-7"', family).set
    assert (bench.serial, bench.line, bench.open_to) == (None, None, "outside")


def test_an_empty_serial_or_line_is_none(family):
    bench = read_set(b'format = "setwright-set/1"\nid = "b"\nfamily = "heron-7"\nserial = ""\nline = ""', family).set
    assert (bench.serial, bench.line) == (None, None)


@pytest.mark.parametrize("serial", ["41108", "4 1?08", "41-1*", "*", "No. 41108", "0041108"])
def test_serials_with_illegible_characters(serial, set_text, family):
    assert read_set(set_text.replace("41?08", serial).encode(), family).set.serial == serial


def test_a_prefix_and_its_number_may_stand_apart(set_text, family_text):
    family = with_blocks(family_text)
    assert read_set(set_text.replace("41?08", "a 1204").encode(), family).set.serial == "a 1204"


def test_observation_defaults(set_text, family):
    (seen,) = read_set((set_text + observation()).encode(), family).set.observations
    assert seen == Observation("converter", "6SB7Y", written="6SB7Y")
    assert (seen.sure, seen.serviced, seen.cannot_tell, seen.drift) == ("certain", False, False, False)


def test_observation_keys(set_text, family):
    more = 'state = "6SB7Y"\nsure = "guess"\nserviced = true\nnote = "new\\nsocket"\nsource = "photo 3"'
    (seen,) = read_set((set_text + observation(more=more)).encode(), family).set.observations
    assert (seen.sure, seen.serviced, seen.note, seen.source) == ("guess", True, "new\nsocket", "photo 3")


def test_other_text(set_text, family):
    text = set_text + observation(more='state = "12SA7"') + observation(more='state = "other: 6BE-6"')
    states = [(seen.state, seen.written) for seen in read_set(text.encode(), family).set.observations]
    assert states == [("12SA7", "12SA7"), ("6BE-6", "other: 6BE-6")]


def test_a_value_is_marked_unless_it_says_measured(set_text, family):
    text = "".join(
        observation("tone-capacitor", f'state = "{state}"{how}')
        for state, how in [
            ("0.021 uF", ""),
            (".05 mfd", ""),
            (".05 mfd", '\nhow = "marked"'),
            (".05 mfd", '\nhow = "measured"'),
            (".021 mfd", '\nhow = "measured"'),
        ]
    )
    seen = read_set((set_text + text).encode(), family).set.observations
    assert [(s.state, s.drift) for s in seen] == [
        ("0.02 uF", False),
        (".05 mfd", False),
        (".05 mfd", False),
        (None, True),
        ("0.02 uF", False),
    ]
    assert seen[3].written == ".05 mfd"


def test_m_means_thousand_is_the_sets_own(set_text, family_text, set_problems):
    ohms = family_text.replace("0.02 uF", "470k").replace("0.0047 uF", "2.2 meg").replace('"F"', '"ohm"')
    family = read_family(ohms.encode()).family
    text = set_text + observation("tone-capacitor", 'state = "470M"')
    assert "can be read in two ways" in set_problems(text, family)[0]
    flagged = text.replace('id = "bench-1"', 'id = "bench-1"\nm_means_thousand = true')
    assert read_set(flagged.encode(), family).set.observations[0].state == "470k"


def test_cannot_tell_stands_instead_of_a_state(set_text, family):
    (seen,) = read_set((set_text + observation(more="cannot_tell = true")).encode(), family).set.observations
    assert (seen.state, seen.cannot_tell) == (None, True)


def test_a_serviced_item_needs_no_state(set_text, family):
    (seen,) = read_set((set_text + observation(more="serviced = true")).encode(), family).set.observations
    assert (seen.state, seen.serviced) == (None, True)


def test_of_two_observations_the_later_counts_and_both_are_kept(set_text, family):
    text = set_text + observation() + observation(more='state = "6BE6"')
    bench = read_set(text.encode(), family).set
    assert len(bench.observations) == 2
    assert bench.latest["converter"].state == "6BE6"


def test_date_evidence_is_kept(set_text, family):
    text = (
        evidence("stamp", 'date = "1948-08-17"')
        + evidence("part", 'code = "8?1"\nscheme = "year-week"\npart = "speaker"')
        + evidence("part", 'date = "1948-W31"\npart = "power transformer"')
        + evidence("document", 'date = "1949"')
    )
    kept = read_set((set_text + text).encode(), family).date_evidence
    assert kept == (
        DateEvidence("stamp", parse_date("1948-08-17")),
        DateEvidence("part", None, "8?1", "year-week", "speaker"),
        DateEvidence("part", parse_date("1948-W31"), part="power transformer"),
        DateEvidence("document", parse_date("1949")),
    )
    assert kept[3].date is not None
    assert kept[3].date.last == date(1949, 12, 31)


@pytest.mark.parametrize("scheme", ["year-week", "year2-week", "week-year", "year2-month", "month-day-year"])
def test_schemes(scheme, set_text, family):
    text = set_text + evidence("part", f'code = "831"\nscheme = "{scheme}"\npart = "speaker"')
    assert read_set(text.encode(), family).date_evidence[0].scheme == scheme


# What is refused

REFUSALS = {
    "another family": (lambda s: s.replace("heron-7", "heron-8"), 'line 3, key family: the set belongs to family "heron-8"'),
    "no family": (lambda s: s.replace('family = "heron-7"\n', ""), "the key family is missing"),
    "id of a folder": (lambda s: s.replace('"bench-1"', '".."'), 'key id: may hold the letters A to Z, digits, _ and -, dots (not first); ".." was given'),
    "nothing but remarks": (lambda s: "# later\n", 'the file is empty but for remarks; begin the file with format = "setwright-set/1"'),
    "no id": (lambda s: s.replace('id = "bench-1"\n', ""), "the key id is missing"),
    "serial outside": (lambda s: s.replace("41?08", "71?08"), 'line 4, key serial: no set of the family has the serial "71?08"; there are 1 to 60000.'),
    "no serial": (lambda s: s.replace("41?08", "41/!8"), '"!" cannot stand in a serial'),
    "unknown line": (lambda s: s + 'line = "mian"', 'line 5, key line: the family has no line "mian"; its lines are main'),
    "unknown access": (lambda s: s + 'open_to = "back of"', 'key open_to: must be outside, back off'),
    "unknown feature": (lambda s: s + observation("convertor"), 'observation 1 (feature "convertor"), key feature: the family has no feature "convertor". Did you mean "converter"?'),
    "no feature": (lambda s: s + '[[observation]]\nstate = "x"\n', "line 5, observation 1: the key feature is missing"),
    "no state": (lambda s: s + observation(more=""), 'line 5, observation 1 (feature "converter"): the key state is missing'),
    "state and cannot_tell": (lambda s: s + observation(more='state = "6BE6"\ncannot_tell = true'), "exclude each other"),
    "cannot_tell false": (lambda s: s + observation(more="cannot_tell = false"), "the key state is missing"),
    "near miss": (lambda s: s + observation(more='state = "6be6"'), 'key state: "6be6" is not a listed state but close to one'),
    "near miss by a space": (lambda s: s + observation(more='state = "6BE6 "'), 'Did you mean "6BE6"?'),
    "unknown sureness": (lambda s: s + observation(more='state = "6BE6"\nsure = "sure"'), "key sure: must be certain, likely or guess"),
    "how without a unit": (lambda s: s + observation(more='state = "6BE6"\nhow = "marked"'), "key how: only a value is marked or measured"),
    "unknown how": (lambda s: s + observation("tone-capacitor", 'state = ".02 mfd"\nhow = "read"'), "key how: must be marked or measured"),
    "a number for a state": (lambda s: s + observation("tone-capacitor", "state = 0.02"), 'must be text in quotes; 0.02 was given; write state = "0.02"'),
    "no value": (lambda s: s + observation("tone-capacitor", 'state = "0.02 apples"'), "key state: "),
    "kind of evidence": (lambda s: s + evidence("label", 'date = "1948"'), "date_evidence 1, key kind: must be stamp, part or document"),
    "no date": (lambda s: s + evidence("stamp", ""), "date_evidence 1: the date is missing"),
    "date and code": (lambda s: s + evidence("part", 'date = "1948"\ncode = "8"\npart = "speaker"'), "date and code exclude each other"),
    "code of a stamp": (lambda s: s + evidence("stamp", 'code = "831"'), 'code goes only with kind = "part"'),
    "part of a stamp": (lambda s: s + evidence("stamp", 'date = "1948"\npart = "speaker"'), 'part goes only with kind = "part"'),
    "no part": (lambda s: s + evidence("part", 'code = "831"'), "the key part is missing"),
    "a dot in a part": (lambda s: s + evidence("part", 'code = "831"\npart = "T1.a"'), "key part: must not hold a dot"),
    "scheme without code": (lambda s: s + evidence("part", 'date = "1948"\npart = "speaker"\nscheme = "year-week"'), "there is no code"),
    "misspelt scheme": (lambda s: s + evidence("part", 'code = "831"\npart = "speaker"\nscheme = "year-weak"'), 'Did you mean "year-week"?'),
    "garbled scheme": (lambda s: s + evidence("part", 'code = "831"\npart = "speaker"\nscheme = "YYWW"'), 'the scheme "YYWW" cannot be read'),
    "garbled code": (lambda s: s + evidence("part", 'code = "#831"\npart = "speaker"'), '"#831" is no date code'),
    "no such day": (lambda s: s + evidence("stamp", 'date = "1948-02-30"'), "key date: "),
    "unknown key": (lambda s: s + observation(more='state = "6BE6"\nsures = "likely"'), 'key sures: the key "sures" is not known here'),
    "unknown table": (lambda s: s + "[[observations]]\n", 'Did you mean "observation"?'),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSALS)
def test_refused(case, set_text, set_problems):
    change, expected = REFUSALS[case]
    problems = set_problems(change(set_text))
    assert any(expected in problem for problem in problems), problems
    assert len(problems) == 1, problems


def test_a_serial_of_another_line(set_text, family_text, set_problems):
    family = with_blocks(family_text)
    assert set_problems(set_text.replace("41?08", "X12"), family) == []
    (problem,) = set_problems(set_text.replace("41?08", "X12") + 'line = "main"', family)
    assert 'no set of the family has the serial "X12"; there are A1 to A15000' in problem


def test_a_block_is_cut_by_the_last_serial(set_text, family_text, set_problems):
    family = with_blocks(family_text.replace("last_serial = 60000", "last_serial = 9000"))
    assert set_problems(set_text.replace("41?08", "A9000"), family) == []
    assert "within first_serial and last_serial" in set_problems(set_text.replace("41?08", "A9001"), family)[0]


def test_all_problems_come_in_one_answer(set_text, set_problems):
    text = (
        set_text.replace("41?08", "99?99")
        + observation("convertor")
        + observation(more='state = "6be6"')
        + evidence("stamp", "")
    )
    problems = set_problems(text)
    assert [int(problem.split("line ")[1].split(",")[0].split(":")[0]) for problem in problems] == [4, 6, 10, 11]


def test_nothing_is_half_imported(set_text, family):
    with pytest.raises(FileProblems):
        read_set((set_text + observation() + observation("nothing")).encode(), family)
