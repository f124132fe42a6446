"""What a set file holds beside observations: every key read, refused in plain words, and edited in place."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import tomllib
from datetime import UTC, datetime

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems, editing, read_family, read_set, schema
from setwright.files.case import Case, Condition, Intake, Note, Photo, Reading, Region, Seen, Want
from setwright.notation import parse_date

SUM = "0123456789abcdef" * 4
CASE = f'''\
name = "The one from the mill"

[intake]   # what came in
on = 1999-05-02
from = "estate sale"
place = "the old mill"
price = "40 crowns"
by = "you"
provenance = """
Stood in the mill's office.

# 3 on the shelf"""
missing = ["rear cover", "one knob"]
came_with = ["service sheet"]

[[condition]]
area = "cabinet"
text = "veneer lifting at the left foot"
on = "2024-05-02"

[[observation]]
feature = "converter"
state = "6SB7Y"
seen_at = 2024-05-02T21:04:00+02:00
seen_by = "you"

[[observation]]
feature = "finish"
state = "walnut"

[[photo]]
sha256 = "{SUM}"
name = "IMG_1.jpg"
caption = "the converter"
feature = "converter"
region = [0.1, 0.2, 0.3, 0.25]
taken = "2024-05-02T18:59:01"
added_at = "2024-05-02T19:04:00Z"
added_by = "you"

[[reading]]
point = "B+"
quantity = "volts"
value = 212.5
unit = "V"
meter = "20k/V@250"
line_volts = 117
on = "2024-05-03"

[[reading]]
point = "V3.plate"
quantity = "ohms"
value = 470
unit = "kohm"
condition = "off"
reference = "chassis"
accuracy = 0.02
resolution = 1

[[note]]
at = "2024-05-02T19:04:00Z"
by = "you"
text = "Dust inside."
about = "converter"

