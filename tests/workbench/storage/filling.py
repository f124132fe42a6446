"""Serves a data folder on which files cannot grow beyond a limit, as on a full disk, and writes until it is reached.

    python filling.py FOLDER

What was acknowledged before is there, the page says what is the matter, and with room again writing goes on.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
from pathlib import Path

from killing import Client, Known, casebook, check, filled, served

ROOM = 400_000
LONG = "x" * 4000


def main(folder: Path) -> None:
    filled(folder)
    size = (folder / "setwright.sqlite3").stat().st_size

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + ROOM, size + ROOM))

    known = Known()
    process, port = served(limit)
    try:
        fill(Client(port, known))
    finally:
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
    # Only the first line of a note is looked for.
    check(folder, known, quoted=False)
    process, port = served()
    try:
        status, _, page = Client(port, known).form("/sets/bench-1/notes/", text="there is room again")
        assert status == 302, page
    finally:
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
    print(f"{len(known.notes)} notes acknowledged before the disk was full")


def fill(client: Client) -> None:
    status, page = 0, ""
    for _ in range(200):
        text = f"note {client.known.next_note()} of this set"
        status, _, page = client.form("/sets/bench-1/notes/", text=f"{text}\n{LONG}")
        if status != 302:
            break
        client.known.notes.append(text)
    assert status == 507, (status, page)
    assert "The disk is full" in page
    assert client.known.notes
    client.known.book = 1
    status, address, page = client.send_casebook(casebook(1))
    assert status == 302, (status, page)
    status, _, page = client.form(address)
    assert status == 507, (status, page)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
