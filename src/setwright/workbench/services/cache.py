"""Remembers what was computed, by the content it was computed from."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Value = TypeVar("Value")


class ByContent(Generic[Value]):
    """The most recently used values, each under the digests of the texts it follows from.

    A value never goes stale: another content is another key. Two threads that ask for the same key at
    once compute it once.
    """

    def __init__(self, size: int) -> None:
        self.size = size
        self._values: OrderedDict[Hashable, Value] = OrderedDict()
        self._lock = threading.Lock()
        self._under_way: dict[Hashable, threading.Lock] = {}

    def find(self, key: Hashable) -> Value | None:
        """The value of this key if it was computed before, else None."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
            return self._values.get(key)

    def get(self, key: Hashable, compute: Callable[[], Value]) -> Value:
        """The value of this key, computed at first asking. What `compute` raises is raised and not kept."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                return self._values[key]
            turn = self._under_way.setdefault(key, threading.Lock())
        with turn:
            with self._lock:
                if key in self._values:
                    return self._values[key]
            try:
                value = compute()
                with self._lock:
                    self._values[key] = value
                    while len(self._values) > self.size:
                        self._values.popitem(last=False)
                return value
            finally:
                with self._lock:
                    self._under_way.pop(key, None)
