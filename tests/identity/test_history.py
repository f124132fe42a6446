"""Documents read as blocks of changes."""

import pytest

from setwright.identity.history import read_history
from setwright.identity.model import CutInBound, Family, Feature, ImpossibleHistory, Line, Version


def feature(name, *states, **more):
    return Feature(name, name.title(), states or (f"{name}0", f"{name}1"), **more)


def family(features, versions, **more):
    return Family("f", "Family", tuple(features), tuple(versions), **more)


def version(name, line="main", **states):
    return Version(name, name.title(), line, states=states)


def test_each_gap_between_versions_is_a_block_of_changes():
    history = read_history(
        family(
            [feature("a"), feature("b", "b0", "b1", "b2")],
            [version("one", a="a0", b="b0"), version("two", a="a1", b="b1"), version("three", a="a1", b="b2")],
        )
    )
    (line,) = history.lines
    assert [[c.id for c in block] for block in line.blocks] == [["main:a:1", "main:b:1"], ["main:b:2"]]
    assert line.version_gaps == (1, 2)
    assert not history.needs_drawing


def test_versions_without_a_change_between_them_share_an_entry():
    """The first one's id, a label that names all; the gap's number still counts versions."""
    history = read_history(
        family([feature("a")], [version("one", a="a0"), version("reprint", a="a0"), version("three", a="a1")])
    )
    (line,) = history.lines
    assert [(s.version, s.label) for s in line.stages] == [("one", "One / Reprint"), ("three", "Three")]
    assert line.version_gaps == (2,)


def test_a_change_there_and_back_is_two_changes():
    history = read_history(
        family([feature("a")], [version("one", a="a0"), version("two", a="a1"), version("three", a="a0")])
    )
    assert [(c.id, c.from_state, c.to_state) for c in history.lines[0].changes] == [
        ("main:a:1", "a0", "a1"),
        ("main:a:2", "a1", "a0"),
    ]


def test_silence_where_nothing_changed_says_nothing():
    """Silent before the first mention, after the last, or between equal ones: the state stays."""
    history = read_history(
        family(
            [feature("a"), feature("b"), feature("c")],
            [version("one", b="b0", c="c0"), version("two", a="a0", c="c1"), version("three", a="a1", b="b0")],
        )
    )
    (line,) = history.lines
    assert [s.states for s in line.stages] == [
        {"a": "a0", "b": "b0", "c": "c0"},
        {"a": "a0", "b": "b0", "c": "c1"},
        {"a": "a1", "b": "b0", "c": "c1"},
    ]
    assert line.silent == ()


def test_a_change_across_silence_belongs_to_the_only_step_there_is():
    history = read_history(
        family(
            [feature("a"), feature("b"), feature("c")],
            [version("one", a="a0", b="b0", c="c0"), version("two", b="b1"), version("x", a="a1", c="c1")],
        )
    )
    (line,) = history.lines
    assert [[c.id for c in block] for block in line.blocks] == [["main:a:1", "main:b:1", "main:c:1"]]
    assert [stage.label for stage in line.stages] == ["One", "Two / X"]
    assert line.silent == ()
    assert history.needs_drawing is False


def test_a_change_across_two_steps_spans_both():
    history = read_history(
        family(
            [feature("a"), feature("b", "b0", "b1", "b2")],
            [version("one", a="a0", b="b0"), version("two", b="b1"), version("three", a="a1", b="b2")],
        )
    )
    (line,) = history.lines
    (spanning,) = line.silent
    assert (spanning.id, spanning.spans) == ("main:a:1", (0, 1))
    assert "a" not in line.stages[1].states
    assert line.stages[2].states == {"a": "a1", "b": "b2"}
    assert history.needs_drawing


def test_where_nothing_else_changed_silence_means_as_before():
    history = read_history(family([feature("a")], [version("one", a="a0"), version("two"), version("three", a="a1")]))
    (line,) = history.lines
    assert [stage.label for stage in line.stages] == ["One / Two", "Three"]
    assert [c.id for c in line.changes] == ["main:a:1"]
    assert line.silent == ()


def test_a_feature_no_version_mentions_is_free():
    history = read_history(family([feature("a"), feature("b")], [version("one", a="a0"), version("two", a="a1")]))
    assert history.free == ("b",)
    assert history.lines[0].undocumented == ("b",)
    assert not history.needs_drawing


def test_old_stock_and_shared_cut_ins_need_drawing():
    plain = [version("one", a="a0"), version("two", a="a1"), version("x1", "export", a="a0")]
    assert read_history(family([feature("a", overlap=50)], plain[:2])).needs_drawing
    lines = (Line("main"), Line("export", shares_cutins_with="main"))
    assert read_history(family([feature("a")], plain, lines=lines)).needs_drawing


def test_a_line_lacks_what_other_lines_have():
    history = read_history(
        family(
            [feature("a"), feature("b", lines=("main",))],
            [version("one", a="a0", b="b0"), version("two", a="a1", b="b1"), version("x1", "export", a="a0")],
            lines=(Line("main"), Line("export")),
        )
    )
    assert history.lines[1].stages[0].states == {"a": "a0", "b": "absent"}
    assert history.features[1].all_states == ("absent", "b0", "b1")


def test_bounds_become_earliest_and_latest_cut_ins():
    bounds = (CutInBound("a", "a0", "a1", after=4000), CutInBound("a", "a0", "a1", before=9000))
    history = read_history(
        family([feature("a")], [version("one", a="a0"), version("two", a="a1")], cut_in_bounds=bounds)
    )
    (change,) = history.lines[0].changes
    assert (change.earliest, change.latest) == (4001, 9000)


@pytest.mark.parametrize(
    "bounds",
    [
        (CutInBound("a", "a0", "a1", after=9000, before=9000),),
        (CutInBound("a", "a0", "a1", after=5000), CutInBound("b", "b0", "b1", before=5000)),
    ],
    ids=["one change", "two steps in the wrong order"],
)
def test_bounds_that_contradict_each_other_are_refused(bounds):
    contradictory = family(
        [feature("a"), feature("b")],
        [version("one", a="a0", b="b0"), version("two", a="a1", b="b0"), version("three", a="a1", b="b1")],
        cut_in_bounds=bounds,
    )
    with pytest.raises(ImpossibleHistory, match="main:"):
        read_history(contradictory)


def test_a_line_that_no_document_describes_still_lacks_what_it_lacks():
    history = read_history(
        family(
            [feature("a"), feature("b", lines=("main",)), feature("v", role="variant", lines=("main",))],
            [version("one", a="a0", b="b0"), version("two", a="a1", b="b1")],
            lines=(Line("main"), Line("export")),
        )
    )
    export = history.lines[1]
    assert export.blocks == ()
    assert export.stages[0].states == {"b": "absent", "v": "absent"}
    assert export.undocumented == ("a",)
    assert not history.free  # other lines say something of it
