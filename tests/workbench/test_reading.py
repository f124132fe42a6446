"""Survivors read back from columns."""

from __future__ import annotations

import numpy as np

from setwright.files import read_family, read_survivors
from setwright.workbench.survivors.reading import (
    agreement_counts,
    agreements,
    best_versions,
    index_of,
    survivor_cells,
    view_of,
)

EXTRA = """\
id,serial,line,label,label.serviced,converter,converter.sure,dial-lamp
a,H 10,main,printed,,6SA7,guess,one lamp
b,H 1?0,main,stamped over,true,6BE6,,three lamps in a row
c,,,printed,,6SA7,,two lamps
"""


def test_what_was_seen_is_read_back(texts: dict[str, str]) -> None:
    family = read_family(texts["family"].encode()).family
    survivors = read_survivors(EXTRA.encode(), family).survivors
    a, b, c = (view_of(family, survivors, index) for index in range(3))
    assert (a.serial, a.line, a.position) == ("H10", "main", 10)
    assert (a.seen["converter"].state, a.seen["converter"].sure) == ("6SA7", "a guess")
    assert b.position is None
    assert "1?0" in b.serial
    assert (b.seen["label"].state, b.seen["label"].serviced) == (None, True)
    assert b.seen["dial-lamp"].text == "something not listed"
    assert (c.line, c.serial) == (None, "")
    assert survivor_cells(b)["label"].kind == "nothing"
    assert (index_of(survivors, "b"), index_of(survivors, "z")) == (1, None)


def test_counting_one_by_one_and_all_at_once_agree(texts: dict[str, str]) -> None:
    family = read_family(texts["family"].encode()).family
    for text in (EXTRA, texts["survivors"]):
        survivors = read_survivors(text.encode(), family).survivors
        for version in family.versions:
            agreeing, comparable = agreement_counts(family, survivors, version)
            for index in range(len(survivors)):
                found = [
                    item for item in agreements(family, view_of(family, survivors, index)) if item.version == version.id
                ]
                expected = (found[0].agreeing, found[0].comparable) if found else (0, 0)
                assert (agreeing[index], comparable[index]) == expected


def test_the_closest_versions(texts: dict[str, str]) -> None:
    family = read_family(texts["family"].encode()).family
    survivors = read_survivors(texts["survivors"].encode(), family).survivors
    closest = [[item.version for item in best_versions(family, view_of(family, survivors, i))] for i in (0, 3, 5, 7)]
    assert closest == [["first"], ["second"], ["third"], ["export-only"]]
    assert np.all(agreement_counts(family, survivors, family.versions[0])[1][7] == 0)
