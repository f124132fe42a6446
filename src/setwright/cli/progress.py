"""A bar on stderr while something takes long."""

from __future__ import annotations

import sys
import threading
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

    console : where to draw; None draws on stderr if that is a terminal. patience : seconds before anything is shown.
    """

    def __init__(self, console: Console | None = None, patience: float = PATIENCE_SECONDS) -> None:
        self._console = console
        self._text, self._share = "", 0.0
        self._bar: Bar | None = None
        self._lock = threading.Lock()
        self._timer: threading.Timer | None = None
        if console is not None or sys.stderr.isatty():
            self._timer = threading.Timer(patience, self._begin)
            self._timer.daemon = True

    def __enter__(self) -> Progress:
        if self._timer is not None:
            self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        with self._lock:
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None
            if self._bar is not None:
                self._bar.stop()
                self._bar = None

    def __call__(self, text: str, share: float) -> None:
        """How far the work is; the share shown only grows."""
        with self._lock:
            self._text, self._share = text, max(share, self._share)
            self._show()

    def _begin(self) -> None:
        """The half second is over; the work may have ended just now."""
        with self._lock:
            if self._timer is not None:
                self._bar = _new_bar(self._console)
                self._show()

    def _show(self) -> None:
        if self._bar is not None:
            self._bar.update(self._bar.task_ids[0], description=self._text, completed=self._share)


def _new_bar(console: Console | None) -> Bar:
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}", markup=False), BarColumn(bar_width=24), TaskProgressColumn())
    bar = Bar(*columns, console=console or Console(stderr=True, highlight=False), transient=True)
    bar.add_task("", total=1.0)
    bar.start()
    return bar
