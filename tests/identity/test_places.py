"""Serials on production axes."""

import itertools

import numpy as np
import pytest

from setwright.identity.model import CutInBound, Family, Line, SerialBlock
from setwright.identity.places import (
    Place,
    axis_of,
    axis_with_set,
    describe,
    locate,
    on_axis,
    positions_of,
    standable_places,
)

NOTHING = np.empty(0, dtype=np.int64)


def family(**more):
    return Family("f", "Family", (), (), **more)


BLOCKS = family(
    lines=(Line("main"), Line("export")),
    serial_blocks=(
        SerialBlock("B", 1, 20000, 15001, "main"),
        SerialBlock("A", 1, 15000, 1, "main"),
        SerialBlock("X", 500, 999, 1, "export"),
    ),
)


def test_a_plain_serial_is_its_own_position_in_every_line():
    both = family(last_serial=60000, lines=(Line("main"), Line("export")))
    assert locate(both, "4 711") == (Place("main", 4711, 4711), Place("export", 4711, 4711))
    assert locate(both, "4711", "export") == (Place("export", 4711, 4711),)


def test_a_prefix_decides_the_block_and_so_the_line():
    assert locate(BLOCKS, "B 1204") == (Place("main", 16204, 16204),)
    assert locate(BLOCKS, "X500") == (Place("export", 1, 1),)
    assert locate(BLOCKS, "X499") == ()
    assert locate(BLOCKS, "1204") == ()


def test_illegible_characters_leave_every_place_they_fit():
    assert locate(BLOCKS, "?12") == (Place("main", 12, 12), Place("main", 15012, 15012))
    assert locate(BLOCKS, "X50?") == (Place("export", 1, 10),)
    assert locate(BLOCKS, None) == (Place("main", 1, 35000), Place("export", 1, 500))


def test_a_position_is_written_as_its_serial():
    assert describe(BLOCKS, "main", 16204) == "B1204"
    assert describe(BLOCKS, "main", 3) == "A3"
    assert list(positions_of(BLOCKS, "main", "B", np.array([1, 20001, 1204]))) == [15001, -1, 16204]


def test_the_last_serial_is_estimated_where_no_document_gives_it():
    """m + m/n - 1 rounded up: 14 the largest of four gives 16.5, so 17 (the usual textbook example, from memory)."""
    axis = axis_of(family(), "main", np.array([3, 14, 8, 11]))
    assert (axis.first, axis.last, axis.inferred, axis.unit) == (1, 17, True, "serial")
    later = axis_of(family(first_serial=101), "main", np.array([103, 114, 108, 111]))
    assert (later.first, later.last) == (101, 117)


def test_without_any_serial_the_run_is_fractions():
    axis = axis_of(family(), "main", NOTHING)
    assert (axis.count, axis.unit, axis.inferred) == (512, "fraction of the run", True)


@pytest.mark.parametrize(
    ("serial", "known", "last"),
    [
        ("30", [10, 20], 39),  # 30 the largest of three
        ("?3", [10, 20, 60], 79),  # a fragment adds no serial: 60 the largest of three
        ("71?08", [10, 20], 95877),  # it fits nothing up to 29, so 71908 is the largest of three
        ("71?08", [], 143815),  # alone, 71908 the largest of one
        ("71*", [10, 20], 94),  # 71 the largest of three: how many digits follow is not known
    ],
)
def test_the_estimated_end_leaves_room_for_the_set_itself(serial, known, last):
    fits = locate(family(), serial)
    axis = axis_with_set(family(), "main", np.array(known, dtype=np.int64), serial, fits)
    assert (axis.last, axis.unit, axis.inferred) == (last, "serial", True)
    assert on_axis(axis, fits)


def test_a_fragment_of_open_length_alone_gives_no_end():
    fits = locate(family(), "71*")
    axis = axis_with_set(family(), "main", NOTHING, "71*", fits)
    assert axis == axis_of(family(), "main", NOTHING)
    assert on_axis(axis, fits) == (Place("main", 1, 512),)
    assert on_axis(axis, ()) == ()


def test_a_documented_end_stays_whatever_the_serial():
    documented = family(last_serial=60000)
    fits = locate(documented, "?9999")
    axis = axis_with_set(documented, "main", NOTHING, "?9999", fits)
    assert (axis.last, axis.inferred) == (60000, False)
    assert [place.first for place in on_axis(axis, fits)] == [9999, 19999, 29999, 39999, 49999, 59999]


def test_blocks_that_leave_gaps_leave_no_sets_there():
    gap = family(serial_blocks=(SerialBlock("A", 1, 100, 1), SerialBlock("B", 1, 100, 201)))
    axis = axis_of(gap, "main", NOTHING)
    assert (axis.first, axis.last, axis.set_count) == (1, 300, 200)


@pytest.mark.parametrize("edges", [[0, 1, 2, 3, 4, 5, 6], [0, 2, 6], [0, 6]])
def test_every_position_counts_once_whatever_the_cells(edges):
    axis = axis_of(family(last_serial=6), "main", NOTHING)
    standable = standable_places(axis, [Place("main", 2, 3), Place("main", 5, 9)], np.array(edges))
    assert standable.weights.sum() == pytest.approx(4.0)
    by_cell = standable.by_cell(standable.weights)
    inside = [sum(1 for p in (2, 3, 5, 6) if low < p <= high) / 4 for low, high in itertools.pairwise(edges)]
    assert by_cell == pytest.approx(inside)


def test_in_cells_of_one_position_a_set_stands_behind_its_own():
    axis = axis_of(family(last_serial=6), "main", NOTHING)
    standable = standable_places(axis, [Place("main", 3, 3)], np.arange(7))
    assert list(standable.weights) == [0, 0, 0, 1, 0, 0, 0]


def test_an_estimated_end_never_cuts_off_a_documented_bound():
    bounded = family(cut_in_bounds=(CutInBound("a", "a0", "a1", after=40, before=90),))
    assert axis_of(bounded, "main", np.array([20])).last == 90
