"""Computations in the background: shared, watched, stopped, failed."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Iterator

import pytest

from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.runs import Report, Runs, StillRunning, Stopped

LONG = 30.0


class Slow:
    """A computation that reports and then waits to be let go on."""

    def __init__(self, value: str = "the answer") -> None:
        self.value = value
        self.calls = 0
        self.started = threading.Event()
        self.go_on = threading.Event()
        self.left = threading.Event()

    def __call__(self, report: Report) -> str:
        self.calls += 1
        try:
            report("drawing histories", 0.25)
            self.started.set()
            assert self.go_on.wait(LONG)
            report("weighing", 0.9)
            return self.value
        finally:
            self.left.set()


@pytest.fixture
def runs() -> Iterator[Runs[str]]:
    made: Runs[str] = Runs(ByContent(size=8))
    yield made
    made.stop_all()


def test_what_is_quick_is_there_at_once(runs: Runs[str]) -> None:
    assert runs.get("a", lambda report: "quick", patience=LONG) == "quick"
    assert runs.get("a", lambda report: "never called", patience=0.0) == "quick"


def test_what_is_slow_tells_how_far_it_is_and_then_its_value(runs: Runs[str]) -> None:
    slow = Slow()
    with pytest.raises(StillRunning):
        runs.get("a", slow, patience=0.0)
    assert slow.started.wait(LONG)
    with pytest.raises(StillRunning) as still:
        runs.get("a", slow, patience=0.0)
    assert (still.value.run.text, still.value.run.share) == ("drawing histories", 0.25)
    assert still.value.run.seconds >= 0.0
    slow.go_on.set()
    assert runs.get("a", slow, patience=LONG) == "the answer"
    assert slow.calls == 1


def test_two_who_ask_share_one_run(runs: Runs[str]) -> None:
    slow, answers = Slow(), []
    asking = [threading.Thread(target=lambda: answers.append(runs.get("a", slow, LONG))) for _ in range(5)]
    for thread in asking:
        thread.start()
    assert slow.started.wait(LONG)
    slow.go_on.set()
    for thread in asking:
        thread.join(LONG)
    assert answers == ["the answer"] * 5
    assert slow.calls == 1


def test_no_more_than_two_at_once_and_the_third_waits(runs: Runs[str]) -> None:
    first, second, third = Slow("1"), Slow("2"), Slow("3")
    for name, slow in (("a", first), ("b", second), ("c", third)):
        with pytest.raises(StillRunning):
            runs.get(name, slow, patience=0.0)
    assert first.started.wait(LONG)
    assert second.started.wait(LONG)
    assert third.calls == 0
    first.go_on.set()
    assert third.started.wait(LONG)
    for slow in (second, third):
        slow.go_on.set()
    assert runs.get("c", third, LONG) == "3"


def test_a_run_that_is_stopped_ends_and_stays_stopped_until_started_again(runs: Runs[str]) -> None:
    slow = Slow()
    with pytest.raises(StillRunning):
        runs.get("a", slow, patience=0.0)
    assert slow.started.wait(LONG)
    assert runs.stop("a")
    with pytest.raises(Stopped):
        runs.get("a", slow, patience=0.0)
    slow.go_on.set()
    assert slow.left.wait(LONG)
    with pytest.raises(Stopped):
        runs.get("a", slow, patience=LONG)
    assert slow.calls == 1
    runs.start_again("a")
    assert runs.get("a", slow, patience=LONG) == "the answer"
    assert slow.calls == 2


def test_whoever_waits_for_a_run_that_is_stopped_is_told(runs: Runs[str]) -> None:
    slow, told = Slow(), []

    def ask() -> None:
        try:
            runs.get("a", slow, LONG)
        except Stopped:
            told.append("stopped")

    thread = threading.Thread(target=ask)
    thread.start()
    assert slow.started.wait(LONG)
    runs.stop("a")
    slow.go_on.set()
    thread.join(LONG)
    assert told == ["stopped"]


def test_one_that_waits_its_turn_can_be_stopped_before_it_begins(runs: Runs[str]) -> None:
    first, second, third = Slow("1"), Slow("2"), Slow("3")
    for name, slow in (("a", first), ("b", second), ("c", third)):
        with pytest.raises(StillRunning):
            runs.get(name, slow, patience=0.0)
    assert runs.stop("c")
    with pytest.raises(Stopped):
        runs.get("c", third, patience=0.0)
    for slow in (first, second):
        slow.go_on.set()
    assert (runs.get("a", first, LONG), runs.get("b", second, LONG)) == ("1", "2")
    assert third.calls == 0


def test_there_is_nothing_to_stop_where_nothing_runs(runs: Runs[str]) -> None:
    assert not runs.stop("a")
    runs.start_again("a")
    runs.get("a", lambda report: "quick", LONG)
    assert not runs.stop("a")
    assert runs.get("a", lambda report: "never called", LONG) == "quick"


def test_what_goes_wrong_is_told_and_tried_anew_the_next_time(runs: Runs[str]) -> None:
    go_on = threading.Event()

    def fail(report: Report) -> str:
        assert go_on.wait(LONG)
        raise ValueError("the documents contradict each other")

    with pytest.raises(StillRunning):
        runs.get("a", fail, patience=0.0)
    go_on.set()
    with pytest.raises(ValueError, match="contradict"):
        runs.get("a", fail, patience=LONG)
    assert runs.get("a", lambda report: "mended", LONG) == "mended"


def test_stopping_everything_lets_the_process_end(runs: Runs[str]) -> None:
    slow = Slow()
    with pytest.raises(StillRunning):
        runs.get("a", slow, patience=0.0)
    assert slow.started.wait(LONG)
    runs.stop_all()
    slow.go_on.set()
    assert slow.left.wait(LONG)


def test_what_is_stopped_can_be_waited_for(runs: Runs[str]) -> None:
    slow = Slow()
    with pytest.raises(StillRunning):
        runs.get("a", slow, patience=0.0)
    assert slow.started.wait(LONG)
    runs.stop_all()
    assert not runs.rest(0.0)
    slow.go_on.set()
    assert runs.rest(LONG)
    assert slow.left.is_set()


def test_a_computation_that_never_reports_does_not_keep_the_process_from_ending() -> None:
    code = (
        "import threading\n"
        "from setwright.workbench.services.cache import ByContent\n"
        "from setwright.workbench.services.runs import Runs, StillRunning\n"
        "try:\n    Runs(ByContent(2)).get('a', lambda report: threading.Event().wait(), 0.1)\n"
        "except StillRunning:\n    print('still running')\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=LONG, check=True)
    assert (run.stdout, run.stderr) == ("still running\n", "")


def test_shares_only_grow_and_stay_within_their_range(runs: Runs[str]) -> None:
    slow = Slow()
    with pytest.raises(StillRunning) as still:
        runs.get("a", slow, patience=0.0)
    assert slow.started.wait(LONG)
    run = still.value.run
    run.report("a longer way", 0.1)
    assert (run.text, run.share) == ("a longer way", 0.25)
    run.report("beyond", 1.7)
    assert run.share == 1.0
    slow.go_on.set()


def test_what_is_abandoned_ends_and_begins_anew_when_asked_again(runs: Runs[str]) -> None:
    slow = Slow("old")
    with pytest.raises(StillRunning):
        runs.get("a", slow, patience=0.0)
    assert slow.started.wait(LONG)
    runs.abandon("a")
    runs.abandon("never begun")
    again = Slow("new")
    again.go_on.set()
    slow.go_on.set()
    assert runs.get("a", again, LONG) in {"old", "new"}  # the old one may have ended just before it was told to
    assert runs.find("never begun") is None


def test_what_is_computed_here_and_now_is_known_afterwards(runs: Runs[str]) -> None:
    assert runs.find("a") is None
    assert runs.here_and_now("a", lambda: "the answer") == "the answer"
    assert runs.find("a") == runs.get("a", Slow("another"), LONG) == "the answer"
