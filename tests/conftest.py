"""What holds for every test: steady random examples, and in CI no test passed over in silence."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from setwright.identity import Answer

# The same examples every time, so that a failure can be repeated and a slow machine is no failure.
settings.register_profile(
    "steady", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
# For hunting by hand: HYPOTHESIS_PROFILE=hunt, new examples at each run.
settings.register_profile("hunt", deadline=None, max_examples=2000, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))

_passed_over: list[str] = []


def _in_ci() -> bool:
    return os.environ.get("CI", "").lower() in {"1", "true", "yes"}


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        _passed_over.append(f"{report.nodeid}: {reason}")


def pytest_collectreport(report: pytest.CollectReport) -> None:
    if report.skipped:
        _passed_over.append(f"{report.nodeid}: {report.longrepr}")


def pytest_sessionfinish(session: pytest.Session) -> None:
    # Workers report to the controller, which alone decides.
    if _in_ci() and _passed_over and not hasattr(session.config, "workerinput"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if _in_ci() and _passed_over:
        terminalreporter.section("skipped tests fail the run in CI", red=True)
        for line in _passed_over:
            terminalreporter.write_line(line)


CAST = Path(__file__).parent / "cast"
"""A small cast for pages and commands: one family with two lines, its survivors, a set between two versions."""


@pytest.fixture
def texts() -> dict[str, str]:
    """The files of the cast as texts: family, set, survivors."""
    names = {"family": "heron.toml", "set": "bench-1.toml", "survivors": "survivors.csv"}
    return {kind: (CAST / name).read_text(encoding="utf-8") for kind, name in names.items()}


@pytest.fixture
def shelf(db: None) -> None:
    """The cast, taken into the records."""
    from setwright.workbench.services.imports import import_files

    import_files([CAST / "bench-1.toml", CAST / "survivors.csv", CAST / "heron.toml"])


@pytest.fixture
def plover_texts() -> dict[str, str]:
    """The files of a second cast: two groups of features, a feature no document mentions, survivors without serial."""
    names = {"family": "plover.toml", "set": "plover-bench.toml", "survivors": "plover-survivors.csv"}
    return {kind: (CAST / name).read_text(encoding="utf-8") for kind, name in names.items()}


@pytest.fixture(scope="session")
def plover() -> Any:
    """The second cast, read: family, set on the bench, survivors."""
    from setwright.files import read_family, read_set, read_survivors

    family = read_family(CAST / "plover.toml").family
    bench = read_set(CAST / "plover-bench.toml", family).set
    return family, bench, read_survivors(CAST / "plover-survivors.csv", family, bench=bench).survivors


@pytest.fixture(scope="session")
def full_answer(plover: Any) -> Answer:
    """An answer on the second cast with figures put into every part that an answer can have.

    The figures are chosen, so that tests can name the words they must become.
    """
    from setwright.identity import identify

    family, bench, survivors = plover
    return with_every_part(identify(family, bench, survivors))


def with_every_part(answer: Answer) -> Answer:
    """The answer to the second cast with chosen figures in what is seldom answered all at once."""
    from setwright.identity import answer as parts

    known = answer.changes[0]
    free = replace(
        known,
        id="main:knob-inserts:1",
        feature="knob-inserts",
        from_state="brass",
        to_state="painted",
        block=None,
        cut_in=parts.Interval(1740.0, 1960.0, 2201.0, 0.9),
        applied_probability=0.03,
        probability=0.83,
    )
    return replace(
        answer,
        changes=(*(c for c in answer.changes if c.block is not None), free),
        groups=(parts.GroupAnswer("cabinet", 0.93, parts.Interval(4010.0, 4900.0, 5930.0, 0.9), "main"),),
        free=(
            parts.FreeAnswer(
                "knob-inserts",
                "main",
                (
                    parts.Pattern("changes", ("brass", "painted"), 0.83),
                    parts.Pattern("mixed", (), 0.16),
                    parts.Pattern("throughout", ("brass",), 0.01),
                ),
                {"brass": 0.42, "painted": 0.58},
            ),
        ),
        sisters=(
            parts.Sister(
                "P-04",
                0.4,
                1.0,
                6.2,
                (
                    parts.Difference("detector", "12SQ7", "12AV6", -7.5),
                    parts.Difference("rear-stamp", "P5", "P5", 4.1),
                    parts.Difference("filter-can", "twist lugs", "twist lugs", 2.6),
                ),
            ),
            parts.Sister("P-05", 0.7, 1.0, 3.1, (parts.Difference("rear-stamp", "P5", "P5", 3.1),)),
            parts.Sister("P-14", 2.1, 1.0, -5.0, (parts.Difference("rear-stamp", "P5", "P5-A", -5.0),)),
            parts.Sister("P-12", 6.0, 1.0, -21.0, (parts.Difference("rear-stamp", "P5", "P5-B", -21.0),)),
        ),
        ask=(
            parts.Question("P-05", "dial-glass", 0.31, "outside"),
            parts.Question("P-05", "detector", 0.12, "back off"),
            parts.Question("P-04", "coupling", 0.11, "underside"),
            parts.Question("P-04", "knob-inserts", 0.06, "outside"),
        ),
        learned=(
            parts.LearnedRate("riveted", 0.011, 0.002, 0.034, 0.02, 48, 0.9),
            parts.LearnedRate("consumable", 0.41, 0.22, 0.62, 0.35, 9, 0.9),
        ),
        misfit_p_value=0.004,
        misfit_drivers=(parts.MisfitDriver("grille-cloth", "basket", 11.4),),
        misfit_suggestions=("A cabinet from a later set would explain it.",),
        method=parts.Method("weighted", 1200, 870.4, 0, answer.method.cells),
    )
