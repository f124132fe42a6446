"""The family editor: a grid saved at one stroke, forms that keep what was entered, nothing that sets no longer fit."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from django.test import Client

from setwright.files import read_family
from setwright.files.literature import new_literature
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.services.records import family_of

pytestmark = pytest.mark.django_db

EDIT = "/families/heron-6/edit/"


@pytest.fixture
def client(shelf: None) -> Client:
    return Client(raise_request_exception=True)


def record() -> FamilyRecord:
    return FamilyRecord.objects.get(key="heron-6")


def words_of(response: Any) -> str:
    text = re.sub(r"<(script|style).*?</\1>", " ", response.content.decode(), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).replace("\xa0", " ").split())


def fields_of(response: Any) -> dict[str, Any]:
    """What a browser would send from the page's longest form, as it stands."""
    form = max(re.findall(r"<form method=\"post\".*?</form>", response.content.decode(), re.DOTALL), key=len)
    sent: dict[str, Any] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        attributes = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        kind = attributes.get("type", "text")
        if kind in ("file", "submit") or (kind in ("checkbox", "radio") and " checked" not in tag):
            continue
        sent.setdefault(attributes["name"], []).append(
            html.unescape(attributes.get("value", "on" if kind == "checkbox" else ""))
        )
    for name, body in re.findall(r'<textarea[^>]*name="([^"]*)"[^>]*>(.*?)</textarea>', form, re.DOTALL):
        sent[name] = [html.unescape(body).removeprefix("\n")]
    for name, body in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)"[^>]* selected', body) or re.search(
            r'<option value="([^"]*)"', body
        )
        sent[name] = [html.unescape(chosen[1])]
    return {name: values if len(values) > 1 else values[0] for name, values in sent.items()}


def send(client: Client, address: str, **changes: Any) -> Any:
    """Open a form, change fields (a name with __ for - or : is written so), send it."""
    fields = fields_of(client.get(address)) | changes
    return client.post(address, {name: value for name, value in fields.items() if value is not None})


def test_the_grid_shows_what_each_version_itself_says(client: Client) -> None:
    fields = fields_of(client.get(EDIT))
    assert fields["cell:converter:first"] == "6SA7"
    assert fields["cell:converter:second"] == "6BE6"
    assert fields["cell:tone-capacitor:second"] == ""
    assert fields["cell:tone-capacitor:third"] == "0.0047 uF"
    assert not any(name.startswith("cell:knobs") for name in fields)
    page = client.get(EDIT).content.decode()
    assert 'placeholder="as before: 0.02 uF"' in page
    assert "Tone control capacitor, Second printing; empty is as First printing: 0.02 uF" in page


def test_sending_it_unchanged_changes_nothing(client: Client) -> None:
    before = record().revision
    assert send(client, EDIT).status_code == 302
    assert record().revision == before


def test_cells_are_changed_at_one_stroke_and_comments_stay(client: Client) -> None:
    text = record().text.replace('[[version]]\nid = "third"', '# the last\n[[version]]\nid = "third"   # so far')
    FamilyRecord.objects.update(text=text, digest="with comments")
    changed = {"cell:dial-lamp:second": "two lamps", "cell:label:third": "foil"}
    response = client.get(send(client, EDIT, **changed)["Location"])
    assert "Saved: 2 states changed in Second printing and Third printing." in words_of(response)
    family = family_of(record())
    assert family.feature("label").states == ("printed", "stamped over", "foil")
    states = {version.id: version.states for version in family.versions}
    assert (states["second"]["dial-lamp"], states["third"]["label"]) == ("two lamps", "foil")
    assert "# the last\n" in record().text
    assert "# so far" in record().text


def test_emptying_a_cell_makes_the_version_silent_or_as_the_one_before(client: Client) -> None:
    send(client, EDIT, **{"cell:dial-lamp:third": "", "cell:output-rivets:export-only": ""})
    states = {version.id: version.states for version in family_of(record()).versions}
    assert states["third"]["dial-lamp"] == "one lamp"
    assert "output-rivets" not in states["export-only"]


def test_another_way_of_writing_a_value_is_no_change_and_a_new_value_is_a_new_state(client: Client) -> None:
    before = record().revision
    send(client, EDIT, **{"cell:tone-capacitor:first": ".02 mfd"})
    assert record().revision == before
    send(client, EDIT, **{"cell:tone-capacitor:third": ".1 mfd"})
    assert family_of(record()).feature("tone-capacitor").states[-1] == ".1 mfd"


