"""Computations in processes of their own: the same values, errors and stops as in a thread, and no process left."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from setwright.files import read_family, read_set, read_survivors
from setwright.identity import BenchSet, Family, ImpossibleHistory, Survivors, identify
from setwright.workbench.services import apart
from setwright.workbench.services.apart import Processes
from setwright.workbench.services.runs import Stopped

CAST = Path(__file__).parent.parent / "cast"


@pytest.fixture
def processes() -> Iterator[Processes]:
    made = Processes(most=1)
    yield made
    made.close()


@pytest.fixture(scope="module")
def case() -> tuple[Family, BenchSet, Survivors]:
    family = read_family(CAST / "heron.toml").family
    bench = read_set(CAST / "bench-1.toml", family).set
    return family, bench, read_survivors(CAST / "survivors.csv", family, bench=bench).survivors


def unheard(text: str, share: float) -> None:
    """Progress that nobody looks at."""


class GivenUp(Exception):
    pass


def living(processes: Processes) -> list[int]:
    """The numbers of its processes that live."""
    return [one.number for one in processes.begun if one.is_alive]


def test_it_gives_what_the_function_gives_and_tells_how_far_it_is(
    processes: Processes, case: tuple[Family, BenchSet, Survivors]
) -> None:
    shares = []
    answer = processes.run(identify, lambda text, share: shares.append(share), *case, draws=200)
    here = identify(*case, draws=200)
    # Not nearly the same but the same: the order of sums is that of another process, too.
    assert [entry.probability for entry in answer.verdict] == [entry.probability for entry in here.verdict]
    assert [look.bits for look in answer.next] == [look.bits for look in here.next]
    assert [one.decibans for one in answer.observations] == [one.decibans for one in here.observations]
    assert shares == sorted(shares)
    assert len(shares) > 1


def test_one_process_serves_one_computation_after_another(
    processes: Processes, case: tuple[Family, BenchSet, Survivors]
) -> None:
    family, bench, _ = case
    processes.run(identify, unheard, family, bench)
    first = living(processes)
    processes.run(identify, unheard, family, bench)
    assert living(processes) == first
    assert len(first) == 1


def test_what_it_raises_is_raised_here(processes: Processes, case: tuple[Family, BenchSet, Survivors]) -> None:
    family, _, _ = case
    with pytest.raises(ImpossibleHistory, match="fits no serial number") as raised:
        processes.run(identify, unheard, family, BenchSet("b", family.id, serial="ZZZ1"))
    assert "in _axes_and_places" in raised.value.__notes__[0]
    assert processes.run(identify, unheard, family, BenchSet("b", family.id)).family == family.id


def test_what_progress_raises_ends_it_and_the_process_goes_on(
    processes: Processes, case: tuple[Family, BenchSet, Survivors]
) -> None:
    told = []

    def once(text: str, share: float) -> None:
        told.append(share)
        raise GivenUp

    for _ in range(3):
        with pytest.raises(GivenUp):
            processes.run(identify, once, *case, draws=200)
    assert len(told) == 3
    first = living(processes)
    assert processes.run(identify, unheard, *case, draws=200).set == case[1].id
    assert living(processes) == first


def test_a_process_that_is_lost_costs_nobody_the_answer(
    processes: Processes, case: tuple[Family, BenchSet, Survivors]
) -> None:
    def kill(text: str, share: float) -> None:
        for one in processes.begun:
            one.end()

    assert processes.run(identify, kill, *case, draws=200).set == case[1].id
    assert living(processes) == []
    assert processes.run(identify, unheard, *case, draws=200).set == case[1].id
    assert len(living(processes)) == 1


def test_closing_ends_what_is_under_way_and_begins_nothing_new(case: tuple[Family, BenchSet, Survivors]) -> None:
    processes = Processes(most=1)
    with pytest.raises(Stopped):
        processes.run(identify, lambda text, share: processes.close(), *case, draws=200)
    assert living(processes) == []
    with pytest.raises(Stopped):
        processes.run(identify, unheard, *case)
    assert living(processes) == []


def test_the_site_computes_apart_only_while_it_is_served(
    case: tuple[Family, BenchSet, Survivors], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr(Processes, "run", lambda self, function, *values, **options: asked.append(function))
    with apart.computing_apart():
        apart.run(identify, unheard, *case)
    assert asked == [identify]
    assert apart.run(identify, unheard, case[0], case[1]).set == case[1].id
    assert asked == [identify]
