"""`setwright serve` as a process: one line with the address, an answer, a clean end."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

CAST = Path(__file__).parent.parent / "cast"
RUN = [sys.executable, "-c", "from setwright.cli import main; main()"]


def environment(data: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("SETWRIGHT", "DJANGO"))}
    # However slow the machine is: a page waits for its answer instead of showing how far that is.
    return {**kept, "SETWRIGHT_DATA": str(data), "SETWRIGHT_PATIENCE": "120"}


def fetch(address: str) -> str:
    with urllib.request.urlopen(address, timeout=30) as response:
        return response.read().decode()


@pytest.fixture
def start(tmp_path: Path) -> Iterator:
    started: list[subprocess.Popen[str]] = []

    def run(*arguments: str, data: Path | None = None) -> tuple[subprocess.Popen[str], str]:
        process = subprocess.Popen(
            [*RUN, "serve", "--port", "0", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=environment(data or tmp_path / "data"),
        )
        started.append(process)
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/", line)
        assert found, (line, process.stderr.read() if process.stderr else "")
        return process, found.group()

    yield run
    for process in started:
        if process.poll() is None:
            process.kill()
        process.wait()
        for stream in (process.stdout, process.stderr):
            if stream is not None:
                stream.close()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT], ids=["SIGTERM", "SIGINT"])
def test_it_prints_one_line_answers_and_stops_cleanly(start, number: signal.Signals) -> None:
    process, address = start()
    assert fetch(address + "healthz") == "ok"
    assert "The shelf" in fetch(address)
    process.send_signal(number)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out, err) == (0, "", "")
    with pytest.raises(urllib.error.URLError):
        fetch(address + "healthz")


def test_an_answer_under_way_is_finished(start) -> None:
    names = ("heron.toml", "bench-1.toml", "survivors.csv")
    process, address = start(*(str(CAST / name) for name in names))
    page: list[str] = []
    reader = threading.Thread(target=lambda: page.append(fetch(address + "sets/bench-1/")))
    reader.start()
    # The page takes longer than this at first asking: the computation is still to be done.
    time.sleep(0.05)
    process.send_signal(signal.SIGTERM)
    reader.join(timeout=30)
    assert process.wait(timeout=30) == 0
    assert page
    assert page[0].rstrip().endswith("</html>")


def test_what_was_taken_in_is_there_the_next_time(start, tmp_path: Path) -> None:
    data = tmp_path / "kept"
    process, _ = start(str(CAST / "heron.toml"), str(CAST / "bench-1.toml"), data=data)
    process.send_signal(signal.SIGTERM)
    process.communicate(timeout=30)
    _, address = start(data=data)
    assert 'id="verdict"' in fetch(address + "sets/bench-1/identity/")
    assert (data / "signing-key").stat().st_mode & 0o077 == 0


def refusal(tmp_path: Path, *arguments: str, data: Path | None = None, **settings: str) -> str:
    run = subprocess.run(
        [*RUN, "serve", *arguments],
        env=environment(data or tmp_path / "data") | settings,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert run.returncode == 1
    assert run.stdout == ""
    assert "Traceback" not in run.stderr
    return run.stderr


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert f"Port {port} is taken" in refusal(tmp_path, "--port", str(port))


def test_a_setting_that_cannot_be_is_told(tmp_path: Path) -> None:
    message = refusal(tmp_path, "--port", "0", SETWRIGHT_DEBUG="yes")
    assert message == "SETWRIGHT_DEBUG is 'yes'; it can be 0 or 1.\n"


@pytest.mark.parametrize("seconds", ["soon", "-1", "1e9", "nan"])
def test_a_time_that_cannot_be_is_told(tmp_path: Path, seconds: str) -> None:
    message = refusal(tmp_path, "--port", "0", SETWRIGHT_PATIENCE=seconds)
    assert message == f"SETWRIGHT_PATIENCE is '{seconds}'; it can be a number of seconds from 0 to 3600.\n"


def test_a_number_that_is_no_port_is_told(tmp_path: Path) -> None:
    assert "Port 99999 is no port number" in refusal(tmp_path, "--port", "99999")


def test_a_data_folder_that_cannot_be_used_is_told(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("")
    assert "Name another with --data" in refusal(tmp_path, "--port", "0", data=file / "folder")


def test_records_that_are_damaged_are_told(tmp_path: Path) -> None:
    data = tmp_path / "data"
    data.mkdir()
    (data / "setwright.sqlite3").write_bytes(b"this is no database" * 100)
    told = refusal(tmp_path, "--port", "0")
    assert "are damaged (file is not a database). Nothing was changed." in told
    assert "setwright restore FILE" in told


def test_a_file_with_a_mistake_is_told_and_nothing_is_served(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('format = "setwright-family/1"\nid = 5\n')
    message = refusal(tmp_path, str(wrong), "--port", "0")
    assert "wrong.toml, line 2" in message
    assert "no such file" in refusal(tmp_path, str(tmp_path / "nowhere.toml"), "--port", "0")
