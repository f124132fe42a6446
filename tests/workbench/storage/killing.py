"""Serves a data folder from one process after another and kills each with SIGKILL while it writes and takes in.

    python killing.py FOLDER KILLS SEED

After each kill the records are looked at from outside: the database is sound, every note and every casebook that was
answered with success is there, no casebook is there in part, every record is what its newest entry says. The last line
says how many notes and casebooks were acknowledged; a breach ends with an AssertionError.
"""

from __future__ import annotations

import http.client
import io
import os
import random
import signal
import sqlite3
import sys
import threading
import time
import zlib
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlencode

CAST = Path(__file__).parents[2] / "cast"
SETS_IN_A_CASEBOOK = 12
TOKEN = "k" * 32
HEADERS = {"Cookie": f"setwright-form={TOKEN}", "Host": "127.0.0.1"}


def casebook(number: int) -> bytes:
    from setwright.files.casebook import CasebookWriter

    stream = io.BytesIO()
    writer = CasebookWriter(stream, datetime(2024, 5, 2, tzinfo=UTC))
    writer.add("families/heron-6.toml", (CAST / "heron.toml").read_bytes())
    text = (CAST / "bench-1.toml").read_text(encoding="utf-8")
    for place in range(SETS_IN_A_CASEBOOK):
        key = f"book{number}-{place}"
        writer.add(f"sets/{key}.toml", text.replace('id = "bench-1"', f'id = "{key}"'))
    writer.finish()
    return stream.getvalue()


class Client:
    """What the people at the site send, and what they were told."""

    def __init__(self, port: int, known: Known) -> None:
        self.port, self.known = port, known

    def post(self, path: str, body: bytes, content_type: str) -> tuple[int, str, str]:
        server = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        with closing(server):
            server.request("POST", path, body, {**HEADERS, "Content-Type": content_type})
            answer = server.getresponse()
            return answer.status, answer.headers.get("Location", ""), answer.read().decode()

    def form(self, path: str, **fields: str) -> tuple[int, str, str]:
        body = urlencode({"csrfmiddlewaretoken": TOKEN, **fields}).encode()
        return self.post(path, body, "application/x-www-form-urlencoded")

    def write_notes(self) -> None:
        with suppress(OSError, http.client.HTTPException):
            while True:
                text = f"note {self.known.next_note()} of this set"
                status, _, page = self.form("/sets/bench-1/notes/", text=text)
                assert status == 302, page
                self.known.notes.append(text)

    def take_casebooks(self) -> None:
        with suppress(OSError, http.client.HTTPException):
            while True:
                number = self.known.next_book()
                status, address, page = self.send_casebook(casebook(number))
                assert status == 302, page
                status, _, page = self.form(address)
                assert status == 200, page
                assert f"{SETS_IN_A_CASEBOOK} records: new here" in page, page
                self.known.books.append(number)

    def send_casebook(self, content: bytes) -> tuple[int, str, str]:
        parts = (
            f'Content-Disposition: form-data; name="csrfmiddlewaretoken"\r\n\r\n{TOKEN}\r\n'.encode(),
            b'Content-Disposition: form-data; name="casebook"; filename="b.zip"\r\n'
            b"Content-Type: application/zip\r\n\r\n" + content + b"\r\n",
        )
        body = b"".join(b"--x\r\n" + part for part in parts) + b"--x--\r\n"
        return self.post("/casebook/take/", body, "multipart/form-data; boundary=x")


class Known:
    """What was acknowledged, and what was tried."""

    def __init__(self) -> None:
        self.notes: list[str] = []
        self.books: list[int] = []
        self.note = self.book = 0

    def next_note(self) -> int:
        self.note += 1
        return self.note

    def next_book(self) -> int:
        self.book += 1
        return self.book


def served(before: Callable[[], None] = lambda: None) -> tuple[int, int]:
    """A server process on this folder: its process and its port. before : what it does first."""
    from setwright.workbench.server import serve

    reading, writing = os.pipe()
    process = os.fork()
    if process == 0:
        try:
            os.close(reading)
            before()
            serve(0, ready=lambda address: os.write(writing, address.encode()) and None)
        finally:
            os._exit(1)
    os.close(writing)
    with os.fdopen(reading) as stream:
        # The other end closes only with the server, so this reads what there is and not to the end.
        address = os.read(stream.fileno(), 200).decode()
    return process, int(address.rstrip("/").rpartition(":")[2])


def one_life(known: Known, chance: random.Random) -> None:
    process, port = served()
    client = Client(port, known)
    failed: list[AssertionError] = []

    def run(work) -> None:
        try:
            work()
        except AssertionError as error:
            failed.append(error)

    threads = [threading.Thread(target=run, args=(work,)) for work in (client.write_notes, client.take_casebooks)]
    try:
        for thread in threads:
            thread.start()
        time.sleep(chance.uniform(0.05, 1.2))
    finally:
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
    for thread in threads:
        thread.join()
    if failed:
        raise failed[0]


def check(folder: Path, known: Known, quoted: bool = True) -> None:
    mark = '"' if quoted else ""
    with closing(sqlite3.connect(folder / "setwright.sqlite3")) as records:
        assert records.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert records.execute("PRAGMA foreign_key_check").fetchall() == []
        rows = records.execute("SELECT key, text, revision, digest FROM sets_setrecord").fetchall()
        texts = {key: text for key, text, _, _ in rows}
        for note in known.notes:
            assert f"{mark}{note}{mark}" in texts["bench-1"], f"{note} was acknowledged and is not there"
        for number in range(1, known.book + 1):
            there = sum(f"book{number}-{place}" in texts for place in range(SETS_IN_A_CASEBOOK))
            wanted = (SETS_IN_A_CASEBOOK,) if number in known.books else (0, SETS_IN_A_CASEBOOK)
            assert there in wanted, f"casebook {number}: {there} of its sets are there"
        for key, text, revision, digest in rows:
            packed, told, newest = records.execute(
                "SELECT text_zip, digest, number FROM records_revision WHERE kind = 'set' AND key = ? "
                "ORDER BY number DESC LIMIT 1",
                (key,),
            ).fetchone()
            assert (zlib.decompress(packed).decode(), told, newest) == (text, digest, revision), key


def filled(folder: Path) -> None:
    """The cast, in a new data folder; no connection is left open that a forked process could inherit."""
    from setwright.workbench.server import prepare

    prepare(folder)
    from django.db import connection

    from setwright.workbench.services.imports import import_files

    import_files([CAST / "heron.toml", CAST / "bench-1.toml"])
    connection.close()


def main(folder: Path, kills: int, seed: int) -> None:
    filled(folder)
    known, chance = Known(), random.Random(seed)
    for _ in range(kills):
        one_life(known, chance)
        check(folder, known)
    print(f"{kills} kills, {len(known.notes)} notes and {len(known.books)} casebooks acknowledged")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
