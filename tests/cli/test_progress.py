"""A bar while something takes long, and Ctrl-C."""

from __future__ import annotations

import io
import os
import signal
import sys
import time

import pytest
from rich.console import Console

from setwright.cli.progress import PATIENCE_SECONDS, Progress


class Clock:
    def __init__(self):
        self.now = 100.0

    def __call__(self):
        return self.now


def drawn(*steps):
    """What stands on the terminal after work that reports at these times: (seconds since the last, text, share)."""
    file, clock = io.StringIO(), Clock()
    console = Console(file=file, force_terminal=True, width=80, color_system=None)
    with Progress(console, clock) as progress:
        for seconds, text, share in steps:
            clock.now += seconds
            progress(text, share)
            if progress._bar is not None:
                progress._bar.refresh()
    return file.getvalue()


def test_quick_work_shows_nothing():
    assert drawn((0.1, "first pass", 0.2), (PATIENCE_SECONDS / 2, "second pass", 0.9)) == ""


def test_longer_work_shows_how_far_it_is_and_cleans_up():
    shown = drawn((0.1, "first pass", 0.2), (1.0, "draws [1]", 0.5))
    assert "draws [1]" in shown
    assert "50%" in shown
    assert "first pass" not in shown
    assert shown.endswith("\x1b[2K") or "\x1b[2K" in shown


def test_elsewhere_than_on_a_terminal_it_says_nothing(capsys):
    clock = Clock()
    with Progress(clock=clock) as progress:
        clock.now += 60.0
        progress("draws", 0.5)
    assert not sys.stderr.isatty()
    assert capsys.readouterr() == ("", "")


@pytest.fixture
def stopped_in_the_middle(monkeypatch):
    """A computation during which somebody presses Ctrl-C."""

    def interrupted(*values, **options):
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(5.0)
        raise AssertionError("it went on")

    # Set after `told`, whose answer would come at once.
    return lambda: monkeypatch.setattr("setwright.identity.identify", interrupted)


@pytest.mark.parametrize("arguments", [("identify",), ("identify", "--json"), ("looks",), ("ask",), ("sisters",)])
def test_ctrl_c_ends_in_one_sentence(told, stopped_in_the_middle, tmp_path, arguments):
    stopped_in_the_middle()
    code, output, errors = told(*arguments)
    assert (code, output, errors) == (130, "", "Stopped; nothing was written.\n")


def test_ctrl_c_leaves_no_file(told, stopped_in_the_middle, tmp_path):
    stopped_in_the_middle()
    before = sorted(tmp_path.iterdir())
    assert told("looks", "--out", tmp_path / "sheet.txt")[0] == 130
    assert sorted(tmp_path.iterdir()) == before
