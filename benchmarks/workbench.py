"""How long pages take in a full data folder, with ten users at once.

    python benchmarks/workbench.py            SQLite, and beside it PostgreSQL, one of its own by scripts/with-postgres
    python benchmarks/workbench.py SQLite     one of them alone

500 sets of 50 families with 20,000 survivors and 5,000 photos, behind the server that `setwright serve` runs. A user
asks for the next page as soon as the last one is there, on a connection that stays open; so ten at once mean that ten
requests are always waiting or under way. Goals: the shelf and a set's page within 150 ms for 95 of 100 requests, an
observation with the page that tells what it changed within 300 ms, the server ready within 3 s.

The users run in this process, on the same machine: what they take of it is in the figures, and so is whatever else runs
there. What is not is the last figure of each line, the milliseconds of computing that a request costs the server.
"""

from __future__ import annotations

import argparse
import gzip
import http.client
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any
from urllib.parse import urlencode, urlsplit

from common import about_the_machine
from filling import FAMILIES, FEATURES, PARTS, PHOTOS_EACH, SETS_EACH, SURVIVORS_EACH, WORDS, fill

ROOT = Path(__file__).resolve().parent.parent
STORES = ("SQLite", "PostgreSQL")
USERS = 10
ASKED = 400
"""So many requests to each kind of page, shared out among the users."""

GOALS = {"the shelf": 150.0, "a set's page": 150.0, "an observation, and what it changed": 300.0}
READY_GOAL = 3000.0

Times = dict[str, list[float]]
COMPUTING = "computing: "
"""Before what was measured: how much the server computed for each request."""


class User:
    """A connection to the site that stays open, with its cookies."""

    def __init__(self, host: str, number: int) -> None:
        self.number = number
        self.draw = random.Random(number)
        self.connection = http.client.HTTPConnection(host, timeout=120)
        self.cookies: dict[str, str] = {}

    def ask(self, address: str, form: dict[str, str] | None = None) -> tuple[int, str, str]:
        """Status, text and where the answer sends one on."""
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        headers = {"Cookie": cookies, "Accept-Encoding": "gzip"}
        body = None
        if form is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            body = urlencode(form)
        self.connection.request("GET" if form is None else "POST", address, body, headers)
        answer = self.connection.getresponse()
        content = answer.read()
        if answer.headers.get("Content-Encoding") == "gzip":
            content = gzip.decompress(content)
        for given in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = given.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answer.status, content.decode(), answer.headers.get("Location", "")

    def page(self, address: str) -> str:
        """A page that has to be there."""
        status, text, _ = self.ask(address)
        if status != 200:
            raise SystemExit(f"{address} was answered with {status}")
        return text


def some_set(draw: random.Random) -> str:
    return f"/sets/family-{draw.randrange(FAMILIES)}-bench-{draw.randrange(SETS_EACH)}/"


def some_family(draw: random.Random) -> str:
    return f"/families/family-{draw.randrange(FAMILIES)}/"


def shelf(draw: random.Random) -> str:
    """Any page of the shelf, sometimes narrowed by a word."""
    query = {"order": draw.choice(("name", "changed"))}
    query |= {"q": draw.choice(WORDS)} if draw.random() < 0.3 else {"page": str(draw.randrange(1, 11))}
    return f"/sets/?{urlencode(query)}"


def table(draw: random.Random) -> str:
    """Survivors of any family, sorted or narrowed in any way."""
    query = {"sort": draw.choice(("file", "name", "serial", "seen", "closest")), "page": str(draw.randrange(1, 5))}
    if draw.random() < 0.3:
        query["q"] = draw.choice(WORDS)
    return f"{some_family(draw)}survivors/?{urlencode(query)}"


def question(draw: random.Random) -> str:
    """A word, a serial's beginning, or part of one."""
    number = draw.randrange(FEATURES)
    asked = draw.choice((draw.choice(WORDS), f"6BE{number}", PARTS[number % len(PARTS)], "12?4", f"family {number}"))
    return f"/search/?{urlencode({'q': asked})}"


READ: dict[str, Callable[[random.Random], str]] = {
    "the shelf": shelf,
    "a set's page": some_set,
    "a table of survivors": table,
    "a family's page": some_family,
    "the photos of a set": lambda draw: f"{some_set(draw)}photos/",
    "a search": question,
}


def own_set(user: User) -> str:
    """One of the two sets that a user has on the bench."""
    return f"/sets/family-{user.number}-bench-{user.draw.randrange(2)}/"


