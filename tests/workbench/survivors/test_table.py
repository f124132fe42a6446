"""The register as a table: narrowed, sorted, taken out, at 20,000 rows too."""

from __future__ import annotations

import csv
import io
import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.files import read_family, read_survivors
from setwright.files.survivors.table import rows_by_id
from setwright.workbench.survivors.reading import best_versions, view_of
from setwright.workbench.survivors.table import (
    OTHER,
    SERVICED,
    SORTS,
    UNSEEN,
    Query,
    closest_version,
    natural,
    read_query,
    selected,
)


@pytest.fixture(scope="module")
def case() -> Any:
    from pathlib import Path

    cast = Path(__file__).parent.parent.parent / "cast"
    family = read_family(cast / "heron.toml").family
    text = (cast / "survivors.csv").read_text(encoding="utf-8")
    text += "K-10,HX 8?,export,foil,6SA7,,,,\n"
    text = text.replace("note\n", "note,dial-lamp.serviced\n", 1).replace(
        "seen in a sale list", "seen in a sale list,true"
    )
    return family, read_survivors(text.encode(), family).survivors, rows_by_id(text, family)


def names(case: Any, **query: Any) -> list[str]:
    family, survivors, rows = case
    return [survivors.ids[number] for number in selected(family, survivors, Query(**query), rows)]


def test_narrowing(case: Any) -> None:
    assert names(case, words="SALE list") == ["K-07"]
    assert names(case, words="dealer's 6SA7") == ["K-01"]
    assert names(case, line="export") == ["K/08 & co", "K-10"]
    assert names(case, serial="none") == ["K-07"]
    assert names(case, serial="part") == ["K-10"]
    assert names(case, feature="converter", state="6SA7", line="main") == ["K-01", "K-02"]
    assert names(case, feature="label", state=OTHER) == ["K-10"]
    assert names(case, feature="dial-lamp", state=SERVICED) == ["K-07"]
    assert names(case, feature="output-rivets", state=UNSEEN) == ["K-05", "K-10"]
    assert names(case, words="no such words") == []


def test_sorting(case: Any) -> None:
    file = names(case)
    assert names(case, backwards=True) == file[::-1]
    assert names(case, sort="name") == ["K-01", "K-02", "K-03", "K-04", "K-05", "K-06", "K-07", "K-10", "K/08 & co"]
    assert names(case, sort="serial")[:6] == ["K-01", "K-02", "K-03", "K-04", "K-05", "K-06"]
    assert set(names(case, sort="serial")[7:]) == {"K-07", "K-10"}
    assert names(case, sort="seen")[-1] in {"K-07", "K-10"}
    states = names(case, sort="state", feature="converter")
    assert states[:4] == ["K-01", "K-02", "K/08 & co", "K-10"]


def test_the_closest_version_is_the_one_the_pages_name(case: Any) -> None:
    family, survivors, _ = case
    ids = [version.id for version in family.versions]
    for index, number in enumerate(closest_version(family, survivors)):
        best = best_versions(family, view_of(family, survivors, index))
        assert (ids[number] if number < len(ids) else None) == (best[0].version if best else None)


def test_names_sort_as_people_do_it() -> None:
    given = ["K-10", "K-9", "10", "9", "", "a1b", "a01c", "9" * 40]
    assert sorted(given, key=natural)[:3] == ["", "9", "10"]
    assert sorted(["K-10", "K-9"], key=natural) == ["K-9", "K-10"]


@settings(max_examples=50)
@given(
    st.dictionaries(
        st.sampled_from(["q", "feature", "state", "line", "serial", "sort", "back"]),
        st.one_of(st.text(max_size=10), st.sampled_from(["converter", "6SA7", "main", "full", *SORTS, "1", OTHER])),
    )
)
def test_any_query_gives_rows_of_the_register_each_once(case: Any, asked: dict[str, str]) -> None:
    family, survivors, rows = case
    query = read_query(asked, family)
    found = selected(family, survivors, query, rows)
    assert len(set(found.tolist())) == len(found) <= len(survivors)
    if not query.narrows:
        assert len(found) == len(survivors)
    assert read_query(dict(_pairs(query.parameters())), family) == query


