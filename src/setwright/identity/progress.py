"""How far a computation is."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, float], None]
"""Called now and then with what is being done and the share of it done, 0 to 1; raising in it ends the computation."""


def part_of(progress: Progress | None, begin: float, end: float) -> Progress | None:
    """What a part of the work is to call: its shares 0 to 1 become shares from `begin` to `end` of the whole.

    >>> part_of(lambda text, share: print(text, share), 0.5, 1.0)("Weighing", 0.5)
    Weighing 0.75
    """
    if progress is None:
        return None

    def report(text: str, share: float) -> None:
        progress(text, begin + (end - begin) * share)

    return report
