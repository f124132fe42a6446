"""What was done can be read, taken back, and gone back to; nothing of it is ever lost."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from setwright.files import FileProblems, editing
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.records.errors import ChangedMeanwhile, Refused
from setwright.workbench.records.models import Revision
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(shelf: None) -> SetRecord:
    return SetRecord.objects.get()


def see(record: SetRecord, feature: str, state: str) -> SetRecord:
    family = family_of(record.family)
    table = {"feature": feature, "state": state}
    what = f"{feature} seen: {state}"
    return keeping.edit(record, lambda file: editing.add_observation(file, family, table), by=None, what=what)


def test_the_newest_change_is_taken_back(record: SetRecord) -> None:
    see(record, "label", "stamped over")
    undone = history.undo(record, by=None, number=2)
    assert undone.text == record.text
    assert undone.observation_count == record.observation_count
    newest = history.revisions_of(record)[0]
    assert (newest.number, newest.undoes, newest.what) == (3, 2, "Taken back: label seen: stamped over")


def test_taking_back_is_itself_taken_back(record: SetRecord) -> None:
    seen = see(record, "label", "stamped over")
    history.undo(record, by=None, number=2)
    assert history.undo(record, by=None, number=3).text == seen.text


def test_an_older_change_is_taken_back_alone(record: SetRecord) -> None:
    see(record, "label", "stamped over")
    see(record, "output-rivets", "four")
    undone = history.undo(record, by=None, number=2)
    assert "stamped over" not in undone.text
    assert "output-rivets" in undone.text


def test_a_change_that_later_ones_touched_is_refused(record: SetRecord) -> None:
    see(record, "label", "stamped over")
    family = family_of(record.family)
    keeping.edit(
        record,
        lambda file: editing.change_observation(file, family, 4, {"state": "printed"}),
        by=None,
        what="Label corrected",
    )
    before = SetRecord.objects.get().text
    with pytest.raises(Refused, match="Later changes touched the same lines"):
        history.undo(record, by=None, number=2)
    history.undo(record, by=None, number=3)
    history.undo(record, by=None, number=2)
    assert SetRecord.objects.get().text == record.text != before
    with pytest.raises(Refused, match=r"Nothing of this change is left|same lines"):
        history.undo(record, by=None, number=2)


def test_the_first_entry_stays(record: SetRecord) -> None:
    with pytest.raises(Refused, match="remove the record"):
        history.undo(record, by=None, number=1)
    with pytest.raises(Revision.DoesNotExist):
        history.undo(record, by=None, number=7)


def test_a_removal_is_taken_back(record: SetRecord) -> None:
    keeping.remove(record, None)
    back = history.undo(record, by=None, number=2)
    assert not back.is_removed
    assert history.revisions_of(back)[0].undoes == 2
    with pytest.raises(Refused, match="use the button for it"):
        history.undo(record, by=None, number=3)
    keeping.remove(record, None)
    with pytest.raises(Refused, match="Bring it back first"):
        history.undo(record, by=None, number=3)


def test_a_change_without_which_nothing_could_be_read_is_refused(record: SetRecord) -> None:
    family = record.family
    more = '\n[[feature]]\nid = "chassis-stamp"\nlabel = "Chassis stamp"\naccess = "back off"\npermanence = "stamped"\n'
    more += 'states = ["A", "B"]\n'
    keeping.keep(family, family.text + more, by=None, what="Chassis stamp added")
    see(SetRecord.objects.get(), "chassis-stamp", "A")
    with pytest.raises(Refused, match="chassis-stamp"):
        history.undo(FamilyRecord.objects.get(), by=None, number=2)
    assert FamilyRecord.objects.get().revision == 2


def test_going_back_keeps_what_lies_between(record: SetRecord) -> None:
    seen = see(record, "label", "stamped over")
    see(record, "output-rivets", "four")
    back = history.go_back(record, 2, by=None)
    assert (back.text, back.revision) == (seen.text, 4)
    assert "four" in history.text_at(record, 3)
    with pytest.raises(ChangedMeanwhile):
        history.go_back(record, 1, by=None, seen_revision=3)


def test_going_back_to_what_no_longer_reads_is_refused(record: SetRecord) -> None:
    see(record, "knobs", "brass")
    history.undo(record, by=None, number=2)
    family = FamilyRecord.objects.get()
    start = family.text.index('[[feature]]\nid = "knobs"')
    end = family.text.index("[[", start + 4)
    text = family.text[:start] + family.text[end:]
    text = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("knobs"))
    keeping.keep(family, text, by=None, what="Knobs left out")
    with pytest.raises(FileProblems, match="knobs"):
        history.go_back(SetRecord.objects.get(), 2, by=None)


STATES = {"label": "stamped over", "output-rivets": "four", "dial-lamp": "one lamp", "converter": "6SA7"}
STEPS = st.one_of(
    st.tuples(st.just("see"), st.sampled_from(sorted(STATES))),
    st.tuples(st.just("unsee"), st.integers(0, 6)),
    st.tuples(st.just("write"), st.text(alphabet="ab \n\u00e9", max_size=6)),
    st.tuples(st.just("remove"), st.none()),
    st.tuples(st.just("bring back"), st.none()),
    st.tuples(st.just("go back"), st.integers(1, 8)),
    st.tuples(st.just("undo"), st.integers(1, 8)),
)


def take(record: SetRecord, step: str, value: Any) -> SetRecord:
    family = family_of(record.family)
    if step == "see":
        return see(record, value, STATES[value])
    if step == "unsee":
        change = lambda file: editing.remove_observation(file, family, value)  # noqa: E731
        return keeping.edit(record, change, by=None, what="Removed an observation")
    if step == "write":
        remark = "".join(f"# {line}\n" for line in value.splitlines())
        return keeping.edit(record, lambda file: file.text + remark, by=None, what="A remark")
    if step == "remove":
        return keeping.remove(record, None)
    if step == "bring back":
        return keeping.bring_back(record, None)
    if step == "go back":
        return history.go_back(record, value, by=None)
    return history.undo(record, by=None, number=value)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(st.lists(STEPS, max_size=9))
def test_whatever_is_done_every_acknowledged_state_stays_readable(record: SetRecord, steps: list) -> None:
    with transaction.atomic():
        acknowledged = {1: record.text}
        for step, value in steps:
            try:
                kept = take(record, step, value)
            except (Refused, FileProblems, ChangedMeanwhile, Revision.DoesNotExist):
                continue  # told plainly, and nothing written: the numbers below would show it
            acknowledged[kept.revision] = kept.text
        stored = SetRecord.everything.get()
        assert {n: history.text_at(stored, n) for n in range(1, stored.revision + 1)} == acknowledged
        assert stored.text == acknowledged[stored.revision]
        entries = history.revisions_of(stored)
        assert [entry.number for entry in entries] == list(range(stored.revision, 0, -1))
        assert entries[0].removed == stored.is_removed
        assert entries[0].digest == stored.digest
        transaction.set_rollback(True)
