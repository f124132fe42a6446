"""Long computations in processes of their own, so that no page has to wait for them.

Python runs one thread of a process at a time. A long computation in a thread of the server therefore takes turns with
every page, and each page loses many turns. In another process it uses another core, and where there is none, the
system gives the pages their turn first.

What a computation takes and gives travels between the processes, so both must be values that `pickle` knows.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, Literal, TypeVar

from setwright.workbench.services.runs import Report, Stopped

MOST = 2
"""So many processes compute at once, each of about 80 MB; the others wait for their turn."""

NICENESS = 5
"""How far they stand back behind the pages, where the system knows such a thing: 0 not at all, 19 wholly."""

WAIT_SECONDS = 0.2
"""How often whoever waits for a turn looks whether the computation is still wanted."""

END_SECONDS = 2.0

END = "end"
"""What is sent to a process whose computation is no longer wanted."""

Value = TypeVar("Value")
Kind = Literal["progress", "done", "failed", "ended"]

log = logging.getLogger(__name__)


class _Lost(Exception):
    """The process ended before its computation did."""


class _Ended(Exception):
    """In the process: the computation is no longer wanted."""


class Processes:
    """At most `most` processes, each begun when one more is needed, and kept for the next computation.

    Where none can be begun, or one is lost, the computation is done in the caller's own thread.
    """

    def __init__(self, most: int = MOST) -> None:
        self._turns = threading.Semaphore(most)
        self._lock = threading.Lock()
        self._idle: list[Process] = []
        self._all: set[Process] = set()
        self._closed = False

    @property
    def begun(self) -> tuple[Process, ...]:
        """Those that were begun and not ended."""
        with self._lock:
            return tuple(self._all)

    def run(self, function: Callable[..., Value], progress: Report, *values: Any, **options: Any) -> Value:
        """What `function(*values, progress=…, **options)` gives or raises; function : of a module, by its name.

        Raises Stopped once closed, and what `progress` raises: that ends the computation at its next report.
        """
        while not self._turns.acquire(timeout=WAIT_SECONDS):
            progress("", 0.0)
        try:
            return self._run(function, progress, values, options)
        finally:
            self._turns.release()

    def _run(
        self, function: Callable[..., Value], progress: Report, values: tuple[Any, ...], options: dict[str, Any]
    ) -> Value:
        process = None
        try:
            process = self._take()
            value: Value = process.compute(function, progress, values, options)
        except (_Lost, OSError) as error:
            if process is not None:
                self._give_up(process)
            if self._closed:
                raise Stopped from error
            progress("", 0.0)  # raises where the computation is not wanted any more
            log.warning("A computation goes on in the server, because its own process is not to be had: %s", error)
            return function(*values, progress=progress, **options)
        except BaseException:
            self._give_back(process)
            raise
        self._give_back(process)
        return value

    def _take(self) -> Process:
        with self._lock:
            if self._closed:
                raise Stopped
            if self._idle:
                return self._idle.pop()
            process = Process()
            self._all.add(process)
            return process

    def _give_back(self, process: Process | None) -> None:
        with self._lock:
            if process is not None and not self._closed:
                self._idle.append(process)

    def _give_up(self, process: Process) -> None:
        with self._lock:
            self._all.discard(process)
        process.end()

    def close(self) -> None:
        """End all processes, whatever they are at; whoever waits for one gets Stopped."""
        with self._lock:
            self._closed = True
            processes, self._idle = list(self._all), []
            self._all.clear()
        for process in processes:
            process.end()


class Process:
    """One process, for one computation at a time."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._connection, theirs = context.Pipe()
        self._process: SpawnProcess = context.Process(target=_serve, args=(theirs,), name="computing", daemon=True)
        self._process.start()
        theirs.close()

    @property
    def number(self) -> int:
        """What the system knows it by."""
        return self._process.pid or 0

    @property
    def is_alive(self) -> bool:
        """Whether it has not ended yet."""
        return self._process.is_alive()

    def compute(
        self, function: Callable[..., Value], progress: Report, values: tuple[Any, ...], options: dict[str, Any]
    ) -> Value:
        """What the function gives there; raises what it raises there, what `progress` raises here, and _Lost."""
        self._send((function, values, options))
        while True:
            kind, value = self._receive()
            if kind == "failed":
                raise value
            if kind != "progress":
                done: Value = value
                return done
            try:
                progress(*value)
            except BaseException:
                self._send(END)
                while self._receive()[0] == "progress":
                    pass
                raise

    def _send(self, what: object) -> None:
        try:
            self._connection.send(what)
        except OSError as error:
            raise _Lost("it takes nothing any more") from error

    def _receive(self) -> tuple[Kind, Any]:
        try:
            received: tuple[Kind, Any] = self._connection.recv()
        except (EOFError, OSError) as error:
            raise _Lost("it ended") from error
        return received

    def end(self) -> None:
        """End the process, whatever it is at."""
        self._process.terminate()
        self._process.join(END_SECONDS)


def _serve(connection: Connection) -> None:
    """The life of a process: one computation after another, until the server goes away."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which ends its processes itself
    if hasattr(os, "nice"):
        os.nice(NICENESS)

    def report(text: str, share: float) -> None:
        if connection.poll():
            connection.recv()
            raise _Ended
        connection.send(("progress", (text, share)))

    while True:
        try:
            asked = connection.recv()
        except (EOFError, OSError):
            return
        if asked == END:  # it came when the computation had ended already
            continue
        function, values, options = asked
        try:
            answer: tuple[Kind, Any] = "done", function(*values, progress=report, **options)
        except _Ended:
            answer = "ended", None
        except OSError:
            return
        except Exception as error:  # noqa: BLE001 (raised again in whoever asked)
            error.add_note("In a process of its own:\n" + traceback.format_exc())
            answer = "failed", error
        connection.send(answer)


_processes: Processes | None = None


@contextmanager
def computing_apart() -> Iterator[None]:
    """While it lasts, `run` computes in processes; in the end they are ended, whatever they are at."""
    global _processes
    here = _processes = Processes()
    try:
        yield
    finally:
        _processes = None
        here.close()


def run(function: Callable[..., Value], progress: Report, *values: Any, **options: Any) -> Value:
    """`function(*values, progress=progress, **options)`, in a process of its own where there are any."""
    if _processes is None:
        return function(*values, progress=progress, **options)
    return _processes.run(function, progress, *values, **options)
