"""Family files: what the format says, sentence by sentence, and what is refused."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import pytest

from setwright.files import FileProblems, read_family
from setwright.identity.model import CutInBound, Line, SerialBlock

MINIMAL = 'format = "setwright-family/1"\nid = "f"\nname = "F"\nkind = "radio"\n'
SECOND_LINE = '[[version]]\nid = "export-1"\nline = "export"\nbased_on = "early"\n'


def family_of(text: str):
    return read_family(text.encode()).family


def feature(name: str = "knob", more: str = "", states: str = '["red", "black"]') -> str:
    return f'[[feature]]\nid = "{name}"\naccess = "outside"\npermanence = "stamped"\nstates = {states}\n{more}\n'


def block(prefix: str, first: int, last: int, more: str = "") -> str:
    return f'[[serial_block]]\nprefix = "{prefix}"\nfirst = {first}\nlast = {last}\n{more}\n'


# What is read


def test_the_head_is_read(family_text):
    family = family_of(family_text.replace("kind", 'introduced = "1948-03"\ndiscontinued = "1950-06"\nkind', 1))
    assert (family.id, family.name, family.kind) == ("heron-7", "Heron 7 table radio", "radio")
    assert (family.first_serial, family.last_serial) == (1, 60000)
    assert (family.introduced, family.discontinued) == ("1948-03", "1950-06")


@pytest.mark.parametrize("kind", ["radio", "television", "test gear", "amplifier", "other"])
def test_kinds(kind, family_text):
    assert family_of(family_text.replace('kind = "radio"', f'kind = "{kind}"')).kind == kind


def test_serial_range_and_dates_are_optional():
    family = family_of(MINIMAL)
    assert (family.first_serial, family.last_serial, family.introduced, family.discontinued) == (None,) * 4


def test_dating_needs_no_feature_and_no_version():
    assert family_of(MINIMAL).features == family_of(MINIMAL).versions == ()


@pytest.mark.parametrize("date", ["1948", "1948-03", "1948-W31", "1948-03-09"])
def test_dates_in_any_precision(date):
    assert family_of(f'{MINIMAL}introduced = "{date}"').introduced == date


def test_access_minutes_are_kept_as_given():
    table = '[access_minutes]\n"back off" = 4\n"chassis out" = 30.5\nunderside = 2\npowered = 20\n'
    assert family_of(MINIMAL + table).access_minutes == {
        "back off": 4.0,
        "chassis out": 30.5,
        "underside": 2.0,
        "powered": 20.0,
    }


def test_a_block_stands_where_starts_at_says():
    blocks = family_of(MINIMAL + block("b-", 1, 20000, "starts_at = 15001")).serial_blocks
    assert blocks == (SerialBlock("B", 1, 20000, 15001, "main"),)


def test_a_block_stands_after_the_one_before_it_on_its_line():
    text = MINIMAL + block("A", 1, 15000) + block("X", 1, 500, 'line = "export"') + block("B", 1, 20000)
    assert [b.starts_at for b in family_of(text).serial_blocks] == [1, 1, 15001]


def test_the_first_block_of_a_line_stands_at_its_own_first_serial():
    assert [b.starts_at for b in family_of(MINIMAL + block("H", 30001, 40000)).serial_blocks] == [30001]


def test_a_numbering_may_start_again():
    blocks = family_of(MINIMAL + block("", 1, 900) + block("", 1, 500)).serial_blocks
    assert [(b.first, b.starts_at) for b in blocks] == [(1, 1), (1, 901)]


def test_lines_come_from_versions_blocks_and_line_tables(family_text):
    text = (
        family_text
        + SECOND_LINE
        + '[[line]]\nid = "school"\nshares_cutins_with = "main"\n'
        + block("Q", 1, 9, 'line = "trial"')
    )
    assert family_of(text).lines == (Line("school", "main"), Line("main"), Line("export"), Line("trial"))


def test_a_family_that_names_no_line_has_the_main_line():
    assert family_of(MINIMAL).lines == (Line("main"),)


def test_sources(family_text):
    source = family_of(family_text).sources[0]
    assert (source.id, source.title, source.page) == ("notes-1", "Service notes, first printing", "3")


def test_feature_defaults():
    knob = family_of(MINIMAL + feature()).feature("knob")
    assert (knob.label, knob.group, knob.minutes, knob.altered, knob.role, knob.overlap, knob.lines) == (
        "knob",
        "chassis",
        1.0,
        None,
        "change",
        0,
        None,
    )


def test_feature_keys_are_read():
    more = (
        'label = "Knob"\ngroup = "cabinet"\nminutes = 2\naltered = 0.05\noverlap = 300\npart = "K1"\nlines = ["main"]'
    )
    knob = family_of(MINIMAL + feature(more=more)).feature("knob")
    assert (knob.label, knob.group, knob.minutes, knob.altered, knob.overlap, knob.part, knob.lines) == (
        "Knob",
        "cabinet",
        2.0,
        0.05,
        300,
        "K1",
        ("main",),
    )


def test_a_feature_with_a_unit_is_numeric(family_text):
    capacitor = family_of(family_text).feature("tone-capacitor")
    assert capacitor.unit == "F"
    assert capacitor.values == (pytest.approx(2e-8), pytest.approx(4.7e-9), None)
    assert capacitor.states == ("0.02 uF", "0.0047 uF", "absent")


@pytest.mark.parametrize(
    ("unit", "states"),
    [
        ("F", '[".05 mfd", "500 mmf"]'),
        ("ohm", '["470k", "2.2 meg"]'),
        ("V", '["90 V", "180 V"]'),
        ("A", '["150 mA", "0.3 A"]'),
        ("H", '["10 H", "450 uH"]'),
        ("W", '["1/2 W", "10 W"]'),
    ],
)
def test_units_and_values_as_the_trade_writes_them(unit, states):
    values = family_of(MINIMAL + feature(more=f'unit = "{unit}"', states=states)).feature("knob").values
    assert all(value is not None and value > 0 for value in values)


def test_absent_may_be_a_state_of_any_feature():
    assert family_of(MINIMAL + feature(states='["absent", "red"]')).feature("knob").all_states == ("absent", "red")


def test_a_version_based_on_another_is_as_that_one_except(family_text):
    early, late = family_of(family_text).versions
    assert early.states == {"converter": "6SB7Y", "tone-capacitor": "0.02 uF"}
    assert late.states == {"converter": "6BE6", "tone-capacitor": "0.02 uF"}
    assert (late.based_on, late.label, late.line) == ("early", "Late production", "main")


def test_based_on_may_name_a_version_further_down():
    text = MINIMAL + feature() + '[[version]]\nid = "a"\nbased_on = "b"\n[[version]]\nid = "b"\nstates.knob = "red"\n'
    assert family_of(text).versions[0].states == {"knob": "red"}


def test_a_version_of_another_line_inherits_only_what_its_line_has(family_text):
    text = family_text.replace('part = "C40"', 'part = "C40"\nlines = ["main"]') + SECOND_LINE
    assert family_of(text).versions[-1].states == {"converter": "6SB7Y"}


def test_a_feature_left_out_is_silence(family_text):
    text = family_text.replace('{ converter = "6BE6" }', "{ }").replace('based_on = "early"\n', "")
    assert family_of(text).versions[1].states == {}


def test_a_version_may_write_a_value_in_another_way(family_text):
    text = family_text.replace('tone-capacitor = "0.02 uF"', 'tone-capacitor = ".02 mfd"')
    assert family_of(text).versions[0].states["tone-capacitor"] == "0.02 uF"


def test_a_bound_is_read(family_text):
    cutin = (
        '[[cutin]]\nfeature = "converter"\nfrom = "6SB7Y"\nto = "6BE6"\nline = "main"\n'
        'after = 4000\nbefore = 9000\nsource = "notes-1"\n'
    )
    assert family_of(family_text + cutin).cut_in_bounds == (
        CutInBound("converter", "6SB7Y", "6BE6", "main", 4000, 9000, "notes-1"),
    )


@pytest.mark.parametrize("given", ["", 'from = "6SB7Y"', 'to = "6BE6"', 'line = "main"'])
def test_from_to_and_line_are_optional_where_unambiguous(given, family_text):
    cutin = f'[[cutin]]\nfeature = "converter"\nafter = 4000\n{given}\n'
    assert family_of(family_text + cutin).cut_in_bounds == (CutInBound("converter", "6SB7Y", "6BE6", "main", 4000),)


def test_a_bound_for_lines_that_share_cut_ins_belongs_to_the_one_shared(family_text):
    text = (
        family_text
        + SECOND_LINE.replace('"early"', '"early"')
        + (
            '[[version]]\nid = "export-2"\nline = "export"\nbased_on = "late"\n'
            '[[line]]\nid = "export"\nshares_cutins_with = "main"\n'
            '[[cutin]]\nfeature = "converter"\nbefore = 9000\n'
        )
    )
    assert family_of(text).cut_in_bounds[0].line == "main"


def test_a_bound_on_a_free_feature(family_text):
    text = family_text + feature() + '[[cutin]]\nfeature = "knob"\nto = "black"\nbefore = 70\n'
    bound = family_of(text).cut_in_bounds[0]
    assert (bound.from_state, bound.to_state, bound.line) == ("red", "black", "main")


def test_comments_and_spaces_do_not_count(family_text):
    commented = "\ufeff# mine\n" + family_text.replace("\n", "  # so\r\n")
    assert family_of(commented) == family_of(family_text)


def test_the_file_is_kept_for_editing(family_text):
    file = read_family(family_text.encode(), "heron.toml")
    assert (file.name, file.text) == ("heron.toml", family_text)
    assert file.document["id"] == "heron-7"


# What is refused, each with its place

REFUSALS = {
    "format missing": ('format = "setwright-family/1"', "", "key format: the key format is missing"),
    "format of a newer kind": ("family/1", "family/2", 'line 1, key format: this is a family file of format "setwright-family/2"'),
    "a set file": ("family/1", "set/1", 'this is a set file of format "setwright-set/1"; here a family file of format "setwright-family/1" is read.'),
    "format garbled": ('"setwright-family/1"', '"family"', 'line 1, key format: must be format = "setwright-family/1"'),
    "id with a space": ('id = "heron-7"', 'id = "heron 7"', "line 2, key id: may hold the letters"),
    "unknown kind": ('kind = "radio"', 'kind = "rado"', 'line 4, key kind: must be radio, television, test gear'),
    "number for text": ('name = "Heron 7 table radio"', "name = 7", 'key name: must be text in quotes; 7 was given; write name = "7"'),
    "date without quotes": ("first_serial = 1", "introduced = 1948-03-09", 'write introduced = "1948-03-09"'),
    "not a date": ("first_serial = 1", 'introduced = "March 1948"', 'line 5, key introduced: "March 1948" is not a date'),
    "text for a number": ("first_serial = 1", 'first_serial = "1"', 'first_serial: must be a whole number without quotes; "1" was'),
    "part of a serial": ("first_serial = 1", "first_serial = 1.5", "must be a whole number"),
    "negative serial": ("first_serial = 1", "first_serial = -1", "key first_serial: must be at least 0; -1 was given"),
    "a range upside down": ("first_serial = 1", "first_serial = 70000", "line 6, key last_serial: last_serial = 60000 lies before"),
    "unknown key": ('kind = "radio"', 'kind = "radio"\ncolour = 3', 'line 5, key colour: the table "colour" is not known'),
    "misspelt key": ('access = "back off"', 'acess = "back off"', 'Did you mean "access"?'),
    "missing key": ('access = "back off"\n', "", 'line 13, feature "converter": the key access is missing; write access = "outside"'),
    "unknown access": ('"back off"', '"back of"', 'feature "converter", key access: must be outside, back off'),
    "unknown permanence": ('"plugged"', '"pluged"', 'feature "converter", key permanence: must be stamped, riveted'),
    "a dot in an id": ('id = "converter"', 'id = "con.verter"', "may hold the letters A to Z, digits, _ and - (no dot)"),
    "a dot in a part": ('"C40"', '"C4.0"', "key part: must not hold a dot"),
    "a state that is no text": ('"6SB7Y", "6BE6"]', '"6SB7Y", 6]', 'feature "converter", key states 2: must be text in quotes'),
    "a state twice": ('"6SB7Y", "6BE6"]', '"6SB7Y", "6sb7y"]', 'the state "6sb7y" is listed twice'),
    "one state": ('"6SB7Y", "6BE6"]', '"6SB7Y"]', "one state alone tells nothing"),
    "no state": ('["6SB7Y", "6BE6"]', "[]", "key states: the list must not be empty"),
    "absent misspelt": ('"absent"]', '"Absent"]', 'the state of a missing part is written "absent"'),
    "a state called other": ('"blond"]', '"other: oak"]', 'a state may not begin with "other:"'),
    "an unknown unit": ('unit = "F"', 'unit = "farad"', "key unit: must be F, ohm, V, A, H or W"),
    "a tolerance without a unit": ('unit = "F"\n', "", "only a numeric feature has a tolerance"),
    "a state that is no value": ('"0.0047 uF"', '"small"', '"small" is not a capacitance'),
    "another unit": ('"0.0047 uF"', '"470k"', "here a capacitance (F) belongs"),
    "overlapping states": ('"0.0047 uF"', '"0.018 uF"', 'key states 2: "0.02 uF" and "0.018 uF" overlap: with tolerance 0.2'),
    "the same value twice": ('"0.0047 uF"', '".02 mfd"', '"0.02 uF" and ".02 mfd" are the same value; keep one'),
    "tolerance nought": ("tolerance = 0.2", "tolerance = 0", "must be greater than 0"),
    "a rate of alteration of one": ('part = "C40"', "altered = 1.0", "key altered: must be less than 1"),
    "overlap of a variant": ('role = "variant"', 'role = "variant"\noverlap = 9', "a variant has no cut-in to overlap around"),
    "an unknown line": ('part = "C40"', 'lines = ["exprt"]', 'key lines 1: there is no line "exprt"; the lines of this file are main'),
    "an unknown source": ('sources = ["notes-1"]', 'sources = ["notes-2"]', 'version "early", key sources 1: there is no source "notes-2"'),
    "an unknown feature": ("converter = ", "convertor = ", 'version "early", key states.convertor: there is no feature "convertor"'),
    "a state not listed": ('{ converter = "6BE6" }', '{ converter = "12BE6" }', '"12BE6" is not among the states of converter'),
    "a near miss": ('{ converter = "6BE6" }', '{ converter = "6BE-6" }', 'Did you mean "6BE6"?'),
    "a variant's state": ('{ converter = "6BE6" }', '{ finish = "blond" }', '"finish" is a variant, made in parallel'),
    "an unknown version": ('based_on = "early"', 'based_on = "erly"', 'there is no version "erly". Did you mean "early"?'),
    "a circle": ('sources = ["notes-1"]', 'based_on = "late"', "based on each other in a circle: late → early → late"),
    "a version twice": ('id = "late"', 'id = "early"', 'the id "early" is taken by the version on line'),
    "a feature twice": ('id = "finish"', 'id = "converter"', 'the id "converter" is taken by the feature on line 14'),
    "single brackets": ("[[source]]", "[source]", "line 8, table source: write [[source]] with double brackets"),
    "a bare list": ('sources = ["notes-1"]', 'sources = "notes-1"', 'must be a list in square brackets; "notes-1" was given; write sources = ["notes-1"]'),
    "true for a number": ("first_serial = 1", "first_serial = true", "must be a whole number without quotes; true was given"),
    "one for true": ('kind = "radio"', 'kind = "radio"\nm_means_thousand = 1', "must be true or false, without quotes"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSALS)
def test_refused(case, family_text, family_problems):
    old, new, expected = REFUSALS[case]
    assert old in family_text, "the case must change the file"
    problems = family_problems(family_text.replace(old, new, 1))
    assert any(expected in problem for problem in problems), problems


@pytest.mark.parametrize("name", ["id", "serial", "line", "stamp_date", "note", "source", "seen_on", "condition"])
def test_reserved_names(name, family_problems):
    (problem,) = family_problems(MINIMAL + feature(name))
    assert f'line 6, feature "{name}", key id: a feature may not be called "{name}"' in problem


def test_feature_names_do_not_begin_with_x(family_problems):
    (problem,) = family_problems(MINIMAL + feature("x-knob"))
    assert "may not begin with x-" in problem


def test_m_for_thousand_needs_the_flag(family_problems):
    text = MINIMAL + feature(more='unit = "ohm"', states='["470M", "2.2 meg"]')
    (problem,) = family_problems(text)
    assert "can be read in two ways" in problem
    flagged = family_of(text.replace('kind = "radio"', 'kind = "radio"\nm_means_thousand = true'))
    assert flagged.feature("knob").values == (470e3, 2.2e6)


def test_the_flag_belongs_at_the_top(family_problems):
    (problem,) = family_problems(MINIMAL + "[access_minutes]\nm_means_thousand = true\n")
    assert "the key m_means_thousand belongs at the top of the file" in problem


def test_states_exactly_twice_the_tolerance_apart_overlap(family_problems):
    def text(high: float) -> str:
        return MINIMAL + feature(more='unit = "ohm"\ntolerance = 0.2', states=f'["1000 ohms", "{high} ohms"]')

    assert family_problems(text(1440)) != []
    assert family_problems(text(1441)) == []


def test_discontinued_before_introduced(family_problems):
    (problem,) = family_problems(MINIMAL + 'introduced = "1950"\ndiscontinued = "1949-06"\n')
    assert "lies before introduced" in problem
    assert family_problems(MINIMAL + 'introduced = "1950"\ndiscontinued = "1950-03"\n') == []


def test_lines_that_differ_by_case_are_one(family_text, family_problems):
    (problem,) = family_problems(family_text + SECOND_LINE.replace('"export"', '"Main"'))
    assert 'line "Main" is line "main" but for case' in problem


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ('[[line]]\nid = "main"\nshares_cutins_with = "main"\n', "cannot share cut-ins with itself"),
        ('[[line]]\nid = "a"\nshares_cutins_with = "mian"\n', 'there is no line "mian"'),
        (
            '[[line]]\nid = "a"\nshares_cutins_with = "b"\n[[line]]\nid = "b"\nshares_cutins_with = "main"\n',
            'line "b" itself shares cut-ins with "main"; name that one directly',
        ),
        ('[[line]]\nid = "a"\n[[line]]\nid = "a"\n', 'the id "a" is taken'),
    ],
)
def test_sharing_refused(lines, expected, family_text, family_problems):
    (problem,) = family_problems(family_text + lines)
    assert expected in problem


@pytest.mark.parametrize(
    ("blocks", "expected"),
    [
        (block("A", 9, 1), "last = 1 lies before first = 9"),
        (block("A?", 1, 9), "cannot stand in the prefix"),
        (block("A", 1, 9) + block("A", 5, 20, "starts_at = 5"), "serials A5 to A9 stand in an earlier block"),
        (block("A", 1, 9, "starts_at = 70000"), "wholly outside last_serial = 60000"),
        (block("A", 1, 9).replace("first", "frist"), "the key first is missing"),
    ],
)
def test_blocks_refused(blocks, expected, family_text, family_problems):
    assert any(expected in problem for problem in family_problems(family_text + blocks))


def test_a_version_cannot_have_a_feature_its_line_lacks(family_text, family_problems):
    text = family_text.replace('part = "C40"', 'lines = ["export"]') + SECOND_LINE
    (problem,) = family_problems(text)
    assert 'the sets of line "main" have no "tone-capacitor"' in problem


def test_all_problems_come_in_one_answer(family_text, family_problems):
    text = family_text
    changes = [
        ('kind = "radio"', "kind = 3"),
        ('access = "back off"\n', ""),
        ('"0.0047 uF"', '"0.018 uF"'),
        ('sources = ["notes-1"]', 'sources = ["notes-2"]'),
        ('based_on = "early"', 'based_on = "erly"'),
    ]
    for old, new in changes:
        text = text.replace(old, new, 1)
    problems = family_problems(text + '[[cutin]]\nfeature = "tonecapacitor"\nafter = 3\n')
    assert len(problems) == 6
    assert [int(problem.split("line ")[1].split(",")[0]) for problem in problems] == [4, 13, 27, 40, 46, 49]


def test_a_refused_table_does_not_make_others_look_wrong(family_text, family_problems):
    problems = family_problems(family_text.replace('states = ["6SB7Y", "6BE6"]', "states = 3"))
    assert len(problems) == 1
    assert 'feature "converter", key states' in problems[0]


def test_the_list_of_problems_is_capped(family_problems):
    text = MINIMAL + "".join(f'[[source]]\nid = "s{i}"\n' for i in range(300))
    with pytest.raises(FileProblems) as failure:
        read_family(text.encode())
    assert len(failure.value.problems) == 200
    assert failure.value.lines[-1] == "and 100 more."


# Files that cannot be read at all


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"", "the file is empty but for remarks; begin the file with format"),
        (MINIMAL.encode("utf-16"), "saved as UTF-16"),
        (MINIMAL.replace('"F"', '"Fl\u00fcgel"').encode("latin-1"), 'line 3: the byte 0xFC is not UTF-8 text (in an older'),
        (b"PK\x03\x04rest", "is a spreadsheet workbook or another packed file"),
        (b"%PDF-1.4", "is a PDF"),
        (MINIMAL.encode() + b"a = [[[[[[[[[[[[[[1]]]]]]]]]]]]]]", "nested more than 12 deep"),
        (MINIMAL.encode() + b"a = " + b"[" * 100_000, "nested far too deeply"),
        (MINIMAL.encode() + b"a = " + b"1" * 5000, "far too long"),
    ],
)  # fmt: skip
def test_unreadable(data, expected, family_problems):
    assert any(expected in problem for problem in family_problems(data))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ('name = "x', "line 5, column 10: not valid TOML: a line ends in the middle of a text"),
        ('kind = "radio"', "line 5, column 15: not valid TOML: the same key or table is given twice"),
        ("a = radio", "the value cannot be read; text needs quotes"),
        ("introduced = 1948-03", "something is left over after the value; text needs quotes"),
        ("a b = 3", "an equals sign is missing"),
        ("[version.states]\nx = {\n a = 3 }", "a table in braces { } stands on one line"),
        ("a = [1, 2", "a list is opened with [ and not closed"),
        ("= 3", "neither a [table] nor a line of the form"),
        ('path = "c:\\x"', "a backslash inside double quotes must be written twice"),
    ],
)
def test_toml_errors_in_plain_words(line, expected, family_problems):
    (problem,) = family_problems(MINIMAL + line + "\n")
    assert expected in problem


def test_a_file_over_five_megabytes(tmp_path):
    path = tmp_path / "large.toml"
    path.write_bytes(MINIMAL.encode() + b"# padding\n" * 500_001)
    with pytest.raises(FileProblems, match=r"is 5.0 MB large; a family file may have 5 MB"):
        read_family(path)


def test_a_missing_file_and_a_folder(tmp_path):
    with pytest.raises(FileProblems, match="no such file"):
        read_family(tmp_path / "none.toml")
    with pytest.raises(FileProblems, match="folder"):
        read_family(tmp_path)


def test_messages_call_the_file_by_its_path(tmp_path):
    path = tmp_path / "f.toml"
    path.write_text("id = 3")
    with pytest.raises(FileProblems) as failure:
        read_family(str(path))
    assert {problem.file for problem in failure.value.problems} == {str(path)}
