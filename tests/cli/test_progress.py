"""A bar while something takes long, and Ctrl-C."""

from __future__ import annotations

import io
import os
import signal
import sys
import time
from collections.abc import Iterator

import pytest
from rich.console import Console

from setwright.cli.progress import Progress


@pytest.fixture(autouse=True)
def interruptible() -> Iterator[None]:
    """Ctrl-C counts, also where the tests were started in the background, which ignores it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def on_a_terminal():
    file = io.StringIO()
    return file, Console(file=file, force_terminal=True, width=80, color_system=None)


def wait_for(file, text):
    """Until the bar, which another thread draws, shows the text."""
    until = time.monotonic() + 30.0
    while text not in file.getvalue():
        assert time.monotonic() < until, file.getvalue()
        time.sleep(0.01)


def test_quick_work_shows_nothing():
    file, console = on_a_terminal()
    with Progress(console, patience=60.0) as progress:
        progress("first pass", 0.2)
        progress("second pass", 0.9)
    assert file.getvalue() == ""


def test_longer_work_shows_how_far_it_is_and_cleans_up():
    file, console = on_a_terminal()
    with Progress(console, patience=0.0) as progress:
        progress("draws [1]", 0.5)
        wait_for(file, "draws [1]")
        wait_for(file, "50%")
    assert file.getvalue().rstrip().endswith("\x1b[2K")


def test_the_bar_comes_though_the_work_has_not_reported_again():
    file, console = on_a_terminal()
    with Progress(console, patience=0.05) as progress:
        progress("Reading the files", 0.0)
        wait_for(file, "Reading the files")


def test_the_bar_goes_away_where_the_work_fails():
    file, console = on_a_terminal()

    def fail():
        with Progress(console, patience=0.0) as progress:
            progress("draws", 0.5)
            wait_for(file, "draws")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    length = len(file.getvalue())
    time.sleep(0.3)
    assert len(file.getvalue()) == length


def test_elsewhere_than_on_a_terminal_it_says_nothing(capsys):
    with Progress(patience=0.0) as progress:
        progress("draws", 0.5)
        time.sleep(0.1)
        progress("draws", 0.6)
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
