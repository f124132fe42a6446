"""Changing records: an entry for each change, nothing overwritten unawares, nothing half written."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from setwright.files import FileProblems, editing
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.records.errors import ChangedMeanwhile, Refused
from setwright.workbench.records.models import Revision
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

pytestmark = pytest.mark.django_db


@pytest.fixture
def mate(db: None) -> User:
    return User.objects.create_user("mate", password="a long enough word")


@pytest.fixture
def record(shelf: None) -> SetRecord:
    return SetRecord.objects.get()


def seen(state: str) -> Any:
    """An edit that adds an observation of the label."""

    def change(file: Any) -> Any:
        family = family_of(FamilyRecord.objects.get())
        return editing.add_observation(file, family, {"feature": "label", "state": state})

    return change


def test_an_import_is_the_first_entry(record: SetRecord) -> None:
    (entry,) = history.revisions_of(record)
    assert (entry.number, entry.what, entry.by, entry.by_name) == (
        1,
        "Taken in from bench-1.toml",
        None,
        "the command line",
    )
    assert entry.text == record.text == history.text_at(record, 1)
    assert record.revision == 1


def test_an_edit_makes_an_entry_and_refreshes_the_columns(record: SetRecord, mate: User) -> None:
    family = family_of(record.family)
    kept = keeping.edit(
        record, lambda file: editing.change_set(file, family, {"open_to": "underside"}), by=mate, what="Opened"
    )
    assert (kept.revision, kept.open_to, kept.changed_by) == (2, "underside", mate)
    stored = SetRecord.objects.get()
    assert (stored.revision, stored.open_to, stored.text) == (2, "underside", kept.text)
    newest = history.revisions_of(stored)[0]
    assert (newest.number, newest.by, newest.by_name, newest.what) == (2, mate, "mate", "Opened")
    assert newest.text == stored.text


def test_edits_that_append_merge_with_what_others_appended(record: SetRecord, mate: User) -> None:
    keeping.edit(record, seen("printed"), by=mate, what="Dial seen")
    keeping.edit(record, seen("stamped over"), by=None, what="Dial seen again")  # from the same stale record
    stored = SetRecord.objects.get()
    assert stored.revision == 3
    assert stored.text.count('feature = "label"') == 3


def test_the_second_of_two_people_is_told(record: SetRecord, mate: User) -> None:
    keeping.keep(record, record.text + "\n# mine\n", by=mate, what="A remark", seen_revision=1)
    with pytest.raises(ChangedMeanwhile) as caught:
        keeping.keep(record, record.text + "\n# yours\n", by=None, what="Another", seen_revision=1)
    assert (caught.value.by_name, caught.value.what) == ("mate", "A remark")
    assert caught.value.theirs.endswith("# mine\n")
    assert SetRecord.objects.get().text.endswith("# mine\n")


def test_a_text_that_cannot_be_read_changes_nothing(record: SetRecord) -> None:
    with pytest.raises(FileProblems, match="6BE7"):
        keeping.keep(record, record.text.replace("6BE6", "6BE7"), by=None, what="Wrong")
    assert Revision.objects.filter(kind="set").count() == 1
    assert SetRecord.objects.get().text == record.text


def test_the_same_text_makes_no_entry(record: SetRecord) -> None:
    assert keeping.keep(record, record.text, by=None, what="Nothing").revision == 1
    assert Revision.objects.filter(kind="set").count() == 1


def test_an_id_stays(record: SetRecord) -> None:
    with pytest.raises(FileProblems, match='this set is "bench-1"'):
        keeping.keep(record, record.text.replace('id = "bench-1"', 'id = "bench-2"'), by=None, what="Renamed")


def test_a_family_that_its_sets_no_longer_fit_is_refused(record: SetRecord) -> None:
    family = record.family
    with pytest.raises(FileProblems, match="already here"):
        keeping.keep(family, family.text.replace("dial-lamp", "lamps"), by=None, what="Renamed a feature")
    assert FamilyRecord.objects.get().revision == 1


def test_what_is_removed_comes_back(record: SetRecord, mate: User) -> None:
    keeping.remove(record, mate)
    assert not SetRecord.objects.exists()
    assert SetRecord.everything.get().is_removed
    with pytest.raises(ChangedMeanwhile) as caught:
        keeping.edit(record, seen("printed"), by=None, what="Too late")
    assert caught.value.what == "Removed"
    back = keeping.bring_back(record, mate)
    assert (SetRecord.objects.get().text, back.revision) == (record.text, 3)
    assert [entry.removed for entry in history.revisions_of(back)] == [False, True, False]
    with pytest.raises(Refused, match="there already"):
        keeping.bring_back(record, mate)


def test_a_family_stays_while_it_has_sets(record: SetRecord) -> None:
    with pytest.raises(Refused, match="1 set of this family is still here"):
        keeping.remove(record.family, None)
    keeping.remove(record, None)
    family = keeping.remove(FamilyRecord.objects.get(), None)
    with pytest.raises(Refused, match="bring the family back first"):
        keeping.bring_back(record, None)
    keeping.bring_back(family, None)
    keeping.bring_back(record, None)
    assert SetRecord.objects.get().family == family


def test_a_removed_register_is_no_register(record: SetRecord) -> None:
    keeping.remove(SurvivorRegister.objects.get(), None)
    assert FamilyRecord.objects.get().register_or_none is None
    assert FamilyRecord.objects.select_related("register").get().register_or_none is None


def test_an_id_that_is_taken_is_told(record: SetRecord) -> None:
    with pytest.raises(FileProblems, match='there is a set "bench-1" already'):
        keeping.create("set", record.text, by=None, what="Begun", name="new.toml")
    keeping.remove(record, None)
    again = keeping.create("set", record.text, by=None, what="Begun anew", name="new.toml")
    assert (again.pk, again.revision, again.file_name) == (record.pk, 3, "new.toml")


def test_nothing_is_added_to_a_family_that_somebody_removed_meanwhile(record: SetRecord, texts: dict) -> None:
    seen_before = FamilyRecord.objects.get()
    register = SurvivorRegister.objects.get()
    for one in (register, record, seen_before):
        keeping.remove(one, None)
    with pytest.raises(FileProblems, match='family "heron-6" is removed'):
        keeping.create("survivors", texts["survivors"], by=None, what="Begun", name="s.csv", parent=seen_before)
    assert not SurvivorRegister.objects.exists()


def test_entries_are_never_changed(record: SetRecord) -> None:
    entry = history.revisions_of(record)[0]
    entry.what = "Something else"
    with pytest.raises(TypeError):
        entry.save()


def test_who_listens_hears_of_each_entry(record: SetRecord) -> None:
    heard = []

    def listen(sender: type, record: SetRecord, revision: Revision, **more: object) -> None:
        heard.append((sender, record.key, revision.number, revision.removed))

    keeping.changed.connect(listen)
    try:
        keeping.edit(record, seen("printed"), by=None, what="Dial seen")
        keeping.remove(record, None)
    finally:
        keeping.changed.disconnect(listen)
    assert heard == [(SetRecord, "bench-1", 2, False), (SetRecord, "bench-1", 3, True)]
