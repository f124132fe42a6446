"""The index follows long records after they are stored, is never half right, and says what it cannot read."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from setwright.files import editing
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.search import catching, index
from setwright.workbench.search.finding import Allowed, find
from setwright.workbench.search.models import IndexMark, SearchEntry
from setwright.workbench.services.imports import import_files
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

CAST = Path(__file__).parent.parent.parent / "cast"
PLOVER = [CAST / "plover.toml", CAST / "plover-bench.toml", f"plover-5={CAST / 'plover-survivors.csv'}"]


def behind() -> list[str]:
    return sorted(IndexMark.objects.filter(behind=True).values_list("record_kind", flat=True))


def everything() -> list[tuple[Any, ...]]:
    columns = ("record_kind", "record_key", "anchor", "kind", "title", "body", "address", "body_words", "digest")
    return sorted(SearchEntry.objects.values_list(*columns))


def found(words: str) -> int:
    return find(words, Allowed()).total


@pytest.fixture
def plover(db: None) -> FamilyRecord:
    import_files(PLOVER)
    return FamilyRecord.objects.get()


@pytest.fixture
def long_ones(plover: FamilyRecord, monkeypatch: pytest.MonkeyPatch) -> SurvivorRegister:
    """Registers count as long; what is stored is followed when the test says so."""
    monkeypatch.setattr(index, "SHORT", 1)
    return SurvivorRegister.objects.get()


def with_row(text: str, name: str, note: str) -> str:
    header = text.splitlines()[0].split(",")
    row = dict.fromkeys(header, "") | {"id": name, "note" if "note" in header else "serial": note}
    return text.rstrip("\n") + "\n" + ",".join(row.values()) + "\n"


def test_a_changed_row_of_a_long_register_is_followed_at_once_and_alone(
    long_ones: SurvivorRegister, monkeypatch: pytest.MonkeyPatch
) -> None:
    numbers = dict(SearchEntry.objects.filter(kind="survivor").values_list("anchor", "id"))
    monkeypatch.setattr(index, "items_of", None)  # the whole register is not looked at
    edited = keeping.keep(long_ones, with_row(long_ones.text, "Z-1", "7777"), by=None, what="One more")
    assert (found("7777"), behind()) == (1, [])
    edited = keeping.keep(edited, edited.text.replace("7777", "8888"), by=None, what="Another serial")
    assert (found("7777"), found("8888")) == (0, 1)
    history.undo(edited, by=None, number=edited.revision)
    assert (found("7777"), found("8888")) == (1, 0)
    after = dict(SearchEntry.objects.filter(kind="survivor").values_list("anchor", "id"))
    assert {name: number for name, number in after.items() if name != "Z-1"} == numbers


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("id,", "id,x-colour,", 1).replace("\nP-04,", "\nP-04,teal,"),
        lambda text: with_row(text, "Z-1", '"several\nlines"').replace("P-04", "P-99"),
        lambda text: text.replace("\n", "\r"),
    ],
    ids=["another column", "a cell of several lines", "other line ends"],
)
def test_what_cannot_be_told_line_by_line_is_followed_later(
    plover: FamilyRecord, monkeypatch: Any, change: Any
) -> None:
    register = SurvivorRegister.objects.get()
    monkeypatch.setattr(index, "SHORT", 1)
    header = register.text.splitlines()[0]
    text = change(register.text)
    if text.startswith("id,x-colour,"):
        rows = [
            line.replace(",", ",,", 1) if not line.startswith(("P-04,", "id,")) else line for line in text.splitlines()
        ]
        text = "\n".join(rows) + "\n"
    keeping.keep(register, text, by=None, what="Changed")
    assert behind() == ["survivors"], header
    catching.catch_up()
    assert behind() == []
    caught = everything()
    SearchEntry.objects.all().delete()
    index.rebuild()
    assert everything() == caught


def test_a_removed_one_and_one_of_a_changed_family_come_later(
    long_ones: SurvivorRegister, plover: FamilyRecord, monkeypatch: pytest.MonkeyPatch
) -> None:
    feature = family_of(plover).features[0]
    keeping.edit(
        plover, lambda file: editing.change_in_family(file, "feature", feature.id, {"label": "Wobbulator"}),
        by=None, what="Renamed",
    )  # fmt: skip
    assert {"set", "survivors"} <= set(behind())
    catching.catch_up()
    assert find("wobbulator", Allowed()).counts["survivor"] > 0
    removed = keeping.remove(SurvivorRegister.objects.get(), None)
    catching.catch_up()
    assert not SearchEntry.objects.filter(kind="survivor").exists()
    keeping.bring_back(removed, None)
    catching.catch_up()
    assert find("wobbulator", Allowed()).counts["survivor"] > 0
    assert behind() == []


def test_many_at_once_are_followed_later(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(index, "FEW", 2)
    import_files(PLOVER)
    assert (behind(), found("plover")) == (["family", "set", "survivors"], 0)
    catching.catch_up()
    assert behind() == []
    assert found("plover") > 0


def test_a_record_that_moves_on_meanwhile_is_done_again(
    long_ones: SurvivorRegister, monkeypatch: pytest.MonkeyPatch
) -> None:
    index.mark_behind([long_ones])
    inner = catching.put_in
    keeping.edit(long_ones, lambda text: with_row(text, "Z-1", "7777"), by=None, what="One more")

    def meanwhile(*arguments: Any) -> None:
        monkeypatch.setattr(catching, "put_in", inner)
        inner(*arguments)
        keeping.edit(long_ones, lambda text: with_row(text, "Z-2", "9999"), by=None, what="One more")

    monkeypatch.setattr(catching, "put_in", meanwhile)
    catching.catch_up()
    assert (behind(), found("9999")) == (["survivors"], 0)
    catching.catch_up()
    assert (behind(), found("7777"), found("9999")) == ([], 1, 1)


def test_whoever_is_overtaken_stops(long_ones: SurvivorRegister, monkeypatch: pytest.MonkeyPatch) -> None:
    SearchEntry.objects.filter(kind="survivor").delete()
    index.mark_behind([long_ones])
    inner = catching.put_in

    def meanwhile(*arguments: Any) -> None:
        monkeypatch.setattr(catching, "put_in", inner)
        inner(*arguments)
        catching.catch_up()

    monkeypatch.setattr(catching, "put_in", meanwhile)
    monkeypatch.setattr(catching, "BATCH", 2)
    catching.catch_up()
    anchors = list(SearchEntry.objects.filter(kind="survivor").values_list("anchor", flat=True))
    assert len(anchors) == len(set(anchors)) == long_ones.count
    assert behind() == []


def test_what_cannot_be_read_is_left_out_and_told(plover: FamilyRecord, caplog: pytest.LogCaptureFixture) -> None:
    SetRecord.objects.update(text="format = 7", digest="bad")
    IndexMark.objects.all().delete()
    index.IndexVersion.objects.update(number=0)
    assert index.ensure_current()
    assert "The search leaves set tall-shelf out: " in caplog.text
    assert IndexMark.objects.get(record_kind="set").problem
    assert not SearchEntry.objects.filter(record_kind="set").exists()
    assert (behind(), found("P-04") > 0) == ([], True)


def test_a_defect_in_one_record_does_not_keep_the_others_out(
    plover: FamilyRecord, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(record: Any) -> Any:
        if record.record_kind == "set":
            raise KeyError("dial")
        return inner(record)

    inner = catching.items_of
    monkeypatch.setattr(catching, "items_of", broken)
    index.rebuild()
    assert IndexMark.objects.get(record_kind="set").problem == "KeyError: 'dial'"
    assert "Traceback" in caplog.text
    assert found("P-04") > 0


@pytest.mark.django_db(transaction=True)
def test_while_the_site_runs_a_thread_does_it(monkeypatch: pytest.MonkeyPatch) -> None:
    caught, inner = threading.Event(), catching.catch_up

    def told(*arguments: Any) -> None:
        inner(*arguments)
        if SearchEntry.objects.filter(anchor="Z-1").exists():
            caught.set()

    monkeypatch.setattr(catching, "catch_up", told)
    monkeypatch.setattr(catching, "PAUSE_SECONDS", 0.0)
    import_files(PLOVER)
    monkeypatch.setattr(index, "SHORT", 1)
    monkeypatch.setattr(index, "FEW", 0)
    with catching.catching_up():
        register = SurvivorRegister.objects.get()
        keeping.keep(
            register, with_row(register.text, "Z-1", "7777").replace("id,", "id ,", 1), by=None, what="One more"
        )
        assert caught.wait(30)
    assert not [thread for thread in threading.enumerate() if thread.name == "search index"]


class AnyEdit(TestCase):
    """However rows come, go and change, following the rows gives what following the whole gives."""

    @classmethod
    def setUpTestData(cls) -> None:
        import_files(PLOVER)

    @given(
        st.lists(
            st.tuples(st.sampled_from("acd"), st.integers(0, 20), st.sampled_from(("x", '"a, b"', "\u2028", "é"))),
            max_size=5,
        )
    )
    def test_rows(self, steps: list[tuple[str, int, str]]) -> None:
        record = SurvivorRegister.objects.get()
        lines = [f"{line},{'x-word' if number == 0 else ''}" for number, line in enumerate(record.text.splitlines())]
        record = keeping.keep(record, "\n".join(lines) + "\n", by=None, what="A column")
        for number, (deed, place, word) in enumerate(steps):
            row = 1 + place % max(len(lines) - 1, 1)
            if deed == "a" or len(lines) < 3:
                lines.append(f"N-{number}" + "," * lines[0].count(",") + word)
            elif deed == "d":
                del lines[row]
            else:
                lines[row] = ",".join([f"C-{number}", *lines[row].split(",")[1:]])
        short, index.SHORT = index.SHORT, 1
        try:
            keeping.keep(record, "\n".join(lines) + "\n", by=None, what="Edited")
        finally:
            index.SHORT = short
        assert not behind()
        rows = everything()
        SearchEntry.objects.all().delete()
        index.rebuild()
        assert everything() == rows