def _pairs(text: str) -> list[tuple[str, str]]:
    from urllib.parse import parse_qsl

    return parse_qsl(text)


def test_twenty_thousand_rows_are_narrowed_and_sorted_rightly() -> None:
    rng = random.Random(7)
    head = 'format = "setwright-family/1"\nid = "f"\nname = "F"\nkind = "radio"\nlast_serial = 90000\n'
    head += '[[feature]]\nid = "knob"\naccess = "outside"\npermanence = "plugged"\nstates = ["a", "b"]\n'
    head += '[[version]]\nid = "v"\nstates = { knob = "a" }\n'
    family = read_family(head.encode()).family
    rows = [(f"S-{n}", str(rng.randint(1, 90000)), rng.choice(["", "a", "b"])) for n in range(20_000)]
    text = "id,serial,knob\n" + "".join(",".join(row) + "\n" for row in rows)
    survivors = read_survivors(text.encode(), family).survivors
    found = selected(family, survivors, Query(feature="knob", state="b", sort="serial"), {})
    expected = sorted((int(serial), n) for n, (_, serial, knob) in enumerate(rows) if knob == "b")
    assert found.tolist() == [n for _, n in expected]
    assert np.array_equal(selected(family, survivors, Query(sort="name"), {}), np.arange(20_000))


# ---- pages


@pytest.mark.django_db
def test_the_list_can_be_narrowed_sorted_and_taken_out(shelf: None, client: Any) -> None:
    page = client.get("/families/heron-6/survivors/?feature=converter&state=6BE6&sort=serial&back=1").content.decode()
    assert "5 sets found." in page
    assert page.index(">K-06<") < page.index(">K-03<")
    assert 'aria-sort="descending"' in page
    assert '<td><span class="narrow-only">Converter tube: </span>6BE6</td>' in page
    answer = client.get("/families/heron-6/survivors/export.csv?feature=converter&state=6BE6&sort=serial&back=1")
    rows = list(csv.reader(io.StringIO(answer.content.decode())))
    assert rows[0][:3] == ["id", "serial", "line"]
    assert [row[0] for row in rows[1:]] == ["K-07", "K-06", "K-05", "K-04", "K-03"]
    assert 'filename="heron-6-survivors.csv"' in answer["Content-Disposition"]


@pytest.mark.django_db
def test_the_workbook_comes_back_in_as_the_same(shelf: None, client: Any) -> None:
    from setwright.files.survivors.table import preview
    from setwright.workbench.families.models import FamilyRecord
    from setwright.workbench.services.records import family_of

    record = FamilyRecord.objects.get(key="heron-6")
    book = client.get("/families/heron-6/survivors/export.xlsx")
    assert book["Content-Type"].endswith("spreadsheetml.sheet")
    found = preview(book.content, family_of(record), "out.xlsx", record.register.text)
    assert found.counts == {"new": 0, "changed": 0, "same": 8, "bad": 0}


@pytest.mark.django_db
def test_a_hundred_to_a_page_with_the_query_kept(shelf: None, client: Any) -> None:
    from setwright.workbench.families.models import FamilyRecord
    from setwright.workbench.records import keeping

    register = FamilyRecord.objects.get(key="heron-6").register
    more = "".join(f"N-{n},,main,,6SA7,,,,\n" for n in range(250))
    keeping.keep(register, register.text + more, by=None, what="more")
    page = client.get("/families/heron-6/survivors/?feature=converter&state=6SA7&sort=name&page=2").content.decode()
    assert "Page 2 of 3" in page
    assert "?feature=converter&amp;state=6SA7&amp;sort=name&amp;page=3" in page
    assert ">N-97<" in page
