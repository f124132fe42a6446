"""The page of a set's date: every figure of the answer, put into reading order and words."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from setwright.chronology import HowMany, Trust
from setwright.chronology.answer import DateFinding, Narrowing, PartAnswer, RunCurve
from setwright.chronology.wording import day_words
from setwright.workbench.dating.words import about_words, code_date_words, length_words, span_words
from setwright.workbench.pictures.date_curve import DateCurvePicture, date_curves
from setwright.workbench.pictures.pace import PacePicture, pace_pictures
from setwright.workbench.pictures.ribbon import LATER, RibbonPicture, part_name, ribbons
from setwright.workbench.services.dating import DateCase
from setwright.workbench.sets.words import capital
from setwright.workbench.site.words import count, line_words, listing, percent

SHOWN_READINGS = 3
WORTH_A_READING = 0.02
WORTH_A_LINE = 0.005
LINE_WORTH_A_PICTURE = 0.05
PERHAPS_LATER = 0.2
"""A part is not said to fit where it is a later replacement with more than this."""

MOST_NARROWING = 4
SOON_DAYS = 17
"""A range shorter than this is "a week or two"."""


@dataclass(frozen=True, slots=True)
class PartRow:
    """A dated part: what its code can mean, and whether it is later than the set."""

    name: str
    code: str
    readings: tuple[str, ...]
    lag: str
    percent: str
    later: bool
    verdict: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MadeRow:
    """How many were made of one block of serials."""

    what: str
    median: str
    span: str
    classical: str
    known: str


@dataclass(frozen=True, slots=True)
class CutInRow:
    """When one change came in."""

    label: str
    states: str
    line: str
    about: str
    span: str


@dataclass(frozen=True, slots=True)
class TrustRow:
    """One stamped survivor, dated from the others."""

    name: str
    stamp: str
    dated: str
    span: str
    off: str
    inside: bool


@dataclass(frozen=True, slots=True)
class LinePictures:
    """The pictures of one line; heading "" where the family has no other."""

    heading: str
    line: str
    curves: tuple[DateCurvePicture, ...]
    paces: tuple[PacePicture, ...]


@dataclass(frozen=True, slots=True)
class DatePage:
    """Everything the page shows."""

    lead: str
    ranges: tuple[tuple[str, str, str], ...]
    facts: tuple[tuple[str, str], ...]
    findings: tuple[str, ...]
    explanations: tuple[str, ...]
    lines: tuple[LinePictures, ...]
    ribbons: tuple[RibbonPicture, ...]
    parts: tuple[PartRow, ...]
    narrowing: tuple[str, ...]
    made: str
    made_more: str
    made_rows: tuple[MadeRow, ...]
    made_remarks: tuple[str, ...]
    cut_ins: tuple[CutInRow, ...]
    several_lines: bool
    trust: str
    trust_rows: tuple[TrustRow, ...]
    warnings: tuple[str, ...]
    method: str


def date_page(case: DateCase) -> DatePage:
    """Lays the answer out."""
    answer, trust = case.answer, case.dated.trust
    made, made_more = _made(answer.production)
    return DatePage(
        lead=built_sentence(case),
        ranges=tuple(
            (f"{percent(span.level)} range", span_words(span), length_words(span.days))
            for span in (answer.half, answer.date)
        ),
        facts=_facts(case),
        findings=tuple(_finding(found) for found in answer.findings),
        explanations=answer.explanations[1:],  # the first of them is the lead
        lines=_line_pictures(case),
        ribbons=ribbons(answer),
        parts=tuple(_part(part) for part in answer.parts),
        narrowing=tuple(_narrowing(item) for item in answer.narrowing[:MOST_NARROWING]),
        made=made,
        made_more=made_more,
        made_rows=tuple(_made_row(part) for part in (answer.production, *answer.production.parts)),
        made_remarks=tuple(
            f"{capital(one.what)}: {remark}." for one in (answer.production, *answer.production.parts)
            for remark in one.remarks
        ),
        cut_ins=tuple(_cut_ins(case)),
        several_lines=len(case.family.lines) > 1,
        trust=_trust_sentence(trust),
        trust_rows=() if trust is None else tuple(_trust_row(trust, number) for number in range(len(trust.sets))),
        warnings=(*(() if case.register is None else case.register.warnings), *answer.warnings),
        method=_method(case),
    )  # fmt: skip


def built_sentence(case: DateCase) -> str:
    """When the set was built, in one sentence."""
    return f"Built about {day_words(case.answer.date.median)}."


def later_parts(case: DateCase) -> tuple[str, ...]:
    """Names of the dated parts that are probably later replacements."""
    return tuple(
        part_name(part.part) for part in case.answer.parts if part.dates and part.later_replacement_probability > LATER
    )


def _facts(case: DateCase) -> tuple[tuple[str, str], ...]:
    bench, method = case.set_file.set, case.answer.method
    facts = [("Serial", bench.serial or "not known")]
    if len(case.family.lines) > 1:
        likely = {line: share for line, share in case.answer.lines.items() if share >= WORTH_A_LINE}
        facts.append(("Line", ", ".join(_line_words(line, share) for line, share in likely.items())))
    facts.append(("Compared with", count(method.survivors, "dated survivor")))
    kinds = Counter(item.kind for item in case.set_file.date_evidence)
    found = [count(kinds[kind], kind) for kind in ("stamp", "part", "document") if kinds[kind]]
    facts.append(("Dated on it", listing(found) or "nothing yet"))
    return tuple(facts)


def _line_words(line: str, share: float) -> str:
    """A line, and how probable it is where that is not as good as certain."""
    return line_words(line) if share > 1.0 - WORTH_A_LINE else f"{line_words(line)} {percent(share)}"


def _finding(found: DateFinding) -> str:
    if found.probability is None:
        return found.text
    return f"{found.text.removesuffix('.')} ({percent(found.probability)})."


def _line_pictures(case: DateCase) -> tuple[LinePictures, ...]:
    """The lines that the set may belong to, the most probable first; of others only what has a heading of its own."""
    answer = case.answer
    by_line = {curve.line: curve for curve in answer.picture.curves}
    ordered = sorted(by_line, key=lambda line: -answer.lines.get(line, 0.0))
    shown = [line for line in ordered if answer.lines.get(line, 0.0) >= LINE_WORTH_A_PICTURE] or ordered[:1]
    return tuple(line_pictures(case, by_line[line]) for line in shown)


def line_pictures(case: DateCase, curve: RunCurve) -> LinePictures:
    """The pictures of one line."""
    run = case.dated.production.run(curve.line)
    share = case.answer.lines.get(curve.line, 0.0)
    heading = capital(_line_words(curve.line, share)) if len(case.family.lines) > 1 else ""
    return LinePictures(
        heading,
        curve.line,
        date_curves(case.family, run, case.answer, curve),
        pace_pictures(case.family, run, case.answer, curve),
    )


def _part(part: PartAnswer) -> PartRow:
    shown = [one for one in part.dates[:SHOWN_READINGS] if one.probability >= WORTH_A_READING] or part.dates[:1]
    readings = tuple(
        f"{capital(code_date_words(one.date))}, {percent(one.probability)}"
        + ("" if one.misread is None else f", if it reads {one.misread}")
        for one in shown
    )
    low, median, high = (round(weeks) for weeks in part.lag_weeks)
    replaced = part.later_replacement_probability
    return PartRow(
        name=part_name(part.part),
        code=part.code,
        readings=readings or ("cannot be read",),
        lag=f"{count(median, 'week')} ({low} to {high})" if part.dates else "",
        percent=percent(replaced) if part.dates else "",
        later=bool(part.dates) and replaced > LATER,
        verdict=_verdict(replaced) if part.dates else "",
        remarks=tuple(f"{capital(remark)}." for remark in part.remarks),
    )


def _verdict(replaced: float) -> str:
    return "probably later" if replaced > LATER else "perhaps later" if replaced > PERHAPS_LATER else "fits the set"


def _narrowing(item: Narrowing) -> str:
    left = "a week or two" if item.days_left < SOON_DAYS else f"about {round(item.days_left / 7)} weeks"
    return f"{capital(item.text)}: the range is then expected to be {left}."


def _made(made: HowMany) -> tuple[str, str]:
    """How many were made in a sentence, and what goes with it."""
    known = f"by the {count(made.known, 'serial')} known in full"
    if made.median is None:
        return f"How many were made cannot be said {known}.", ""
    if made.low is None or made.high is None:
        return f"Probably about {about_words(made.median)} were made, {known}; there is no upper end.", ""
    more = [] if made.unbiased_estimate is None else [
        f"The classical estimate, which takes every serial for equally likely to survive, is "
        f"{about_words(made.unbiased_estimate)}."
    ]  # fmt: skip
    if made.mean is not None and made.standard_deviation is not None:
        more.append(f"Mean {about_words(made.mean)}, standard deviation {about_words(made.standard_deviation)}.")
    elif made.mean is not None:
        more.append(f"Mean {about_words(made.mean)}; its spread has no end.")
    sentence = (
        f"Probably about {about_words(made.median)} were made; {percent(made.level)} range {about_words(made.low)} to "
        f"{about_words(made.high)}, {known}."
    )
    return sentence, " ".join(more)


def _made_row(made: HowMany) -> MadeRow:
    span = "no end" if made.low is None or made.high is None else f"{made.low:,} to {made.high:,}"
    return MadeRow(
        what=made.what,
        median="no answer" if made.median is None else f"{made.median:,}",
        span=span,
        classical="" if made.unbiased_estimate is None else f"{made.unbiased_estimate:,.0f}",
        known=f"{made.known}",
    )


def _cut_ins(case: DateCase) -> list[CutInRow]:
    """When each change of the lines that the set may belong to came in, the earliest first."""
    identity, answer, family = case.dated.identity, case.answer, case.family
    if identity is None:
        return []
    changes = {change.id: change for change in identity.changes}
    rows = []
    for cut_in in sorted(answer.cut_ins, key=lambda cut_in: cut_in.date.median):
        change = changes[cut_in.change]
        if answer.lines.get(change.line, 0.0) < LINE_WORTH_A_PICTURE:
            continue
        rows.append(
            CutInRow(
                label=family.feature(change.feature).label,
                states=f"{change.from_state} → {change.to_state}",
                line=line_words(change.line) if len(family.lines) > 1 else "",
                about=f"{cut_in.date.median:%B %Y}",
                span=_months(cut_in.date.low, cut_in.date.high),
            )
        )
    return rows


def _months(low: date, high: date) -> str:
    first, last = f"{low:%B %Y}", f"{high:%B %Y}"
    if first == last:
        return first
    return f"{first.rsplit(' ', 1)[0] if first[-4:] == last[-4:] else first} to {last}"


def _trust_sentence(trust: Trust | None) -> str:
    if trust is None:
        return "Fewer than four survivors have both a full serial and a stamp, so it cannot be tried out."
    return (
        f"Each of {len(trust.sets)} stamped survivors was dated from the others, its own stamp set aside. Half of them "
        f"came out within {length_words(trust.median_days)} of their stamp, nine in ten within "
        f"{length_words(trust.ninth_days)}; {percent(trust.covered)} lie inside their {percent(trust.level)} range. "
        f"From the serial alone, without dated parts, it is {length_words(trust.alone_median_days)}, "
        f"{length_words(trust.alone_ninth_days)} and {percent(trust.alone_covered)}."
    )


def _trust_row(trust: Trust, number: int) -> TrustRow:
    left = trust.sets[number]
    days = round(abs(left.error_days))
    side = "too late" if left.error_days > 0 else "too early"
    return TrustRow(
        name=left.set,
        stamp=code_date_words(left.stamp),
        dated=day_words(left.date.median),
        span=span_words(left.date),
        off=f"{length_words(days)} {side}" if days else "right",
        inside=left.inside,
    )


def _method(case: DateCase) -> str:
    method = case.answer.method
    grid = "week by week" if method.step_weeks == 1 else f"in steps of {method.step_weeks} weeks"
    return f"{capital(count(method.survivors, 'dated survivor'))} on the run; time is counted {grid}."
