"""The identity answer laid out for a terminal: plain bars and tables, readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from textwrap import wrap

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from setwright.cli.identity_words import cut_in_words, likeness, percent, place_words, weight_words
from setwright.files.problems import line_words
from setwright.identity import Answer, BenchSet, Family
from setwright.identity.answer import ObservationAnswer, VerdictEntry

WIDEST = 100
NARROWEST = 48
_BAR = 24
_SHOWN_FROM = 0.01
_SUSPECT_FROM = 0.2
_LITTLE_DECIBANS = 0.5
_MOST_LOOKS = 8
_LEAST_BITS = 0.005
_JOIN = "\0"
_MISFIT = 0.01
_UNUSUAL = 0.05


def print_report(family: Family, bench: BenchSet, answer: Answer, *, blocks: bool = True) -> None:
    """Print the answer. blocks : draw bars from block characters; otherwise from number signs."""
    Report(family, bench, answer, Console(highlight=False, markup=False, emoji=False), blocks).print()


class Report:
    """One answer on one console."""

    def __init__(self, family: Family, bench: BenchSet, answer: Answer, console: Console, blocks: bool) -> None:
        self.family = family
        self.bench = bench
        self.answer = answer
        self.console = console
        # Below the narrowest, tables would lose whole columns; such a terminal breaks the lines itself.
        self.width = console.width = max(min(console.width, WIDEST), NARROWEST)
        self.full = "█" if blocks else "#"
        self.half = "▌" if blocks else "."
        self.units = {axis.line: axis.unit for axis in answer.axes}
        self.leading = answer.verdict[0]

    def print(self) -> None:
        """Everything, in reading order."""
        serial = f", serial {self.bench.serial}" if self.bench.serial else ""
        self._say(Text(f"{self.family.name}: set {self.bench.id}{serial}", style="bold"))
        for sentence in self.answer.explanations:
            self._paragraph(sentence)
        self._verdict()
        self._evidence()
        self._suspects()
        self._cut_ins()
        self._condition_and_place()
        self._predictions()
        self._next()
        self._notes()

    # Pieces

    def _say(self, text: Text | str = "") -> None:
        self.console.print(text, width=self.width)

    def _heading(self, text: str) -> None:
        self._say()
        self._say(Text(text, style="bold"))

    def _paragraph(self, text: str, indent: int = 0, hang: int = 0) -> None:
        """Running text; `hang` is how much further all lines but the first are set in."""
        # A figure and its percent sign stay on one line.
        lines = wrap(
            text.replace(" %", f"{_JOIN}%"),
            self.width,
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
        )
        self.console.print(Text("\n".join(lines).replace(_JOIN, " ")), width=self.width)

    def _bar(self, share: float, width: int = _BAR) -> str:
        """A bar as long as a share of its width, at least a half mark where the share is above nought."""
        halves = round(2 * width * share)
        if share > 0 and halves == 0:
            halves = 1
        return self.full * (halves // 2) + self.half * (halves % 2)

    def _table(self, *columns: str, right: Sequence[int] = (), fold: Sequence[int] = ()) -> Table:
        """A table without lines; columns in `right` are numbers, those in `fold` give way where space is short."""
        table = Table(
            box=None, padding=(0, 2, 0, 0), show_header=any(columns), header_style="underline", pad_edge=False
        )
        for index, name in enumerate(columns):
            table.add_column(
                name, justify="right" if index in right else "left", overflow="fold", no_wrap=index not in fold
            )
        return table

    def _show(self, table: Table) -> None:
        self.console.print(Padding(table, (0, 0, 0, 2)), width=self.width)

    def _label(self, feature: str) -> str:
        return self.family.feature(feature).label

    # Parts

    def _verdict(self) -> None:
        self._heading("Verdict")
        table = self._table("", "", "", right=[0], fold=[2])
        shown = [entry for entry in self.answer.verdict if entry.probability >= _SHOWN_FROM] or [self.leading]
        for entry in shown:
            table.add_row(percent(entry.probability), self._bar(entry.probability), self._entry_words(entry))
        self._show(table)
        rest = sum(entry.probability for entry in self.answer.verdict[len(shown) :])
        if rest > 0:
            self._paragraph(f"All other versions and places between them: {percent(rest)} together.", 2)

    def _entry_words(self, entry: VerdictEntry) -> str:
        return f"{entry.label}, {line_words(entry.line)}" if len(self.family.lines) > 1 else entry.label

    def _evidence(self) -> None:
        self._heading(f"What each observation says of: {self._entry_words(self.leading)}")
        if not self.answer.observations:
            self._paragraph("Nothing has been seen yet.", 2)
            return
        self._paragraph(
            "In decibans, tenths of a factor of ten: +3 doubles the odds, +10 makes them ten times as good, "
            "and minus the other way.",
            2,
        )
        table = self._table("feature", "seen", "decibans", "the odds become", right=[2], fold=[0, 1, 3])
        telling = [item for item in self.answer.observations if abs(item.decibans) >= _LITTLE_DECIBANS]
        for item in telling:
            words = weight_words(item.decibans)
            table.add_row(self._label(item.feature), item.state or "-", f"{item.decibans:+.1f}", words)
        if telling:
            self._show(table)
        rest = [self._label(item.feature) for item in self.answer.observations if item not in telling]
        if rest:
            self._paragraph(f"Under half a deciban either way: {', '.join(rest)}.", 2)

    def _suspects(self) -> None:
        self._heading("Altered or misread?")
        serviced = {seen.feature for seen in self.bench.latest.values() if seen.serviced}
        suspects, replaced = self._sorted_suspects(serviced)
        if not suspects:
            self._paragraph(f"Nothing is either with a probability of {percent(_SUSPECT_FROM)} or more.", 2)
        else:
            table = self._table("feature", "seen", "factory state", "altered", "misread", right=[3, 4], fold=[0, 1, 2])
            for item in suspects:
                table.add_row(
                    self._label(item.feature),
                    item.state,
                    self._factory_state(item.feature),
                    percent(item.altered_probability),
                    percent(item.misread_probability),
                )
            self._show(table)
        if replaced:
            names = ", ".join(f"{self._label(i.feature)} ({percent(i.altered_probability)})" for i in replaced)
            self._paragraph(f"As the factory built it, but perhaps replaced by the same: {names}.", 2)
        if serviced:
            names = ", ".join(self._label(feature) for feature in sorted(serviced))
            self._paragraph(f"Looks serviced, and is kept out of the verdict: {names}.", 2)

    def _sorted_suspects(self, serviced: set[str]) -> tuple[list[ObservationAnswer], list[ObservationAnswer]]:
        """Items that are probably not as built, and those that look right but may have been replaced by the same."""
        doubted = [
            item
            for item in self.answer.observations
            if item.altered_probability + item.misread_probability >= _SUSPECT_FROM and item.feature not in serviced
        ]
        doubted.sort(key=lambda item: -(item.altered_probability + item.misread_probability))
        same = [
            item
            for item in doubted
            if self.leading.states.get(item.feature) == item.state and item.altered_probability >= _SUSPECT_FROM
        ]
        return [item for item in doubted if item not in same], same

    def _factory_state(self, feature: str) -> str:
        built = self.leading.states.get(feature)
        return "-" if built is None else f"probably {built}"

    def _cut_ins(self) -> None:
        line = self.leading.line
        changes = [change for change in self.answer.changes if change.line == line]
        if not changes:
            return
        several = len(self.family.lines) > 1
        self._heading(f"Changes in production{f' of the {line_words(line)}' if several else ''}")
        level = percent(changes[0].cut_in.level)
        table = self._table("change", "cut-in, median", f"{level} range", "has it", right=[3], fold=[0, 1, 2])
        for change in changes:
            place = cut_in_words(self.family, line, self.units.get(line), change.cut_in)
            words = f"{self._label(change.feature)}: {change.from_state} to {change.to_state}"
            table.add_row(words, *place, percent(change.applied_probability))
        self._show(table)
        if several:
            self._paragraph("The other lines' changes are in the full answer (--json).", 2)

    def _condition_and_place(self) -> None:
        self._heading("The set as a whole")
        table = self._table("", "", "", right=[1])
        for name, probability in self.answer.condition.items():
            table.add_row(name, percent(probability), self._bar(probability))
        self._show(table)
        likeliest = max(self.answer.axes, key=lambda axis: axis.probability, default=None)
        if likeliest is not None:
            words = place_words(self.family, likeliest.line, likeliest.unit, self.answer.serial)
            self._paragraph(f"Place in the run: {words}.", 2)
        p_value = self.answer.misfit_p_value
        verdict = (
            "no documented history explains this set"
            if p_value < _MISFIT
            else "unusual, yet a documented history explains it"
            if p_value < _UNUSUAL
            else "nothing out of the ordinary"
        )
        self._paragraph(f"Misfit: {verdict}. {likeness(p_value)}", 2)
        for group in self.answer.groups:
            if group.elsewhere_probability >= _SHOWN_FROM:
                chance = percent(group.elsewhere_probability)
                self._paragraph(f"The {group.group} comes from another set with probability {chance}.", 2)

    def _predictions(self) -> None:
        if not self.answer.predicted:
            return
        self._heading("Not seen: what the factory probably built")
        table = self._table("feature", "", "", fold=[0, 2])
        for item in sorted(self.answer.predicted, key=lambda item: -max(item.states.values())):
            states = sorted(item.states.items(), key=lambda pair: -pair[1])
            words = ", ".join(f"{state} {percent(p)}" for state, p in states if p >= _SHOWN_FROM)
            table.add_row(self._label(item.feature), self._bar(states[0][1], 10), words)
        self._show(table)

    def _next(self) -> None:
        self._heading("What to look at next")
        shown = [look for look in self.answer.next if look.bits >= _LEAST_BITS][:_MOST_LOOKS]
        if not self.answer.batches and not shown:
            self._paragraph("Nothing that is left to see would tell more.", 2)
            return
        for number, batch in enumerate(self.answer.batches, 1):
            names = ", ".join(self._label(feature) for feature in batch.features)
            self._paragraph(f"{number}. {place_of(batch.access)}: {names}.", 2, hang=3)
            minutes = "1 minute" if batch.minutes == 1 else f"{batch.minutes:g} minutes"
            self._paragraph(f"{batch.bits:.2f} bits in {minutes}, {batch.bits_per_minute:.3f} a minute.", 5)
            for caution in batch.cautions:
                self._paragraph(f"! {caution}", 5, hang=2)
        self._say()
        table = self._table("one look alone", "where", "bits", "minutes", "a minute", right=[2, 3, 4], fold=[0, 1])
        for look in shown:
            table.add_row(
                self._label(look.feature),
                look.access,
                f"{look.bits:.2f}",
                f"{look.minutes:g}",
                f"{look.bits_per_minute:.3f}",
            )
        if shown:
            self._show(table)
        if len(self.answer.next) > len(shown):
            self._paragraph(f"{len(self.answer.next) - len(shown)} more tell less (--json has them all).", 2)
        self._paragraph(
            "Bits tell how much of the doubt about the factory state of the whole set a look is expected to "
            "remove; minutes include opening up.",
            2,
        )

    def _notes(self) -> None:
        self._heading("How this was computed")
        method = self.answer.method
        kinds = {
            "exact": "Exact sums over every documented history",
            "weighted": "Weighted draws",
            "sampled": "Sampled draws",
        }
        drawn = "" if method.effective_draws is None else f", {method.effective_draws:,.0f} effective draws"
        self._paragraph(
            f"{kinds.get(method.kind, method.kind)}{drawn}; {method.cells} cells an axis; seed {method.seed}. "
            "Rates of alteration, misreading and condition are common practice, no source, where the family file gives "
            "none.",
            2,
        )
        for warning, _ in groupby(self.answer.warnings):
            self._paragraph(f"Note: {warning}", 2)


def place_of(access: str) -> str:
    """How far the set is open for a look."""
    return {
        "outside": "From outside",
        "back off": "With the back off",
        "chassis out": "With the chassis out",
        "underside": "On the underside",
        "powered": "With power on",
        "lead lifted": "With a lead lifted",
    }.get(access, access)
