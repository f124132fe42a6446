"""Computations that may take long: in the background, one for each thing asked, to be watched and stopped."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Hashable
from concurrent.futures import Future, wait
from queue import SimpleQueue
from typing import Generic

from setwright.workbench.services.cache import ByContent, Value

Report = Callable[[str, float], None]
"""Told what is being done and what share of it, 0 to 1."""


class Stopped(Exception):
    """Somebody stopped the computation."""


class StillRunning(Exception):
    """The value is not there yet; `run` tells how far it is."""

    def __init__(self, run: Run) -> None:
        super().__init__(run.text)
        self.run = run


class Run:
    """One computation under way."""

    def __init__(self) -> None:
        self.text = ""
        self.share = 0.0
        self.begun = time.monotonic()
        self.stopped = threading.Event()

    def report(self, text: str, share: float) -> None:
        """Note how far the computation is. Raises Stopped in a computation that is to end.

        The share only grows: a computation that has to take a longer way stands still for a while.
        """
        if self.stopped.is_set():
            raise Stopped
        self.text, self.share = text, min(max(share, self.share), 1.0)

    @property
    def seconds(self) -> float:
        """How long ago it was asked for."""
        return time.monotonic() - self.begun


class _Workers(Generic[Value]):
    """At most so many threads that do what is submitted, first come first served.

    They end with the process, whatever they are at: an executor's threads would keep a server that was told to stop
    waiting until a long computation comes to its next report. A thread that ends so inside a numerical library may
    take the process down with a message of its own, so whoever ends a process lets them come to `rest` first.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._threads: list[threading.Thread] = []
        self._waiting: SimpleQueue[tuple[Future[Value], Callable[[], Value]]] = SimpleQueue()
        self._at_work: set[Future[Value]] = set()
        self._lock = threading.Lock()

    def submit(self, work: Callable[[], Value]) -> Future[Value]:
        future: Future[Value] = Future()
        self._waiting.put((future, work))
        if len(self._threads) < self._most:
            self._threads.append(threading.Thread(target=self._do_all, name="run", daemon=True))
            self._threads[-1].start()
        return future

    def _do_all(self) -> None:
        while True:
            future, work = self._waiting.get()
            if not future.set_running_or_notify_cancel():
                continue
            with self._lock:
                self._at_work.add(future)
            try:
                future.set_result(work())
            except BaseException as error:  # noqa: BLE001 (raised again in whoever asks for the value)
                future.set_exception(error)
            finally:
                with self._lock:
                    self._at_work.discard(future)

    def rest(self, patience: float) -> bool:
        """Wait until nothing is under way; whether that came within so many seconds."""
        with self._lock:
            at_work = set(self._at_work)
        return not wait(at_work, timeout=patience).not_done


class Runs(Generic[Value]):
    """Runs computations in the background, at most `at_once`; the others wait their turn.

    Whoever asks for the same key shares one run. Its value goes into the cache; what it raises is raised
    to those who ask next, and then forgotten. A run that was stopped stays stopped until it is started again.
    """

    def __init__(self, cache: ByContent[Value], at_once: int = 2) -> None:
        self._cache = cache
        self._at_once = at_once
        self._workers: _Workers[Value] = _Workers(at_once)
        self._lock = threading.Lock()
        self._under_way: dict[Hashable, tuple[Run, Future[Value]]] = {}

    def get(self, key: Hashable, compute: Callable[[Report], Value], patience: float | None = None) -> Value:
        """The value of this key.

        compute : called in another thread if the value is neither known nor under way.
        patience : seconds to wait for it; None waits as long as it takes.

        Raises StillRunning when patience ends, Stopped where the run was stopped, and what `compute` raises.
        """
        known = self._cache.find(key)
        if known is not None:
            return known
        run, future = self._join(key, compute)
        if run.stopped.is_set():
            raise Stopped
        if not wait([future], timeout=patience).done:
            raise StillRunning(run)
        if run.stopped.is_set():
            known = self._cache.find(key)  # it may have come to its end all the same
            if known is None:
                raise Stopped
            return known
        self._forget(key, run)
        return future.result()

    def find(self, key: Hashable) -> Value | None:
        """The value of this key if it was computed before, else None."""
        return self._cache.find(key)

    def here_and_now(self, key: Hashable, compute: Callable[[], Value]) -> Value:
        """The value of this key, computed by the caller's own thread where it is not known yet."""
        return self._cache.get(key, compute)

    def _join(self, key: Hashable, compute: Callable[[Report], Value]) -> tuple[Run, Future[Value]]:
        """The run under way for this key, or a new one."""
        with self._lock:
            if key not in self._under_way:
                run = Run()
                self._under_way[key] = run, self._workers.submit(lambda: self._compute(key, run, compute))
            return self._under_way[key]

    def _compute(self, key: Hashable, run: Run, compute: Callable[[Report], Value]) -> Value:
        run.report("", 0.0)
        value = self._cache.get(key, lambda: compute(run.report))
        self._forget(key, run)
        return value

    def _forget(self, key: Hashable, run: Run) -> None:
        with self._lock:
            if self._under_way.get(key, (None, None))[0] is run:
                del self._under_way[key]

    def stop(self, key: Hashable) -> bool:
        """Stop the run of this key at its next report; whether there was one."""
        with self._lock:
            run, future = self._under_way.get(key, (None, None))
            if run is None or future is None or future.done():
                return False
            run.stopped.set()
            future.cancel()
            return True

    def abandon(self, key: Hashable) -> None:
        """Stop the run of this key, and forget it: whoever asks for it all the same begins anew."""
        with self._lock:
            run, future = self._under_way.pop(key, (None, None))
            if run is not None and future is not None:
                run.stopped.set()
                future.cancel()

    def start_again(self, key: Hashable) -> None:
        """Let a stopped run be run when it is next asked for."""
        with self._lock:
            run, _ = self._under_way.get(key, (None, None))
            if run is not None and run.stopped.is_set():
                del self._under_way[key]

    def stop_all(self) -> None:
        """Stop everything, when the process is to end."""
        with self._lock:
            keys = list(self._under_way)
        for key in keys:
            self.stop(key)

    def rest(self, patience: float) -> bool:
        """Wait until what was stopped has come to its end; whether that was within so many seconds."""
        return self._workers.rest(patience)
