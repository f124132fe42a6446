"""`setwright demo`: files only, or the site with the sets in it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.demo import everything, generate


def test_only_the_files(tmp_path: Path) -> None:
    folder = tmp_path / "files"
    result = CliRunner().invoke(app, ["demo", "--write", str(folder), "--seed", "7"])
    assert result.exit_code == 0
    wanted = everything(generate(7))
    found = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert found == wanted
    assert len(result.stdout.splitlines()) == len(wanted)
    again = CliRunner().invoke(app, ["demo", "--write", str(folder)])
    assert again.exit_code == 1
    assert "is there already" in again.output


def test_the_seed_comes_from_the_environment(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["demo", "--write", str(tmp_path)], env={"SETWRIGHT_DEMO_SEED": "8"})
    assert result.exit_code == 0
    name = "sedgewater-11.survivors.csv"
    assert (tmp_path / name).read_text(encoding="utf-8") == generate(8).files[name]


@pytest.mark.parametrize("seed", ["six", "-1"])
def test_a_seed_that_is_none_is_refused(tmp_path: Path, seed: str) -> None:
    result = CliRunner().invoke(app, ["demo", "--write", str(tmp_path / "x")], env={"SETWRIGHT_DEMO_SEED": seed})
    assert result.exit_code == 2
    assert "SETWRIGHT_DEMO_SEED" in result.output
    assert not (tmp_path / "x").exists()


def shelf_page(address: str) -> str:
    page = f"{address.split('/sets/')[0]}/literature/of/ossenby-1148-notes-1/"
    return urllib.request.urlopen(page, timeout=60).read().decode()


def test_the_site_starts_shows_the_set_and_stops_cleanly(tmp_path: Path) -> None:
    environment = {**os.environ, "TMPDIR": str(tmp_path), "SETWRIGHT_PATIENCE": "120"}
    process = subprocess.Popen(
        [sys.executable, "-c", "from setwright.cli import main; main()", "demo", "--port", "0", "--no-open"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        address = re.search(r"http://127\.0\.0\.1:\d+/\S*", line)
        assert address is not None, line
        page = urllib.request.urlopen(address.group(), timeout=60).read().decode()
        assert "1148-C" in page
        photos = urllib.request.urlopen(f"{address.group()}photos/", timeout=60).read().decode()
        assert "Number stamped into the rear apron" in photos
        assert "not kept here" not in photos
        scan = re.search(r"/literature/of/ossenby-1148-notes-1/scans/[0-9a-f]{64}/", shelf_page(address.group()))
        assert scan is not None
        site = address.group().split("/sets/")[0]
        assert urllib.request.urlopen(site + scan.group(), timeout=60).read(5) == b"%PDF-"
        health = address.group().split("/sets/")[0] + "/healthz"
        assert urllib.request.urlopen(health, timeout=60).read() == b"ok"
    finally:
        process.send_signal(signal.SIGTERM)
        rest, errors = process.communicate(timeout=60)
    assert process.returncode == 0, errors
    assert rest == ""
    assert "Traceback" not in errors
    assert list(tmp_path.iterdir()) == [], "the temporary folder is gone"