@pytest.mark.parametrize(
    ("cell", "text", "said"),
    [
        ("cell:converter:third", "6be-6", '"6be-6" is close to "6BE6", which is listed'),
        ("cell:tone-capacitor:third", "470M", "470M"),
        ("cell:tone-capacitor:third", ".021 mfd", "overlap"),
        ("cell:label:third", "other: foil", 'a state may not begin with "other:"'),
    ],
)
def test_a_cell_that_will_not_do_is_said_and_everything_entered_stays(
    client: Client, cell: str, text: str, said: str
) -> None:
    before = record().text
    response = send(client, EDIT, **{cell: text, "cell:dial-lamp:second": "two lamps"})
    assert response.status_code == 422
    assert said in words_of(response)
    assert "Nothing was saved" in words_of(response)
    fields = fields_of(response)
    assert (fields[cell], fields["cell:dial-lamp:second"]) == (text, "two lamps")
    assert record().text == before


def test_the_second_of_two_people_sees_both_changes_before_saving(client: Client) -> None:
    mine = fields_of(client.get(EDIT)) | {"cell:dial-lamp:second": "two lamps", "cell:converter:third": "12BE6"}
    send(client, EDIT, **{"cell:output-rivets:third": "six", "cell:converter:third": "7Q7"})
    response = client.post(EDIT, mine)
    assert response.status_code == 409
    assert "changed the family meanwhile" in words_of(response)
    assert "wrote 7Q7 here meanwhile" in words_of(response)
    fields = fields_of(response)
    assert fields["cell:dial-lamp:second"] == "two lamps"
    assert fields["cell:output-rivets:third"] == "six"
    assert fields["cell:converter:third"] == "12BE6"
    assert client.post(EDIT, fields).status_code == 302
    states = {version.id: version.states for version in family_of(record()).versions}
    assert states["third"]["output-rivets"] == "six"
    assert states["third"]["converter"] == "12BE6"


def test_a_bound_that_a_second_change_makes_ambiguous_says_which_it_means(client: Client) -> None:
    text = record().text.replace('from = "6SA7"\nto = "6BE6"\nline = "main"\n', "")
    assert text != record().text
    FamilyRecord.objects.update(text=text, digest="other")
    send(client, EDIT, **{"cell:converter:third": "12BE6"})
    (bound,) = family_of(record()).cut_in_bounds
    assert (bound.from_state, bound.to_state) == ("6SA7", "6BE6")


# ---- forms


def test_a_feature_is_added_with_what_was_given(client: Client) -> None:
    add = EDIT + "features/add/"
    response = send(
        client,
        add,
        label="AVC resistor",
        states="2.2 meg\n1 meg\n",
        access="underside",
        permanence="soldered",
        unit="ohm",
        tolerance="0,1",
        part="R5",
    )
    assert response.status_code == 302, words_of(response)
    feature = family_of(record()).feature("avc-resistor")
    assert (feature.states, feature.values, feature.tolerance) == (("2.2 meg", "1 meg"), (2.2e6, 1e6), 0.1)
    assert record().text.count("minutes") == 0  # what is as usual is not written
    assert history.revisions_of(record()).first().what == "New feature: AVC resistor"


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"label": ""}, "label", "Name is missing."),
        ({"access": ""}, "access", "How far in is missing."),
        ({"tolerance": "a fifth"}, "tolerance", "“a fifth” is no number; write a number, such as 0.05"),
        ({"tolerance": "0.1", "unit": ""}, "tolerance", "Only a numeric feature has a tolerance"),
        ({"states": "2.2 meg\nabout one"}, "states", "about one"),
        ({"states": "2.2 meg\n2.1 meg"}, "states", "overlap"),
        ({"altered": "2"}, "altered", "less than 1"),
        ({"overlap": "1.5"}, "overlap", "write a whole number, such as 4000"),
        ({"id": "serial"}, "id", "a survivors file has a column of that name"),
        ({"id": "converter"}, "id", "is taken"),
    ],
)
def test_what_is_wrong_stands_at_its_field_with_the_input_kept(
    client: Client, changes: dict[str, str], field: str, said: str
) -> None:
    given = {
        "label": "AVC resistor",
        "states": "2.2 meg\n1 meg",
        "access": "underside",
        "permanence": "soldered",
        "unit": "ohm",
    }
    before = record().text
    response = send(client, EDIT + "features/add/", **(given | changes))
    assert response.status_code == 422
    page = response.content.decode()
    at = page.index(f'id="id_{field}_error"') if f'id="id_{field}_error"' in page else -1
    assert at > 0, words_of(response)
    assert said.lower() in html.unescape(page[at : at + 500]).lower()
    kept = fields_of(response)
    assert {name: kept[name] for name in given | changes} == given | changes
    assert record().text == before


