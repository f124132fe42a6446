"""How long a search takes among 50 families, 20,000 survivors and 500 sets, and keeping the index after an edit.

    python benchmarks/search.py             SQLite in a folder of its own; with DATABASE_URL, that database

The goal is 100 ms for any question.
"""

from __future__ import annotations

import os
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

FAMILIES, SURVIVORS_EACH, SETS_EACH = 50, 400, 10
FEATURES = 20
WORDS = (
    "mill", "estate", "attic", "barn", "walnut", "veneer", "knob", "dial", "lamp", "cord", "speaker", "cone", "paper",
    "label", "stamp", "rust", "mouse", "hum",
)  # fmt: skip
QUESTIONS = (
    "zzz", "haybarn", "walnut", "serial", "71?08", "6XX7", "C40", "1204", "1*", "rust mouse hum", "family 7", "l w",
    "0.02 uF", "feature converter early walnut",
)  # fmt: skip


def family_text(number: int) -> str:
    """A family of the size that a well documented chassis has."""
    features = "".join(
        f'[[feature]]\nid = "f{i}"\nlabel = "Feature {i} converter"\npart = "C{i + 20}"\naccess = "back off"\n'
        f'permanence = "soldered"\nstates = ["6SB{i}Y", "6BE{i}"]\n'
        for i in range(FEATURES)
    )
    states = ", ".join(f'f{i} = "6SB{i}Y"' for i in range(FEATURES))
    late = ", ".join(f'f{i} = "6BE{i}"' for i in range(FEATURES))
    return (
        f'format = "setwright-family/1"\nid = "family-{number}"\nname = "Family {number} table radio"\nkind = "radio"\n'
        f'last_serial = 90000\n{features}[[version]]\nid = "early"\nstates = {{ {states} }}\n'
        f'[[version]]\nid = "late"\nstates = {{ {late} }}\n'
    )


def words(draw: random.Random, count: int) -> str:
    """Some words as notes hold them."""
    return " ".join(draw.choice(WORDS) for _ in range(count))


def survivors_text(draw: random.Random, number: int) -> str:
    """A register in which most features of most sets were seen."""
    rows = [",".join(["id", "serial", "note", *(f"f{i}" for i in range(FEATURES))])]
    for i in range(SURVIVORS_EACH):
        serial = str(draw.randrange(1, 90_000))
        if i % 10 == 0:
            serial = serial[:-2] + "?" + serial[-1]
        seen = [draw.choice((f"6SB{j}Y", f"6BE{j}", "")) for j in range(FEATURES)]
        rows.append(",".join([f"S-{number}-{i}", serial, words(draw, 8), *seen]))
    return "\n".join(rows) + "\n"


def set_text(draw: random.Random, number: int, which: int) -> str:
    """A set half looked at, with notes."""
    seen = "".join(
        f'[[observation]]\nfeature = "f{i}"\nstate = "6SB{i}Y"\nnote = "{words(draw, 6)}"\n' for i in range(10)
    )
    notes = "".join(f'[[note]]\ntext = "{words(draw, 25)}"\n' for _ in range(4))
    return (
        f'format = "setwright-set/1"\nid = "set-{number}-{which}"\nfamily = "family-{number}"\n'
        f'serial = "{draw.randrange(1, 90_000)}"\n{seen}{notes}'
    )


def fill(draw: random.Random) -> None:
    """Take everything in, as files are taken in."""
    from setwright.workbench.services.imports import Incoming, import_contents

    for number in range(FAMILIES):
        name = f"family-{number}"
        incoming = [
            Incoming(f"{name}.toml", family_text(number).encode()),
            Incoming(f"{name}.csv", survivors_text(draw, number).encode(), name),
        ]
        sets = [Incoming(f"set-{i}.toml", set_text(draw, number, i).encode()) for i in range(SETS_EACH)]
        import_contents([*incoming, *sets])


def timed(run: Callable[[], object]) -> tuple[float, float]:
    """Medians of seven runs in milliseconds: by the clock, and of this process's own work."""
    times, busy = [], []
    for _ in range(7):
        start, start_busy = time.perf_counter(), time.process_time()
        run()
        times.append(1000 * (time.perf_counter() - start))
        busy.append(1000 * (time.process_time() - start_busy))
    return statistics.median(times), statistics.median(busy)


def report(what: str, times: tuple[float, float]) -> None:
    """One line of the answer."""
    print(f"{what:52} {times[0]:7.1f} ms, processor {times[1]:6.1f} ms")


def ask() -> None:
    """The questions, through the page."""
    from django.test import Client

    client = Client(headers={"host": "127.0.0.1"})
    for asked in QUESTIONS:
        times = timed(lambda asked=asked: client.get("/search/", {"q": asked}))
        total = client.get("/search/found.json", {"q": asked}).json()["total"]
        report(f"{asked!r}, {total:,} found", times)


def keep() -> None:
    """Keeping the index with an edit."""
    from setwright.files import editing
    from setwright.workbench.records import keeping
    from setwright.workbench.search import index
    from setwright.workbench.services.records import family_of
    from setwright.workbench.sets.models import SetRecord
    from setwright.workbench.survivors.models import SurvivorRegister

    record, register = SetRecord.objects.first(), SurvivorRegister.objects.first()
    family = family_of(record.family)

    def note() -> None:
        keeping.edit(record, lambda file: editing.add_note(file, family, {"text": "x"}), by=None, what="x")

    report("a note added to a set", timed(note))
    report("the index after a set, nothing changed", timed(lambda: index.refresh_record(record)))
    report("the index after a register of 400, nothing changed", timed(lambda: index.refresh_record(register)))


def main() -> None:
    """Fill, ask, report."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SETWRIGHT_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "setwright.workbench.settings"
        import django

        django.setup()
        from django.core.management import call_command

        from setwright.workbench.search import index
        from setwright.workbench.search.models import SearchEntry

        call_command("migrate", verbosity=0)
        start = time.process_time()
        fill(random.Random(11))
        print(f"taken in: {time.process_time() - start:.1f} s of processor time")
        start = time.process_time()
        index.rebuild()
        spent = time.process_time() - start
        print(f"index of {SearchEntry.objects.count():,} things made anew: {spent:.1f} s of processor time")
        ask()
        keep()
        size = sum(path.stat().st_size for path in Path(folder).rglob("*") if path.is_file())
        print(f"data folder: {size / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
