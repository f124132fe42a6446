"""What is kept between requests follows the records: nothing that was read or computed before ever goes stale."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from setwright.workbench.records import keeping
from setwright.workbench.services import identity
from setwright.workbench.services.cache import ByContent

pytestmark = pytest.mark.django_db


@pytest.fixture
def groundworks(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The groundworks made during the test, each for the family, survivors and serial given."""
    made: list[Any] = []
    compute = identity.quick_groundwork
    monkeypatch.setattr(identity, "_groundworks", ByContent(size=8))
    monkeypatch.setattr(identity, "_quick_runs", identity.Runs(identity.ByContent(size=8), at_once=1))
    monkeypatch.setattr(identity, "quick_groundwork", lambda *values: made.append(values) or compute(*values))
    return made


def answer(bench_1: Any) -> Any:
    return identity.quick_identity_of(bench_1()).answer


def test_observations_leave_it_and_the_register_the_family_and_the_serial_renew_it(
    shelf: None, client: Client, bench_1: Any, groundworks: list[Any]
) -> None:
    first = answer(bench_1)
    unseen = first.next[0].feature
    states = next(f.states for f in groundworks[0][0].features if f.id == unseen)
    client.post(f"/sets/bench-1/bench/see/{unseen}/", {"state": states[0]})
    second = answer(bench_1)
    assert {look.feature for look in second.next} == {look.feature for look in first.next} - {unseen}
    assert len(groundworks) == 1

    register = bench_1().family.register
    keeping.edit(register, lambda text: "\n".join(text.splitlines()[:2]) + "\n", by=None, what="One set is left")
    third = answer(bench_1)
    assert len(groundworks[-1][1]) == 1
    assert [c.cut_in for c in third.changes] != [c.cut_in for c in second.changes]
    assert len(groundworks) == 2

    family = bench_1().family
    keeping.keep(family, f"{family.text}\n# A remark.\n", by=None, what="A remark")
    answer(bench_1)
    assert len(groundworks) == 3

    record = bench_1()
    serial = record.serial
    text = record.text.replace(f'serial = "{serial}"', 'serial = "H 24??"', 1)
    assert text != record.text
    keeping.keep(record, text, by=None, what="Misread")
    answer(bench_1)
    assert groundworks[-1][2] == "H 24??"
