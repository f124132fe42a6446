"""The identity answer laid out for a terminal: plain bars and tables, readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rich.text import Text

from setwright.cli.identity_words import cut_in_words, likeness, percent, place_of, place_words, weight_words
from setwright.cli.paper import Paper
from setwright.cli.rarer_findings import groups, learnt_rates, questions, sisters, undocumented, what_drives_the_misfit
from setwright.files.problems import line_words
from setwright.identity import Answer, BenchSet, Family
from setwright.identity.answer import Batch, ObservationAnswer, VerdictEntry
from setwright.identity.look_sheet import is_open, opening_order
from setwright.identity.phrases import hedged, method_phrase

_SHOWN_FROM = 0.01
_SUSPECT_FROM = 0.2
_LITTLE_DECIBANS = 0.5
_MOST_LOOKS = 8
_LEAST_BITS = 0.005
_MISFIT = 0.01
_UNUSUAL = 0.05


def print_report(
    family: Family, bench: BenchSet, answer: Answer, paper: Paper, *, teachers: Sequence[str] = ()
) -> None:
    """Print the answer. teachers : names of other families that taught rates of alteration."""
    Report(family, bench, answer, paper, teachers).print()


class Report:
    """One answer on one console."""

    def __init__(
        self, family: Family, bench: BenchSet, answer: Answer, paper: Paper, teachers: Sequence[str] = ()
    ) -> None:
        self.family = family
        self.bench = bench
        self.answer = answer
        self.paper = paper
        self.teachers = teachers
        self.units = {axis.line: axis.unit for axis in answer.axes}
        self.leading = answer.verdict[0]

    def print(self) -> None:
        """Everything, in reading order."""
        serial = f", serial {self.bench.serial}" if self.bench.serial else ""
        self.paper.say(Text(f"{self.family.name}: set {self.bench.id}{serial}", style="bold"))
        for sentence in self.answer.explanations:
            self.paper.paragraph(sentence)
        self._verdict()
        self._evidence()
        self._suspects()
        self._cut_ins()
        undocumented(self.paper, self.family, self.answer)
        self._condition_and_place()
        groups(self.paper, self.family, self.answer)
        self._predictions()
        sisters(self.paper, self.answer)
        self._next()
        questions(self.paper, self.family, self.answer)
        learnt_rates(self.paper, self.answer, self.teachers)
        self._notes()

    def _label(self, feature: str) -> str:
        return self.family.feature(feature).label

    # Parts

    def _verdict(self) -> None:
        self.paper.heading("Verdict")
        table = self.paper.table("", "", "", right=[0], fold=[2])
        shown = [entry for entry in self.answer.verdict if entry.probability >= _SHOWN_FROM] or [self.leading]
        for entry in shown:
            table.add_row(percent(entry.probability), self.paper.bar(entry.probability), self._entry_words(entry))
        self.paper.show(table)
        rest = sum(entry.probability for entry in self.answer.verdict[len(shown) :])
        if rest > 0:
            self.paper.paragraph(f"All other versions and places between them: {percent(rest)} together.", 2)

    def _entry_words(self, entry: VerdictEntry) -> str:
        return f"{entry.label}, {line_words(entry.line)}" if len(self.family.lines) > 1 else entry.label

    def _evidence(self) -> None:
        self.paper.heading(f"What each observation says of: {self._entry_words(self.leading)}")
        if not self.answer.observations:
            self.paper.paragraph("Nothing has been seen yet.", 2)
            return
        self.paper.paragraph(
            "In decibans, tenths of a factor of ten: +3 doubles the odds, +10 makes them ten times as good, "
            "and minus the other way.",
            2,
        )
        table = self.paper.table("feature", "seen", "decibans", "the odds become", right=[2], fold=[0, 1, 3])
        telling = [item for item in self.answer.observations if abs(item.decibans) >= _LITTLE_DECIBANS]
        for item in telling:
            words = weight_words(item.decibans)
            table.add_row(self._label(item.feature), item.state or "-", f"{item.decibans:+.1f}", words)
        if telling:
            self.paper.show(table)
        rest = [self._label(item.feature) for item in self.answer.observations if item not in telling]
        if rest:
            self.paper.paragraph(f"Under half a deciban either way: {', '.join(rest)}.", 2)

    def _suspects(self) -> None:
        self.paper.heading("Altered or misread?")
        serviced = {seen.feature for seen in self.bench.latest.values() if seen.serviced}
        suspects, replaced = self._sorted_suspects(serviced)
        if not suspects:
            self.paper.paragraph(f"Nothing is either with a probability of {percent(_SUSPECT_FROM)} or more.", 2)
        else:
            table = self.paper.table(
                "feature", "seen", "factory state", "altered", "misread", right=[3, 4], fold=[0, 1, 2]
            )
            for item in suspects:
                table.add_row(
                    self._label(item.feature),
                    item.state,
                    self._factory_state(item.feature),
                    percent(item.altered_probability),
                    percent(item.misread_probability),
                )
            self.paper.show(table)
        if replaced:
            names = ", ".join(f"{self._label(i.feature)} ({percent(i.altered_probability)})" for i in replaced)
            self.paper.paragraph(f"As the factory built it, but perhaps replaced by the same: {names}.", 2)
        if serviced:
            names = ", ".join(self._label(feature) for feature in sorted(serviced))
            self.paper.paragraph(f"Looks serviced, and is kept out of the verdict: {names}.", 2)

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
        self.paper.heading(f"Changes in production{f' of the {line_words(line)}' if several else ''}")
        level = percent(changes[0].cut_in.level)
        table = self.paper.table("change", "cut-in, median", f"{level} range", "has it", right=[3], fold=[0, 1, 2])
        for change in changes:
            place = cut_in_words(self.family, line, self.units.get(line), change.cut_in)
            learnt = " (in no document)" if change.block is None else ""
            words = f"{self._label(change.feature)}: {change.from_state} to {change.to_state}{learnt}"
            applied = hedged(change.applied_probability, self.answer.method)
            table.add_row(words, *place, percent(applied))
        self.paper.show(table)
        if several:
            self.paper.paragraph("The other lines' changes are in the full answer (--json).", 2)

    def _condition_and_place(self) -> None:
        self.paper.heading("The set as a whole")
        table = self.paper.table("", "", "", right=[1])
        for name, probability in self.answer.condition.items():
            table.add_row(name, percent(probability), self.paper.bar(probability))
        self.paper.show(table)
        likeliest = max(self.answer.axes, key=lambda axis: axis.probability, default=None)
        if likeliest is not None:
            words = place_words(self.family, likeliest.line, likeliest.unit, self.answer.serial)
            self.paper.paragraph(f"Place in the run: {words}.", 2)
        p_value = self.answer.misfit_p_value
        verdict = (
            "no documented history explains this set"
            if p_value < _MISFIT
            else "unusual, yet a documented history explains it"
            if p_value < _UNUSUAL
            else "nothing out of the ordinary"
        )
        self.paper.paragraph(f"Misfit: {verdict}. {likeness(p_value)}", 2)
        what_drives_the_misfit(self.paper, self.family, self.answer)

    def _predictions(self) -> None:
        if not self.answer.predicted:
            return
        self.paper.heading("Not seen: what the factory probably built")
        table = self.paper.table("feature", "", "", fold=[0, 2])
        for item in sorted(self.answer.predicted, key=lambda item: -max(item.states.values())):
            states = sorted(item.states.items(), key=lambda pair: -pair[1])
            words = ", ".join(f"{state} {percent(p)}" for state, p in states if p >= _SHOWN_FROM)
            table.add_row(self._label(item.feature), self.paper.bar(states[0][1], 10), words)
        self.paper.show(table)

    def _next(self) -> None:
        self.paper.heading("What to look at next")
        shown = [look for look in self.answer.next if look.bits >= _LEAST_BITS][:_MOST_LOOKS]
        batches = self._batches()
        if not batches and not shown:
            self.paper.paragraph("Nothing that is left to see would tell more.", 2)
            return
        for number, batch in enumerate(batches, 1):
            names = ", ".join(self._label(feature) for feature in batch.features)
            now = " (open now)" if is_open(batch.access, self.bench.open_to) else ""
            self.paper.paragraph(f"{number}. {place_of(batch.access)}{now}: {names}.", 2, hang=3)
            minutes = "1 minute" if batch.minutes == 1 else f"{batch.minutes:g} minutes"
            self.paper.paragraph(f"{batch.bits:.2f} bits in {minutes}, {batch.bits_per_minute:.3f} a minute.", 5)
            for caution in batch.cautions:
                self.paper.paragraph(f"! {caution}", 5, hang=2)
        self.paper.say()
        table = self.paper.table("one look alone", "where", "bits", "minutes", "a minute", right=[2, 3, 4], fold=[0, 1])
        for look in shown:
            table.add_row(
                self._label(look.feature),
                look.access,
                f"{look.bits:.2f}",
                f"{look.minutes:g}",
                f"{look.bits_per_minute:.3f}",
            )
        if shown:
            self.paper.show(table)
        if len(self.answer.next) > len(shown):
            self.paper.paragraph(f"{len(self.answer.next) - len(shown)} more tell less (--json has them all).", 2)
        self.paper.paragraph(
            "Bits tell how much of the doubt about the factory state of the whole set a look is expected to "
            "remove; minutes include opening up.",
            2,
        )

    def _batches(self) -> list[Batch]:
        """What is open now first, then in the order of opening; none that would tell next to nothing."""
        order = opening_order(self.bench.open_to)
        worth = [batch for batch in self.answer.batches if batch.bits >= _LEAST_BITS]
        return sorted(worth, key=lambda batch: order.index(batch.access))

    def _notes(self) -> None:
        self.paper.heading("How this was computed")
        method = self.answer.method
        phrase = method_phrase(method)
        usual = "Rates of alteration, misreading"
        if method.learned_rates:
            usual = "Rates of alteration were learnt from survivors; those of misreading"
        self.paper.paragraph(
            f"{phrase[0].upper()}{phrase[1:]}; {method.cells} cells an axis. {usual} and condition are common "
            "practice, no source, where the family file gives none.",
            2,
        )
        for warning, _ in groupby(self.answer.warnings):
            self.paper.paragraph(f"Note: {warning}", 2)
