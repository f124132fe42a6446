"""What holds for every test: steady random examples, and in CI no test passed over in silence."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

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
