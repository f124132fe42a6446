"""Text on a terminal: paragraphs, bars and tables, readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

WIDEST = 100
NARROWEST = 48
_BAR = 24
_JOIN = "\0"


class Paper:
    """A console to write on. blocks : draw bars from block characters; otherwise from number signs."""

    def __init__(self, console: Console | None = None, *, blocks: bool = True) -> None:
        self.console = console or Console(highlight=False, markup=False, emoji=False)
        # Below the narrowest, tables would lose whole columns; such a terminal breaks the lines itself.
        self.width = self.console.width = max(min(self.console.width, WIDEST), NARROWEST)
        self.full = "█" if blocks else "#"
        self.half = "▌" if blocks else "."

    def say(self, text: Text | str = "") -> None:
        """One text as it is; an empty line without one."""
        self.console.print(text, width=self.width)

    def heading(self, text: str) -> None:
        """The name of a part, after an empty line."""
        self.say()
        self.say(Text(text, style="bold"))

    def paragraph(self, text: str, indent: int = 0, hang: int = 0) -> None:
        """Running text; `hang` is how much further all lines but the first are set in."""
        # A figure and its percent sign stay on one line.
        lines = wrap(
            text.replace(" %", f"{_JOIN}%"),
            self.width,
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
        )
        self.console.print(Text("\n".join(lines).replace(_JOIN, " ")), width=self.width)

    def bar(self, share: float, width: int = _BAR) -> str:
        """A bar as long as a share of its width, at least a half mark where the share is above nought."""
        halves = round(2 * width * share)
        if share > 0 and halves == 0:
            halves = 1
        return self.full * (halves // 2) + self.half * (halves % 2)

    def table(self, *columns: str, right: Sequence[int] = (), fold: Sequence[int] = ()) -> Table:
        """A table without lines; columns in `right` are numbers, those in `fold` give way where space is short."""
        table = Table(
            box=None, padding=(0, 2, 0, 0), show_header=any(columns), header_style="underline", pad_edge=False
        )
        for index, name in enumerate(columns):
            table.add_column(
                name, justify="right" if index in right else "left", overflow="fold", no_wrap=index not in fold
            )
        return table

    def show(self, table: Table) -> None:
        """A table, set in a little."""
        self.console.print(Padding(table, (0, 0, 0, 2)), width=self.width)