[[want]]
what = "power transformer"
part = "T1"
found = true
'''
MOMENT = datetime(2024, 5, 2, 19, 4, tzinfo=UTC)


@pytest.fixture
def case_text(set_text):
    return set_text + CASE


def test_everything_is_read(case_text, family):
    assert read_set(case_text.encode(), family).case == Case(
        name="The one from the mill",
        intake=Intake(
            parse_date("1999-05-02"),
            "estate sale",
            "the old mill",
            "40 crowns",
            "you",
            "Stood in the mill's office.\n\n# 3 on the shelf",
            ("rear cover", "one knob"),
            ("service sheet",),
        ),
        condition=(Condition("cabinet", "veneer lifting at the left foot", parse_date("2024-05-02")),),
        seen=(Seen(MOMENT, "you"), Seen()),
        photos=(
            Photo(
                SUM,
                "IMG_1.jpg",
                "the converter",
                "converter",
                Region(0.1, 0.2, 0.3, 0.25),
                "2024-05-02T18:59:01",
                MOMENT,
                "you",
            ),
        ),
        readings=(
            Reading("B+", "volts", 212.5, "V", "20k/V@250", line_volts=117.0, on=parse_date("2024-05-03")),
            Reading("V3.plate", "ohms", 470.0, "kohm", "", "off", 0.02, 1.0, None, "chassis"),
        ),
        notes=(Note("Dust inside.", MOMENT, "you", "converter"),),
        wants=(Want("power transformer", "T1", "", True),),
    )


def test_a_set_without_any_of_it_has_an_empty_case(set_text, family):
    assert read_set(set_text.encode(), family).case == Case()


def test_what_a_set_is_called_and_holds_is_nothing_to_identity(case_text, set_text, family):
    observed = '[[observation]]\nfeature = "converter"\nstate = "6SB7Y"\n[[observation]]\nfeature = "finish"\nstate = "walnut"\n'
    assert read_set(case_text.encode(), family).set == read_set((set_text + observed).encode(), family).set


def test_readings_in_si_units(case_text, family):
    assert [reading.si_value for reading in read_set(case_text.encode(), family).case.readings] == [212.5, 470_000.0]


def test_the_schema_takes_what_the_reader_takes(case_text):
    data = tomllib.loads(case_text.replace("1999-05-02", '"1999-05-02"').replace("2024-05-02T21:04:00+02:00", '""'))
    validator = jsonschema.Draft202012Validator(schema("set"))
    assert validator.is_valid(data)
    assert not validator.is_valid({**data, "want": [{"part": "T1"}]})
    assert not validator.is_valid({**data, "photo": [{"sha256": "1"}]})


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('on = 1999-05-02', 'on = "May 1999"', 'line 8, table intake, key on: "May 1999"'),
        ('from = "estate sale"', 'form = "estate sale"', 'the key "form" is not known here'),
        ('"rear cover", "one knob"', '"rear cover", 1', "table intake, key missing 2: must be text in quotes"),
        ('area = "cabinet"', 'area = "cabnet"', 'condition 1 (area "cabnet"), key area: must be cabinet, finish, dial and glass, chassis, underside, tubes, picture tube, cords or other; "cabnet" was given. Did you mean "cabinet"?'),
        ('text = "veneer lifting at the left foot"', 'text = " "', 'condition 1 (area "cabinet"), key text: the text is empty'),
        ("seen_at = 2024-05-02T21:04:00+02:00", "seen_at = 2024-05-02T21:04:00", "does not say in which time zone"),
        ("seen_at = 2024-05-02T21:04:00+02:00", 'seen_at = "yesterday"', 'observation 1 (feature "converter"), key seen_at: "yesterday" is no date'),
        ("seen_at = 2024-05-02T21:04:00+02:00", "seen_at = 0001-01-01T00:00:00+02:00", "is no date with a time of day"),
        (f'sha256 = "{SUM}"', f'sha256 = "{SUM[:-1]}"', "key sha256: must be the SHA-256 sum of the file"),
        ('caption = "the converter"\nfeature = "converter"', 'feature = "convertor"', 'photo 1 (name "IMG_1.jpg"), key feature: the family has no feature "convertor". Did you mean "converter"?'),
        ("[0.1, 0.2, 0.3, 0.25]", "[0.1, 0.2, 0.3]", "the list"),
        ("[0.1, 0.2, 0.3, 0.25]", "[0.1, 0.2, 0.3, 2]", "must be at most 1"),
        ("[0.1, 0.2, 0.3, 0.25]", "[0.1, 0.2, 0.3, 0]", "the region has no size"),
        ("[0.1, 0.2, 0.3, 0.25]", "[0.8, 0.2, 0.3, 0.1]", "the region reaches beyond the picture"),
        ('taken = "2024-05-02T18:59:01"', 'taken = "2024:05:02 18:59:01"', "key taken"),
        ('quantity = "volts"', 'quantity = "volt"', 'must be volts, volts_ac, amps or ohms; "volt" was given'),
        ('unit = "V"', 'unit = "mA"', 'reading 1 (point "B+"), key unit: "mA" is no unit of voltage; write V or mV'),
        ('unit = "kohm"', 'unit = "M"', '"M" is no unit of resistance; write ohm, kohm or megohm'),
        ("value = 212.5", 'value = "212.5"', "must be a number without quotes"),
        ("value = 212.5", "value = nan", "must be a number"),
        ("line_volts = 117", "line_volts = 0", "must be greater than 0"),
        ('about = "converter"', 'about = "heater"', 'note 1, key about: the family has no feature "heater"'),
        ('text = "Dust inside."', 'text = ""', "note 1, key text: the text is empty"),
        ('what = "power transformer"\n', "", "want 1: the key what is missing"),
        ("[intake]   # what came in", "[[intake]]", "table of keys and values"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_place(old, new, expected, case_text, set_problems):
    assert old in case_text
    (problem,) = set_problems(case_text.replace(old, new, 1))
    assert expected in problem


def test_sources_name_their_entry_of_the_shelf(family_text, family_problems):
    text = family_text.replace('page = "3"', 'page = "3"\nliterature = "folder-7"')
    assert read_family(text.encode()).literature == {"notes-1": "folder-7"}
    assert read_family(family_text.encode()).literature == {}
    (problem,) = family_problems(text.replace("folder-7", "folder 7"))
    assert 'source "notes-1", key literature: may hold' in problem


# Editing

TABLES = {
    "condition": {"area": "chassis", "text": "rust at a corner"},
    "observation": {"feature": "finish", "state": "blond", "seen_at": "2024-05-02T19:04:00Z", "seen_by": "you"},
    "date_evidence": {"kind": "stamp", "date": "1948"},
    "photo": {"sha256": SUM, "region": [0, 0.5, 1, 0.5], "caption": None},
    "reading": {"point": "B+", "quantity": "volts", "value": 200.0, "unit": "V"},
    "note": {"text": "one\n\n# two\n[[photo]]\n"},
    "want": {"what": "knob"},
}


def edit(what, kind):
    return getattr(editing, f"{what}_{kind}")


@pytest.mark.parametrize("kind", editing.SET_TABLES)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_table_is_added_and_removed_without_a_trace(kind, newline, case_text, family):
    text = case_text.replace("\n", newline)
    file = read_set(text.encode(), family)
    number = text.count(f"[[{kind}]]")
    added = edit("add", kind)(file, family, TABLES[kind])
    data = tomllib.loads(added.text)
    assert data[kind][-1] == {key: value for key, value in TABLES[kind].items() if value is not None}
    assert data == {**tomllib.loads(text), kind: data[kind]}
    assert edit("remove", kind)(added, family, number).text.rstrip() == text.rstrip()


@pytest.mark.parametrize("kind", editing.SET_TABLES)
def test_tables_of_every_kind_build_a_set_from_nothing(kind, set_text, family):
    file = read_set(set_text.encode(), family)
    for other in (kind, *reversed(editing.SET_TABLES)):
        file = edit("add", other)(file, family, TABLES[other])
    assert len(tomllib.loads(file.text)[kind]) == 2


def test_changing_and_removing_keys(case_text, family):
    file = read_set(case_text.encode(), family)
    file = editing.change_photo(file, family, 0, {"caption": "its socket", "region": None})
    file = editing.change_want(file, family, 0, {"found": False})
    file = editing.change_note(file, family, 0, {"text": "Dust inside.\nAnd a nest."})
    assert (file.case.photos[0].caption, file.case.photos[0].region) == ("its socket", None)
    assert not file.case.wants[0].found
    assert 'text = """Dust inside.\nAnd a nest."""' in file.text
    with pytest.raises(FileProblems, match="there is no reading number 3; the file has 2"):
        editing.change_reading(file, family, 2, {"value": 1.0})


@pytest.mark.parametrize(
    "given",
    [
        "",
        "[intake]   # bought\non = 1999 # about\n".replace("1999 ", '"1999" '),
        'intake = { on = "1999" }\n',
        'intake.on = "1999"\n',
    ],
    ids=["none", "table", "braces", "dotted"],
)
def test_the_intake_is_changed_however_it_is_written(given, set_text, family):
    file = read_set(
        (set_text + given + '\n# seen\n[[observation]]\nfeature = "finish"\nstate = "walnut"\n').encode(), family
    )
    file = editing.change_intake(file, family, {"price": "40", "missing": ["knob"], "place": None})
    assert (file.case.intake.price, file.case.intake.missing) == ("40", ("knob",))
    assert (file.case.intake.on is None) == (not given)
    file = editing.change_intake(file, family, {"price": None, "provenance": "a\nb", "on": "2001-02"})
    assert file.case.intake == Intake(parse_date("2001-02"), provenance="a\nb", missing=("knob",))
    assert "# seen\n[[observation]]" in file.text
    assert ("# bought" in file.text) == ("# bought" in given)


def test_the_name_goes_to_the_top(case_text, set_text, family):
    assert editing.change_set(read_set(set_text.encode(), family), family, {"name": "Mill"}).case.name == "Mill"
    assert editing.change_set(read_set(case_text.encode(), family), family, {"name": None}).case.name == ""


texts = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs"]).filter(lambda c: c >= " " or c in "\n\t"), max_size=30
)


@given(st.lists(texts.filter(str.strip), min_size=1, max_size=4), st.booleans())
def test_any_text_comes_back_as_it_was_written(family, set_text, notes, two_characters):
    file = read_set((set_text.replace("\n", "\r\n") if two_characters else set_text).encode(), family)
    clean = [note.replace("\x7f", "") or "-" for note in notes]
    for note in clean:
        file = editing.add_note(file, family, {"text": "first"})
        file = editing.change_note(file, family, len(file.case.notes) - 1, {"text": note})
        file = editing.add_note(file, family, {"text": note})
    assert [note.text for note in file.case.notes] == [text for note in clean for text in (note, note)]
    while file.case.notes:
        file = editing.remove_note(file, family, 0)
    assert "note" not in file.document
