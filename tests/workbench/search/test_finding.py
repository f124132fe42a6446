"""The index holds what the records say, and gives it to whoever may see it, however they ask."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from setwright.files import editing
from setwright.files.literature import new_literature
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import keeping
from setwright.workbench.search import index
from setwright.workbench.search.finding import Allowed, Found, find
from setwright.workbench.search.models import SearchEntry
from setwright.workbench.services.imports import import_files
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

CAST = Path(__file__).parent.parent.parent / "cast"
EVERYTHING = Allowed()
PLOVER = [CAST / "plover.toml", CAST / "plover-bench.toml", f"plover-5={CAST / 'plover-survivors.csv'}"]


@pytest.fixture
def plover(db: None) -> FamilyRecord:
    import_files(PLOVER)
    return FamilyRecord.objects.get()


def titles(found: Found, kind: str | None = None) -> list[str]:
    return [hit.title for hit in found.hits if kind in (None, hit.kind)]


def ask(words: str, allowed: Allowed = EVERYTHING) -> Found:
    return find(words, allowed)


def add_survivor(family: FamilyRecord, row: str) -> None:
    register = SurvivorRegister.objects.get(family=family)
    keeping.edit(register, lambda text: text.rstrip("\n") + f"\n{row}\n", by=None, what="One more")


def test_what_was_taken_in_is_found(plover: FamilyRecord) -> None:
    family = family_of(plover)
    feature, version = family.features[0], family.versions[0]
    assert plover.name in titles(ask(plover.name), "family")
    assert feature.label in titles(ask(feature.label), "feature")
    assert version.label in titles(ask(version.label), "version")
    assert "P-04" in titles(ask("P-04"), "survivor")
    assert ask("tall-shelf").counts["set"] == 1


def test_beginnings_of_words_are_enough_and_case_makes_no_difference(plover: FamilyRecord) -> None:
    name = plover.name.split()[0]
    assert plover.name in titles(ask(name[:3].upper()))
    assert ask(name[:2]).total == 0


def test_an_edit_can_be_found_at_once_and_a_removed_record_no_more(plover: FamilyRecord) -> None:
    record = SetRecord.objects.get(key="tall-shelf")
    family = family_of(plover)
    edited = keeping.edit(
        record, lambda file: editing.add_note(file, family, {"text": "Found in a haybarn. Mice."}), by=None, what="Note"
    )
    assert titles(ask("haybarn")) == ["tall-shelf"]
    keeping.remove(edited, None)
    assert ask("haybarn").total == ask("tall-shelf").total == 0
    keeping.bring_back(edited, None)
    assert ask("haybarn").total == 1


def test_only_what_changed_is_written(plover: FamilyRecord) -> None:
    register = SurvivorRegister.objects.get()
    before = dict(SearchEntry.objects.filter(kind="survivor").values_list("anchor", "id"))
    lines = register.text.splitlines()
    name = lines[-1].split(",")[0]
    keeping.keep(register, "\n".join([*lines[:-1], lines[-1].replace(name, "Z-1", 1)]) + "\n", by=None, what="Renamed")
    after = dict(SearchEntry.objects.filter(kind="survivor").values_list("anchor", "id"))
    assert set(before) - set(after) == {name}
    assert set(after) - set(before) == {"Z-1"}
    assert all(after[anchor] == number for anchor, number in before.items() if anchor != name)


def test_fragments_of_serials_find_each_other(plover: FamilyRecord) -> None:
    header = SurvivorRegister.objects.get().text.splitlines()[0].split(",")
    row = dict.fromkeys(header, "") | {"id": "Y-1", "serial": "12?4"}
    add_survivor(plover, ",".join(row.values()))
    add_survivor(plover, ",".join((row | {"id": "Y-2", "serial": "1274"}).values()))
    add_survivor(plover, ",".join((row | {"id": "Y-3", "serial": "1275"}).values()))
    assert titles(ask("12?4"), "survivor") == ["Y-1", "Y-2"]
    assert set(titles(ask("1274"), "survivor")) == {"Y-1", "Y-2"}
    assert {hit.title for hit in find("12*", EVERYTHING, kind="survivor").hits} >= {"Y-1", "Y-2", "Y-3"}
    assert titles(ask("serial 1275?"), "survivor") == ["Y-3"]


def test_only_families_that_may_be_seen(plover: FamilyRecord) -> None:
    sheet = new_literature({"id": "sheet", "title": "Plover sheet"})
    keeping.create("literature", sheet.text, by=None, what="Added", name="sheet.toml")
    assert ask("P-04").total > 0
    assert ask("P-04", Allowed(only=())).total == ask("P-04", Allowed(hidden=(plover.key,))).total == 0
    assert ask("P-04", Allowed(only=(plover.key,))).total == ask("P-04").total
    assert titles(ask("plover sheet", Allowed(only=()))) == ["Plover sheet"]


def test_one_kind_comes_in_sheets(plover: FamilyRecord) -> None:
    count = SearchEntry.objects.filter(kind="survivor").count()
    every = ask("serial")
    assert every.counts["survivor"] == len(find("serial", EVERYTHING, kind="survivor").hits) <= count
    assert len(titles(every, "survivor")) == 5
    assert find("serial", EVERYTHING, kind="survivor", page=9).hits == ()


def test_a_family_that_is_changed_brings_its_survivors_along(plover: FamilyRecord) -> None:
    feature = family_of(plover).features[0]
    keeping.edit(
        plover, lambda file: editing.change_in_family(file, "feature", feature.id, {"label": "Wobbulator"}),
        by=None, what="Renamed",
    )  # fmt: skip
    assert ask("wobbulator").counts["survivor"] > 0


def test_an_import_that_replaces_a_family_and_its_set_at_once_is_not_hindered(plover: FamilyRecord, tmp_path) -> None:
    text = (CAST / "plover.toml").read_text("utf-8")
    import_files(PLOVER)
    assert FamilyRecord.objects.get().text == text


def test_an_index_made_by_other_rules_is_made_anew(plover: FamilyRecord) -> None:
    count = SearchEntry.objects.count()
    assert not index.ensure_current()
    SearchEntry.objects.filter(kind="survivor").delete()
    index.IndexVersion.objects.update(number=0)
    assert index.ensure_current()
    assert SearchEntry.objects.count() == count


class AnyQuestion(TestCase):
    """Whatever is typed is a question, never a search expression."""

    @classmethod
    def setUpTestData(cls) -> None:
        import_files([CAST / "plover.toml", CAST / "plover-bench.toml"])

    @given(st.text(max_size=60) | st.text("\"*^:()-+?./'\\&|!<> ANDORNEAR0a", max_size=40))
    def test_no_question_breaks_it(self, words: str) -> None:
        found = find(words, EVERYTHING)
        assert found.total >= len(found.hits) >= 0

    @given(st.sampled_from(["71?08", "C40", "6XX7", "a.b/c", "NEAR(", '"', "title_words : x", "a OR b", "*", "'::*"]))
    def test_the_trades_marks(self, words: str) -> None:
        assert find(f"zzznothing {words}", EVERYTHING).total == 0
