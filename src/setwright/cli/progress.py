"""A bar on stderr while something takes long."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress as Bar

PATIENCE_SECONDS = 0.5
"""What is done sooner needs no bar."""


class Progress:
    """Called with a text and a share from 0 to 1; shows both on a terminal once half a second has passed.

    Elsewhere (a file, a pipe) it says nothing. The bar goes away when the work is done or stopped.

    console : where to draw. clock : seconds of a steady clock.
    """

    def __init__(self, console: Console | None = None, clock: Callable[[], float] = time.monotonic) -> None:
        self._console = console
        self._clock = clock
        self._begun = clock()
        self._bar: Bar | None = None

    def __enter__(self) -> Progress:
        self._begun = self._clock()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.stop()
            self._bar = None

    def __call__(self, text: str, share: float) -> None:
        """How far the work is."""
        if self._bar is None and self._clock() - self._begun >= PATIENCE_SECONDS:
            self._bar = self._new_bar()
        if self._bar is not None:
            self._bar.update(self._bar.task_ids[0], description=text, completed=share)

    def _new_bar(self) -> Bar | None:
        if self._console is None and not sys.stderr.isatty():
            return None
        from rich.console import Console
        from rich.progress import BarColumn, TaskProgressColumn, TextColumn
        from rich.progress import Progress as Bar

        console = self._console or Console(stderr=True, highlight=False)
        columns = (TextColumn("{task.description}", markup=False), BarColumn(bar_width=24), TaskProgressColumn())
        bar = Bar(*columns, console=console, transient=True)
        bar.add_task("", total=1.0)
        bar.start()
        return bar