def test_respelling_a_state_respells_it_in_versions_and_bounds(client: Client) -> None:
    client.post("/sets/bench-1/remove/", {"seen": "1"})
    register = record().register
    register.text = register.text.replace("6BE6", "")
    register.save()
    response = send(client, EDIT + "features/of/converter/", states="6SA7\n6BE6 (Lark)")
    assert response.status_code == 302, words_of(response)
    family = family_of(record())
    assert [version.states["converter"] for version in family.versions_of("main")] == [
        "6SA7",
        "6BE6 (Lark)",
        "6BE6 (Lark)",
    ]
    assert family.cut_in_bounds[0].to_state == "6BE6 (Lark)"


def test_a_state_that_a_set_or_survivors_show_is_not_taken_away(client: Client) -> None:
    response = send(client, EDIT + "features/of/converter/", states="6SA7\nLark 6")
    assert response.status_code == 422
    words = words_of(response)
    assert 'K-03, K-04, K-05, K-06, K-07) show Converter tube: "6BE6", which would no longer be listed' in words
    assert "6BE6" in record().text


def test_a_feature_that_a_set_shows_is_not_removed_and_it_is_said_who(client: Client) -> None:
    response = client.post(EDIT + "features/of/converter/remove/", {"seen": record().revision})
    assert response.status_code == 422
    assert "bench-1" in words_of(response)


def test_removing_says_what_goes_with_it_and_can_be_taken_back(client: Client) -> None:
    page = words_of(client.get(EDIT + "versions/of/second/remove/"))
    assert "Third printing will say itself what it has from it now." in page
    before = record()
    states = family_of(before).versions_of("main")[-1].states
    client.post(EDIT + "versions/of/second/remove/", {"seen": before.revision})
    after = family_of(record())
    assert [version.id for version in after.versions] == ["first", "third", "export-only"]
    assert after.versions[1].states == states
    history.undo(record(), by=None, number=record().revision)
    assert record().text == before.text


def test_a_source_goes_with_what_cites_it(client: Client) -> None:
    page = words_of(client.get(EDIT + "sources/of/sheet-1/remove/"))
    assert "First printing will no longer cite it. 1 cut-in bound will be without a source." in page
    client.post(EDIT + "sources/of/sheet-1/remove/", {"seen": record().revision})
    assert family_of(record()).sources == ()


def test_versions_change_places_within_their_line(client: Client) -> None:
    client.post(EDIT + "versions/of/third/move/", {"to": "later", "seen": "1"})
    assert [version.id for version in family_of(record()).versions_of("main")][-1] == "third"
    response = client.post(EDIT + "features/of/converter/move/", {"to": "earlier", "seen": record().revision})
    assert response.status_code == 302
    assert family_of(record()).features[0].id == "converter"


def test_bounds_serials_lines_and_sources_have_forms(client: Client) -> None:
    send(client, EDIT + "sources/add/", title="Bulletin 4", page="1")
    send(client, EDIT + "bounds/add/", feature="dial-lamp", after="3,000", source="bulletin-4")
    send(client, EDIT + "serials/add/", prefix="HZ", line="export", first="1", last="90")
    send(client, EDIT + "lines/of/export/", shares_cutins_with="main")
    send(client, EDIT + "bounds/of/1/", before="7000")
    family = family_of(record())
    assert (family.sources[1].title, family.cut_in_bounds[1].after, family.cut_in_bounds[0].before) == (
        "Bulletin 4",
        3000,
        7000,
    )
    assert family.serial_blocks[-1].prefix == "HZ"
    assert family.lines[1].shares_cutins_with == "main"


def test_contradicting_bounds_are_refused(client: Client) -> None:
    response = send(client, EDIT + "bounds/of/1/", after="9000", before="100")
    assert response.status_code == 422
    assert "Nothing was saved" in words_of(response)


def test_the_top_of_the_file_with_its_minutes(client: Client) -> None:
    response = send(
        client, EDIT + "family/", name="Heron Six", **{"access_minutes.back_off": "3", "introduced": "1946-11"}
    )
    assert response.status_code == 302, words_of(response)
    family = family_of(record())
    assert (family.name, family.introduced, family.access_minutes) == ("Heron Six", "1946-11", {"back off": 3.0})
    assert record().name == "Heron Six"
    response = send(client, EDIT + "family/", introduced="last year", **{"access_minutes.back_off": "-1"})
    page = response.content.decode()
    assert 'id="id_introduced_error"' in page
    assert 'id="id_access_minutes.back_off_error"' in page


