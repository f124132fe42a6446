"""A set's column: what fits, what does not, and in which words."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from setwright.identity.answer import (
    Answer,
    Batch,
    GroupAnswer,
    Interval,
    Look,
    Method,
    ObservationAnswer,
    Prediction,
    VerdictEntry,
)
from setwright.identity.model import BenchSet, Family, Feature, Observation, Version
from setwright.workbench.families.grid import SetCell, grid_of
from setwright.workbench.services.cache import ByContent
from setwright.workbench.sets.comparison import set_cells
from setwright.workbench.sets.evidence import evidence_of
from setwright.workbench.sets.looks import next_looks

STATES = {
    "stamp": ("1", "2", "3"),
    "lamp": ("one", "two", "two"),
    "knob": ("brown", "brown", "ivory"),
    "cord": ("cloth", "cloth", "cloth"),
}
FAMILY = Family(
    id="f",
    name="F",
    features=tuple(
        Feature(name, f"The {name}", tuple(dict.fromkeys(states)), minutes=2.0, access="underside")
        for name, states in reversed(STATES.items())
    ),
    versions=tuple(
        Version(label, f"Sheet {label}", states={name: states[i] for name, states in STATES.items()})
        for i, label in enumerate("ABC")
    ),
)
BETWEEN = VerdictEntry(
    "between A and B",
    "main",
    None,
    ("A", "B"),
    1.0,
    {},
    {"stamp": "1", "lamp": "two", "knob": "brown", "cord": "cloth"},
)


def observed(**states: str) -> BenchSet:
    return BenchSet("s", "f", observations=tuple(Observation(name, state) for name, state in states.items()))


def answer(verdict: VerdictEntry, *observations: ObservationAnswer, **more: tuple) -> Answer:
    empty = {"predicted": (), "next": (), "batches": ()}
    return Answer(
        family="f",
        set="s",
        verdict=(verdict,),
        changes=(),
        observations=observations,
        condition={},
        serial=Interval(0, 0, 0),
        misfit_p_value=0.5,
        axes=(),
        explanations=(),
        warnings=(),
        method=Method("exact", None, None, 0, 1),
        **{**empty, **more},
    )


def kinds(bench_set: BenchSet, given: Answer) -> dict[str, str]:
    return {feature: cell.kind for feature, cell in set_cells(FAMILY, bench_set, given).items()}


def test_a_set_between_two_versions_has_features_of_both() -> None:
    bench_set = observed(stamp="1", lamp="two", cord="cloth", knob="ivory")
    doubt = ObservationAnswer("knob", "ivory", -8.0, 0.9, 0.1)
    found = set_cells(FAMILY, bench_set, answer(BETWEEN, doubt))
    assert kinds(bench_set, answer(BETWEEN, doubt)) == {
        "stamp": "before",
        "lamp": "after",
        "cord": "fits",
        "knob": "conflict",
    }
    assert found["cord"].note == "fits both"
    assert found["knob"].note.replace("\xa0", " ") == "does not fit: probably altered (90 %)"


def test_what_was_not_seen_is_foretold_and_what_says_nothing_is_said_so() -> None:
    bench_set = BenchSet(
        "s",
        "f",
        observations=(
            Observation("lamp", None, cannot_tell=True),
            Observation("knob", "ivory", serviced=True),
            Observation("cord", None, drift=True, written="0.03 uF"),
        ),
    )
    given = answer(BETWEEN, predicted=(Prediction("stamp", {"2": 0.25, "1": 0.75}),))
    assert kinds(bench_set, given) == {"lamp": "nothing", "knob": "nothing", "cord": "nothing", "stamp": "predicted"}
    cells = set_cells(FAMILY, bench_set, given)
    assert (cells["stamp"].text, cells["stamp"].note.replace("\xa0", " ")) == ("1", "foretold, 75 %")
    assert cells["cord"].text == "0.03 uF"
    assert evidence_of(FAMILY, bench_set, given).silent == (
        "The lamp (cannot tell)",
        "The knob (ivory, looks serviced)",
        "The cord (0.03 uF, drifted from every listed value)",
    )


def test_the_grid_is_a_staircase_whose_steps_run_on() -> None:
    grid = grid_of(FAMILY, "main", {"lamp": SetCell("two", "fits", state="two")}, set_label="s", leading=("A", "B"))
    assert [row.feature for row in grid.rows] == ["lamp", "stamp", "knob", "cord"]
    lamp, stamp, knob, cord = grid.rows
    assert [(span.text, span.width, span.shared) for span in lamp.spans] == [("one", 1, False), ("two", 2, True)]
    assert [span.width for span in stamp.spans] == [1, 1, 1]
    assert [(span.codes, span.width) for span in knob.spans] == [("A–B", 2), ("C", 1)]
    assert cord.spans[0].width == 3
    assert cord.cell == SetCell("not seen", "nothing")
    assert [column.leading for column in grid.columns] == [True, True, False]


def test_a_feature_of_another_line_that_was_seen_is_shown() -> None:
    elsewhere = Feature("strap", "Strap", ("a", "b"), lines=("export",))
    family = Family("f", "F", (*FAMILY.features, elsewhere), FAMILY.versions)
    assert "strap" not in [row.feature for row in grid_of(family, "main").rows]
    seen = grid_of(family, "main", {"strap": SetCell("a", "conflict", state="a")}, set_label="s")
    assert "strap" in [row.feature for row in seen.rows]


def test_silence_of_a_version_is_its_own_field() -> None:
    versions = (FAMILY.versions[0], Version("B", "Sheet B", states={}))
    grid = grid_of(Family("f", "F", FAMILY.features, versions), "main")
    assert [(span.text, span.silent) for span in grid.rows[0].spans] == [("cloth", False), ("not said", True)]


def test_evidence_puts_the_weighty_and_the_doubtful_first() -> None:
    given = answer(
        BETWEEN,
        ObservationAnswer("stamp", "1", 0.2, 0.01, 0.0),
        ObservationAnswer("lamp", "two", 12.0, 0.08, 0.0),
        ObservationAnswer("knob", "ivory", -0.3, 0.1, 0.8),
        ObservationAnswer("cord", "cloth", -30.0, 0.2, 0.0),
    )
    evidence = evidence_of(FAMILY, observed(stamp="1", lamp="two", knob="ivory", cord="cloth"), given)
    assert [row.feature for row in evidence.rows] == ["cord", "lamp", "knob"]
    assert [row.feature for row in evidence.light] == ["stamp"]
    assert [(row.words, row.against, row.suspect) for row in evidence.rows] == [
        ("decisively against", True, False),
        ("strongly for", False, False),
        ("next to nothing", True, True),
    ]
    assert (evidence.rows[0].bar, evidence.rows[1].bar) == (100.0, 60.0)
    assert [doubt.replace("\xa0", " ") for doubt in evidence.rows[2].doubts] == ["altered 10 %", "misread 80 %"]


def test_looks_say_what_opening_costs() -> None:
    given = answer(
        BETWEEN,
        next=(
            Look("stamp", 1.0, 37.0, 0.03, "underside"),
            Look("lamp", 0.5, 37.0, 0.01, "underside"),
            Look("knob", 0.2, 37.0, 0.01, "underside"),
        ),
        batches=(Batch("underside", ("stamp", "lamp"), 1.4, 39.0, 0.04, ("Pull the plug.",)),),
    )
    looks = next_looks(FAMILY, given, "outside")
    (batch,) = looks.batches
    assert batch.heading == "On the underside of the chassis"
    assert batch.time == "39 minutes, 35 minutes of it for opening"
    assert (batch.worth, batch.cautions) == ("1.4 bits", ("Pull the plug.",))
    assert [look.label for look in batch.looks] == ["The stamp", "The lamp"]
    (other,) = looks.others
    assert [look.label for look in other.looks] == ["The knob"]
    assert any("plug" in caution for caution in other.cautions)


def test_a_set_is_not_opened_for_next_to_nothing() -> None:
    idle = Batch("underside", ("stamp",), 0.01, 37.0, 0.0, ("Pull the plug.",))
    looks = next_looks(FAMILY, answer(BETWEEN, batches=(idle,)), "outside")
    assert looks.batches == ()
    assert [section.cautions for section in looks.idle] == [("Pull the plug.",)]


def test_the_cache_computes_once_and_keeps_what_is_used() -> None:
    cache: ByContent[int] = ByContent(size=2)
    asked: list[str] = []

    def value(key: str) -> int:
        return cache.get(key, lambda: (asked.append(key), len(asked))[1])

    assert [value(key) for key in ("a", "b", "a", "c", "a", "b")] == [1, 2, 1, 3, 1, 4]
    assert asked == ["a", "b", "c", "b"]


def test_the_cache_keeps_no_failure() -> None:
    cache: ByContent[int] = ByContent(size=2)

    def fail() -> int:
        raise ValueError("not today")

    with pytest.raises(ValueError, match="not today"):
        cache.get("a", fail)
    assert cache.get("a", lambda: 5) == 5


def test_two_threads_that_ask_at_once_compute_once() -> None:
    cache: ByContent[int] = ByContent(size=2)
    under_way, go_on, asked = threading.Event(), threading.Event(), []

    def slow() -> int:
        asked.append(1)
        under_way.set()
        go_on.wait(10)
        return 7

    results: list[int] = []
    threads = [threading.Thread(target=lambda: results.append(cache.get("a", slow))) for _ in range(3)]
    threads[0].start()
    under_way.wait(10)
    for thread in threads[1:]:
        thread.start()
    go_on.set()
    for thread in threads:
        thread.join(10)
    assert (results, asked) == ([7, 7, 7], [1])


def test_what_came_with_a_group_from_elsewhere_is_not_said_to_fit_this_version() -> None:
    married = replace(FAMILY, features=tuple(replace(f, group="cabinet") for f in FAMILY.features))
    verdict = replace(BETWEEN, version="A", between=None, states={**BETWEEN.states, "knob": "ivory", "lamp": "two"})
    bench_set = observed(knob="ivory", cord="cloth")
    given_answer = answer(verdict, groups=(GroupAnswer("cabinet", 0.93, Interval(0, 0, 0)),))
    cells = set_cells(married, bench_set, given_answer)
    assert (cells["knob"].kind, cells["cord"].kind) == ("seen", "fits")
    assert cells["knob"].note.replace("\xa0", " ") == "not of this set: the cabinet came from another (93 %)"
    assert "probably built so" in set_cells(married, bench_set, answer(verdict))["knob"].note


def test_a_feature_that_no_document_mentions_is_no_fit_to_a_version() -> None:
    free = replace(FAMILY, versions=tuple(replace(v, states={**v.states}) for v in FAMILY.versions))
    for version in free.versions:
        del version.states["knob"]  # type: ignore[attr-defined]
    verdict = replace(BETWEEN, version="A", between=None)
    cells = set_cells(free, observed(knob="brown"), answer(verdict))
    assert (cells["knob"].kind, cells["knob"].note) == ("seen", "no document says which versions have it")
    assert set_cells(free, observed(knob="ivory"), answer(verdict))["knob"].kind == "conflict"
