"""Lines that share their cut-ins become one run."""

import pytest

from setwright.identity.drawn.runs import build_runs
from setwright.identity.history import read_history
from setwright.identity.model import Family, Feature, ImpossibleHistory, Line, Version
from setwright.identity.places import FRACTION_UNIT, SERIAL_UNIT, Axis


def feature(name):
    return Feature(name, name.title(), (f"{name}0", f"{name}1"))


def version(name, line, **states):
    return Version(name, name.title(), line, states=states)


def axis(line, last=100, unit=SERIAL_UNIT):
    return Axis(line, 1, last, unit, ((1, last),))


def runs_of(versions, features="abcd", axes=None, **more):
    lines = more.pop("lines", (Line("main"), Line("export", shares_cutins_with="main")))
    family = Family("f", "Family", tuple(feature(f) for f in features), tuple(versions), lines=lines)
    return build_runs(family, read_history(family), axes or {line.id: axis(line.id) for line in lines})


def test_lines_apart_have_runs_of_their_own():
    versions = [
        version("m1", "main", a="a0", b="b0"),
        version("m2", "main", a="a1", b="b1"),
        version("x1", "export", a="a0"),
        version("x2", "export", a="a1"),
    ]
    runs, views = runs_of(versions, "ab", lines=(Line("main"), Line("export")))
    assert [run.lines for run in runs] == [(0,), (1,)]
    assert [[c.id for c in run.changes] for run in runs] == [["main:a:1", "main:b:1"], ["export:a:1"]]
    assert views[1].free == {"b": (1, "b")}


def test_a_line_that_shares_puts_its_own_changes_beside_those_they_stand_with():
    versions = [
        version("m1", "main", a="a0", b="b0", c="c0", d="d0"),
        version("m2", "main", a="a1", b="b0", c="c0", d="d0"),
        version("m3", "main", a="a1", b="b1", c="c0", d="d0"),
        version("x1", "export", a="a0", b="b0", c="c0", d="d0"),
        version("x2", "export", a="a1", b="b0", c="c1", d="d0"),
        version("x3", "export", a="a1", b="b1", c="c1", d="d0"),
    ]
    runs, views = runs_of(versions)
    (run,) = runs
    assert run.block_sizes == (2, 1)
    assert [(c.id, c.block) for c in run.changes] == [("main:a:1", 0), ("export:c:1", 0), ("main:b:1", 1)]
    assert [c.id for c in views[1].changes] == ["export:a:1", "export:c:1", "export:b:1"]
    assert views[1].columns == (0, 1, 2)
    assert views[0].columns == (0, 2)


def test_a_step_of_its_own_is_put_between_the_others():
    versions = [
        version("m1", "main", a="a0", b="b0"),
        version("m2", "main", a="a1", b="b0"),
        version("m3", "main", a="a1", b="b1"),
        version("x1", "export", a="a0", b="b0", c="c0"),
        version("x2", "export", a="a1", b="b0", c="c0"),
        version("x3", "export", a="a1", b="b0", c="c1"),
        version("x4", "export", a="a1", b="b1", c="c1"),
    ]
    runs, views = runs_of(versions, "abc")
    assert [c.id for c in runs[0].changes] == ["main:a:1", "export:c:1", "main:b:1"]
    assert runs[0].blocks == 3
    assert views[1].columns == (0, 1, 2)


def test_what_one_line_makes_at_one_step_and_the_other_at_two_may_belong_to_either():
    versions = [
        version("m1", "main", a="a0", b="b0"),
        version("m2", "main", a="a1", b="b0"),
        version("m3", "main", a="a1", b="b1"),
        version("x1", "export", a="a0", b="b0", c="c0"),
        version("x2", "export", a="a1", b="b1", c="c1"),
    ]
    runs, _ = runs_of(versions, "abc")
    (spanning,) = [c for c in runs[0].changes if c.block < 0]
    assert (spanning.id, spanning.spans) == ("export:c:1", (0, 1))


def test_contradicting_orders_are_refused():
    versions = [
        version("m1", "main", a="a0", b="b0"),
        version("m2", "main", a="a1", b="b0"),
        version("m3", "main", a="a1", b="b1"),
        version("x1", "export", a="a0", b="b0"),
        version("x2", "export", a="a0", b="b1"),
        version("x3", "export", a="a1", b="b1"),
    ]
    with pytest.raises(ImpossibleHistory, match="another order"):
        runs_of(versions, "ab")


def test_a_line_without_serials_takes_the_places_of_the_one_it_shares_with():
    versions = [version("m1", "main", a="a0"), version("m2", "main", a="a1")]
    axes = {"main": axis("main", 60), "export": axis("export", 512, FRACTION_UNIT)}
    runs, views = runs_of(versions, "a", axes=axes)
    assert (runs[0].axis.last, views[1].axis.last, views[1].axis.unit) == (60, 60, SERIAL_UNIT)
