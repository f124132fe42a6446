"""The dating answer laid out for a terminal."""

from __future__ import annotations

from rich.text import Text

from setwright.chronology import DateAnswer, DateRange, HowMany, Trust
from setwright.chronology.answer import PartAnswer
from setwright.chronology.wording import day_words, range_words
from setwright.cli.identity_words import percent
from setwright.cli.paper import Paper
from setwright.files.problems import line_words
from setwright.identity import BenchSet, Family

_SHOWN_DATES = 3
_SHOWN_FROM = 0.02
_MOST_NARROWING = 4
_OWN_LINE = 0.01
"""Changes are listed for the lines that the set belongs to with at least this probability."""


def print_date(
    paper: Paper, family: Family, bench: BenchSet, answer: DateAnswer, trust: Trust | None, *, checked: bool
) -> None:
    """Print the answer. checked : whether it was asked how far to trust it."""
    serial = f", serial {bench.serial}" if bench.serial else ""
    paper.say(Text(f"{family.name}: set {bench.id}{serial}", style="bold"))
    for sentence in answer.explanations:
        paper.paragraph(sentence)
    _date(paper, family, answer)
    for finding in answer.findings:
        _finding(paper, finding.text, finding.probability, first=finding is answer.findings[0])
    _parts(paper, answer.parts)
    _made(paper, answer.production)
    _narrowing(paper, answer)
    _cut_ins(paper, family, answer)
    if checked:
        _trust(paper, trust)
    if answer.warnings:
        paper.heading("Notes")
        for warning in answer.warnings:
            paper.paragraph(warning, 2, 2)


def _date(paper: Paper, family: Family, answer: DateAnswer) -> None:
    paper.heading("Date")
    table = paper.table("", "", fold=[1])
    table.add_row("median", day_words(answer.date.median))
    for span in (answer.half, answer.date):
        table.add_row(f"{percent(span.level)} range", f"{range_words(span)} ({_length(span)})")
    paper.show(table)
    if len(answer.lines) > 1:
        told = ", ".join(f"{line_words(line)} {percent(share)}" for line, share in answer.lines.items())
        paper.paragraph(f"By its date and place: {told}.", 2)


def _length(span: DateRange) -> str:
    """How long a range is, in words.

    >>> from datetime import date
    >>> _length(DateRange(date(1948, 1, 1), date(1948, 1, 5), date(1948, 1, 14), 0.9))
    '2 weeks'
    """
    if span.days < 11:
        return f"{span.days} days"
    return f"{round(span.days / 7)} weeks" if span.days < 400 else f"{span.days / 365.25:.1f} years"


def _finding(paper: Paper, text: str, probability: float | None, *, first: bool) -> None:
    if first:
        paper.heading("What does not fit")
    paper.paragraph(text if probability is None else f"{text} ({percent(probability)})", 2, 2)


def _parts(paper: Paper, parts: tuple[PartAnswer, ...]) -> None:
    if not parts:
        return
    paper.heading("Dated parts")
    table = paper.table("part", "code", "means", "later replacement", right=[3], fold=[2])
    for part in parts:
        shown = [found for found in part.dates[:_SHOWN_DATES] if found.probability >= _SHOWN_FROM] or part.dates[:1]
        means = ", ".join(
            f"{found.date} {percent(found.probability)}" + ("" if found.misread is None else f" (if {found.misread})")
            for found in shown
        )
        later = percent(part.later_replacement_probability) if part.dates else ""
        table.add_row(part.part, part.code, means or "cannot be read", later)
    paper.show(table)


def _made(paper: Paper, production: HowMany) -> None:
    paper.heading("How many were made")
    table = paper.table("", "median", "range", "classical", "serials known", right=[1, 2, 3, 4])
    for made in (production, *production.parts):
        median = "no answer" if made.median is None else f"{made.median:,}"
        span = "" if made.low is None or made.high is None else f"{made.low:,} to {made.high:,}"
        unbiased = "" if made.unbiased_estimate is None else f"{made.unbiased_estimate:,.0f}"
        table.add_row(made.what, median, span, unbiased, f"{made.known}")
    paper.show(table)
    for made in (production, *production.parts):
        for remark in made.remarks:
            paper.paragraph(f"{made.what}: {remark}.", 2, 2)


def _narrowing(paper: Paper, answer: DateAnswer) -> None:
    if not answer.narrowing:
        return
    paper.heading("What would narrow the date most")
    for item in answer.narrowing[:_MOST_NARROWING]:
        left = "a week or two" if item.days_left < 17 else f"about {round(item.days_left / 7)} weeks"
        paper.paragraph(f"{item.text}: the range is then expected to be {left}.", 2, 2)


def _cut_ins(paper: Paper, family: Family, answer: DateAnswer) -> None:
    own = [cut_in for cut_in in answer.cut_ins if answer.lines.get(cut_in.change.split(":")[0], 0.0) > _OWN_LINE]
    if not own:
        return
    paper.heading("When each change came in")
    table = paper.table("change", "about", "range", fold=[0])
    for cut_in in own:
        line, feature, _ = cut_in.change.split(":")
        of_line = f", {line_words(line)}" if len(family.lines) > 1 else ""
        about = f"{cut_in.date.median:%B %Y}"
        span = f"{cut_in.date.low:%Y-%m} to {cut_in.date.high:%Y-%m}"
        table.add_row(family.feature(feature).label + of_line, about, span)
    paper.show(table)


def _trust(paper: Paper, trust: Trust | None) -> None:
    paper.heading("How far to trust it")
    if trust is None:
        paper.paragraph("Fewer than four survivors have both a full serial and a stamp: it cannot be tried out.", 2)
        return
    paper.paragraph(
        f"Each of {len(trust.sets)} stamped survivors dated from the others: half of them within "
        f"{trust.median_days:.0f} days, nine in ten within {trust.ninth_days:.0f}; {percent(trust.covered)} lie in "
        f"their {percent(trust.level)} range. From the serial alone: {trust.alone_median_days:.0f} and "
        f"{trust.alone_ninth_days:.0f} days, {percent(trust.alone_covered)}.",
        2,
    )
    table = paper.table("set", "stamp", "dated", "range", "off by", right=[4])
    for left in trust.sets:
        mark = "" if left.inside else " outside"
        span = f"{left.date.low} to {left.date.high}{mark}"
        table.add_row(left.set, left.stamp, str(left.date.median), span, f"{left.error_days:+.0f} days")
    paper.show(table)