def observe(user: User) -> float:
    """Press a state of some feature at the bench; milliseconds until the page is there that says what it changed."""
    place = f"{own_set(user)}bench/"
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', user.page(place))
    if token is None:
        raise SystemExit(f"{place} has no form")
    number = user.draw.randrange(FEATURES)
    address, state = f"{place}see/f{number:02d}/", f"{user.draw.choice(('6SB', '6BE'))}{number}"
    start = time.perf_counter()
    status, text, onward = user.ask(address, {"state": state, "csrfmiddlewaretoken": token[1]})
    if status != 302:
        raise SystemExit(f"{address} was answered with {status}: {text[:500]}")
    told = user.page(onward)
    taken = 1000.0 * (time.perf_counter() - start)
    if 'id="told"' not in told:
        raise SystemExit(f"{onward} does not tell what the observation changed")
    return taken


def at_once(users: list[User], work: Callable[[User], list[float]]) -> list[float]:
    """All users at work, each in a thread; the times they took."""
    with ThreadPoolExecutor(len(users)) as pool:
        return [one for times in pool.map(work, users) for one in times]


def reading(users: list[User], address: Callable[[User], str], asked: int = ASKED) -> list[float]:
    """Milliseconds of each request to addresses of one kind."""

    def work(user: User) -> list[float]:
        times = []
        for _ in range(asked // len(users)):
            page = address(user)
            start = time.perf_counter()
            user.page(page)
            times.append(1000.0 * (time.perf_counter() - start))
        return times

    return at_once(users, work)


def observing(users: list[User], each: int) -> list[float]:
    """Milliseconds of each observation."""
    return at_once(users, lambda user: [observe(user) for _ in range(each)])


def first_sight(users: list[User]) -> list[float]:
    """Every set's page once, from a server that has just started: its file is read anew."""
    pages = [f"/sets/family-{n}-bench-{m}/" for n in range(FAMILIES) for m in range(SETS_EACH)]
    random.Random(5).shuffle(pages)

    def work(user: User) -> list[float]:
        times = []
        for page in pages[users.index(user) :: len(users)]:
            start = time.perf_counter()
            user.page(page)
            times.append(1000.0 * (time.perf_counter() - start))
        return times

    return at_once(users, work)


@contextmanager
def server(folder: Path) -> Iterator[tuple[str, float, int]]:
    """`setwright serve` in a process of its own: host and port, milliseconds until it answered, and its number."""
    start = time.perf_counter()
    command = [sys.executable, "-c", "from setwright.cli import main; main()", "serve", "--port", "0", "--no-open"]
    process = subprocess.Popen([*command, "--data", str(folder)], stdout=subprocess.PIPE, text=True)
    try:
        host = urlsplit(first_line(process.stdout)).netloc
        User(host, 0).page("/healthz")
        yield host, 1000.0 * (time.perf_counter() - start), process.pid
    finally:
        process.terminate()
        process.wait(timeout=30)


def computed(process: int) -> float:
    """Milliseconds that a process has computed so far, in all its threads and in the processes it began; Linux only."""
    ticks = 0
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = place.read_text().rpartition(")")[2].split()
        except (FileNotFoundError, ProcessLookupError):  # it ended meanwhile
            continue
        if process in (int(place.parent.name), int(fields[1])):
            ticks += int(fields[11]) + int(fields[12])
    return 1000.0 * ticks / os.sysconf("SC_CLK_TCK")


def first_line(stream: IO[str] | None) -> str:
    """The address that the server prints once it is ready."""
    line = stream.readline() if stream is not None else ""
    found = re.search(r"http://\S+", line)
    if found is None:
        raise SystemExit(f"the server did not start: {line}")
    return found[0]


def measure(folder: Path, kept: Path | None) -> Times:
    """Fill a folder, or use a filled one, and measure everything in it."""
    times: Times = {}
    start = time.perf_counter()
    fill_folder(folder, kept)
    times["taking everything in"] = [1000.0 * (time.perf_counter() - start)]
    with server(folder) as (_, ready, process):
        times["ready"] = [ready]
        times[f"{COMPUTING}ready"] = [computed(process)]
    with server(folder) as (host, ready, process):
        times["ready"].append(ready)
        for what, run in runs([User(host, number) for number in range(USERS)]).items():
            before = computed(process)
            times[what] = run()
            times[f"{COMPUTING}{what}"] = [(computed(process) - before) / len(times[what])]
            print(what, shown(times, what), file=sys.stderr)
    times["load"] = list(os.getloadavg())
    return times


def fill_folder(folder: Path, kept: Path | None) -> None:
    """A folder with everything in it and the backup of today, so that none begins meanwhile."""
    from setwright.workbench.server import prepare

    prepare(folder)
    from setwright.workbench.backup.attending import back_up_if_due  # needs the prepared folder

    if kept is None or not (folder / "filled").exists():
        fill()
        (folder / "filled").touch()
    back_up_if_due(folder)


def runs(users: list[User]) -> dict[str, Callable[[], list[float]]]:
    """Everything that is measured, in order. The last ones have full answers computed in the background all along."""

    def read(address: Callable[[random.Random], str]) -> Callable[[], list[float]]:
        return lambda: reading(users, lambda user: address(user.draw))

    return {
        "a set's page, first time after a start": lambda: first_sight(users),
        **{what: read(address) for what, address in READ.items()},
        "a screen at the bench": lambda: reading(users, lambda user: f"{own_set(user)}bench/"),
        "an observation, and what it changed": lambda: observing(users[:1], 30),
        "an observation, ten people at once": lambda: observing(users, 5),
        "the shelf, while answers are computed": read(shelf),
    }


def quantile(times: list[float], share: float) -> float:
    """The time that this share of the requests stays within."""
    return sorted(times)[min(int(share * len(times)), len(times) - 1)]


def shown(times: Times, what: str) -> str:
    """Half of them within, 95 of 100 within, and what one costs the server."""
    half, most = quantile(times[what], 0.5), quantile(times[what], 0.95)
    return f"{half:7,.0f} /{most:7,.0f} /{times[f'{COMPUTING}{what}'][0]:5,.0f}"


def report(results: dict[str, Times]) -> None:
    """One table: each kind of request with its times on each store."""
    print(f"{about_the_machine()}")
    print(
        f"{FAMILIES} families, {FAMILIES * SURVIVORS_EACH:,} survivors, {FAMILIES * SETS_EACH} sets, "
        f"{FAMILIES * SETS_EACH * PHOTOS_EACH:,} photos; {USERS} users at once. Milliseconds: half of the requests "
        "within, 95 of 100 within, computing for each"
    )
    print(f"{'':40}" + "".join(f"{store:>26}" for store in results) + f"{'goal':>10}")
    for what in next(iter(results.values())):
        if what in ("load", "taking everything in") or what.startswith(COMPUTING):
            continue
        goal = READY_GOAL if what == "ready" else GOALS.get(what)
        cells = "".join(f"{shown(times, what):>26}" for times in results.values())
        print(f"{what:40}{cells}{f'{goal:,.0f}' if goal else '':>10}")
    for store, times in results.items():
        one, five = times["load"][:2]
        filled = times["taking everything in"][0] / 1000.0
        print(
            f"{store}: taken in within {filled:,.0f} s; load average of the last minute {one:.1f}, of five {five:.1f}"
        )


def measured_in_a_process(store: str, kept: Path | None) -> Times | None:
    """The times of one store; None where there is no PostgreSQL to be had."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "times.json"
        command: list[str] = [sys.executable, __file__, "--times", str(out)]
        environment: dict[str, Any] = {**os.environ}
        environment.pop("DATABASE_URL", None)
        if store == "PostgreSQL":
            command = [str(ROOT / "scripts" / "with-postgres"), *command]
            environment["SETWRIGHT_POSTGRES_DURABLE"] = "1"
        elif kept is not None:
            command += ["--keep", str(kept)]
        subprocess.run(command, check=True, env=environment)
        return json.loads(out.read_text()) if out.exists() else None


def main() -> None:
    """Measure each store in a process of its own, then report."""
    parser = argparse.ArgumentParser(description="Pages of a full data folder, ten users at once")
    parser.add_argument("stores", nargs="*", choices=[*STORES, []], help="SQLite, PostgreSQL (default: both)")
    parser.add_argument("--keep", type=Path, help="a folder that stays, so that SQLite is filled only once")
    parser.add_argument("--times", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.times is not None:
        with tempfile.TemporaryDirectory() as folder:
            given.times.write_text(json.dumps(measure(given.keep or Path(folder), given.keep)))
        return
    results = {store: measured_in_a_process(store, given.keep) for store in given.stores or STORES}
    report({store: times for store, times in results.items() if times is not None})


if __name__ == "__main__":
    main()
