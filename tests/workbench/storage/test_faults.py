"""A server killed while it writes, a disk that is full: what was acknowledged is there, nothing is there in part."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


def run(script: str, *arguments: object, timeout: int) -> str:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("SETWRIGHT", "DJANGO"))}
    done = subprocess.run(
        [sys.executable, HERE / script, *map(str, arguments)],
        env={**kept, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=timeout,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return done.stdout


def acknowledged(said: str) -> tuple[int, int]:
    found = re.search(r"(\d+) notes and (\d+) casebooks acknowledged", said)
    assert found, said
    return int(found[1]), int(found[2])


def test_a_server_killed_while_it_writes(tmp_path):
    notes, _ = acknowledged(run("killing.py", tmp_path / "data", 8, 1, timeout=300))
    assert notes > 0


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_a_server_killed_again_and_again(tmp_path, seed):
    """Four times fifty, each in a folder of its own, so that the last kills take no longer than the first."""
    notes, books = acknowledged(run("killing.py", tmp_path / "data", 50, 100 + seed, timeout=1800))
    assert notes > 0
    assert books > 0


def test_a_full_disk(tmp_path):
    assert "notes acknowledged before the disk was full" in run("filling.py", tmp_path / "data", timeout=300)