@pytest.mark.parametrize(
    "address",
    ["features/of/nothing/", "bounds/of/9/", "bounds/of/0/", "bounds/of/x/", "chimneys/add/", "versions/of/zz/remove/"],
)
def test_what_is_not_there_is_404(client: Client, address: str) -> None:
    assert client.get(EDIT + address).status_code == 404


def test_the_file_that_comes_out_reads_as_the_family(client: Client) -> None:
    send(client, EDIT, **{"cell:label:third": "foil"})
    text = client.get("/families/heron-6/family.toml").content
    assert read_family(text).family == family_of(record())


def test_a_grid_of_very_many_cells_is_saved(client: Client) -> None:
    text = 'format = "setwright-family/1"\nid = "wide"\nname = "Wide"\nkind = "radio"\n'
    for n in range(60):
        text += f'[[feature]]\nid = "f{n}"\naccess = "outside"\npermanence = "stamped"\nstates = ["a", "b"]\n'
    text += "".join(f'[[version]]\nid = "v{n}"\nstates = {{ f0 = "a" }}\n' for n in range(20))
    assert client.post("/new-family/file/", {"text": text}).status_code == 302
    assert send(client, "/families/wide/edit/", **{f"cell:f{n}:v7": "b" for n in range(1, 60)}).status_code == 302
    wide = FamilyRecord.objects.get(key="wide")
    assert len(family_of(wide).versions[7].states) == 60
    assert max(map(len, wide.text.splitlines())) < 200  # states stand one below the other where they are many


def test_a_source_may_stand_on_the_literature_shelf(client: Client) -> None:
    entry = new_literature({"id": "bulletin-4", "title": "Bulletin 4", "kind": "bulletin", "owned": True})
    keeping.create("literature", entry.text, by=None, what="New", name="bulletin-4.toml")
    page = client.get(EDIT + "sources/add/").content.decode()
    assert '<option value="bulletin-4">Bulletin 4</option>' in page
    send(client, EDIT + "sources/add/", title="Bulletin 4", literature="bulletin-4")
    assert 'literature = "bulletin-4"' in record().text


def test_cells_pasted_from_a_spreadsheet_stand_in_the_grid_and_are_saved_with_it(client: Client) -> None:
    table = "feature\tFirst printing\tmain:third\tFourth\nDial lamp wiring\t\ttwo lamps\tx\n"
    table += "label\tprinted\tfoil\t\nchimney\ta\tb\t\n"
    before = record().revision
    page = client.post(EDIT + "paste/", {"cells": table})
    assert page.status_code == 200
    words = words_of(page)
    assert "Not saved yet. 1 cell pasted into the grid; look it over, then save." in words
    assert 'There is no feature "chimney"; add it first.' in words
    assert 'There is no version "Fourth"; add it first.' in words
    assert record().revision == before
    fields = fields_of(page)
    assert (fields["cell:label:third"], fields["cell:dial-lamp:third"]) == ("foil", "two lamps")
    assert fields["shown"] == "3"
    assert client.post(EDIT, fields).status_code == 302
    assert family_of(record()).versions_of("main")[-1].states["label"] == "foil"


def test_the_exported_table_pasted_back_changes_nothing(client: Client) -> None:
    table = client.get("/families/heron-6/features.csv").content.decode()
    page = client.post(EDIT + "paste/", {"cells": table})
    assert "No cells pasted into the grid" in words_of(page)
    before = record().revision
    client.post(EDIT, fields_of(page))
    assert record().revision == before


def test_what_is_no_table_of_cells_is_said(client: Client) -> None:
    page = client.post(EDIT + "paste/", {"cells": "just words"})
    assert page.status_code == 422
    assert "no table was found" in words_of(page).lower()


def test_a_bound_may_be_dated(client: Client) -> None:
    send(client, EDIT + "bounds/add/", feature="dial-lamp", about="1947-10")
    bound = family_of(record()).cut_in_bounds[1]
    assert (bound.feature, bound.about is not None) == ("dial-lamp", True)
    assert 'about = "1947-10"' in record().text
    response = send(client, EDIT + "bounds/of/2/", about="last autumn")
    assert response.status_code == 422
    assert 'value="last autumn"' in response.content.decode()


def test_a_place_on_a_line_is_told_as_its_serial(client: Client) -> None:
    page = words_of(client.get(EDIT + "bounds/of/1/"))
    assert "Counted along its line: 1000 is H1000." in page
    assert "Counted along its line: 6000 is H6000." in page
    assert "Counted along its line, through all runs of serials." in words_of(client.get(EDIT + "bounds/add/"))


def test_a_change_names_the_fields_it_changed(client: Client) -> None:
    send(client, EDIT + "bounds/of/1/", before="7000")
    assert history.revisions_of(record())[0].what.endswith("changed “In every set from”")
