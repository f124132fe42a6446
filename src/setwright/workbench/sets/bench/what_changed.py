"""What one more observation changed: two answers for the same set, before and after, put into a few sentences."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from setwright.identity.answer import Answer, ChangeAnswer, Interval, VerdictEntry
from setwright.identity.misfit import MISFIT_LIMIT
from setwright.identity.model import Family
from setwright.identity.places import SERIAL_UNIT
from setwright.workbench.sets.comparison import LIKELY
from setwright.workbench.sets.words import capital, verdict_label
from setwright.workbench.site.words import CONDITION_WORDS, interval_words, percent

MOVED = 0.1
MOVED_WHERE_DRAWN = 0.3
"""A range is told anew when its ends together moved by more than this share of its former width. Where histories are
drawn, ranges also move by chance, so more is asked."""

FEW_CUT_INS = 2
"""No more cut-ins are told than this; the others stand on the page of the answer."""

UNMOVED = "It moves nothing in the answer."

LEFT_ASIDE = (
    "No document says when this feature changed, so the quick answer leaves it aside. The full answer weighs it by the "
    "survivors."
)


def what_changed(family: Family, before: Answer, after: Answer, feature: str | None = None) -> tuple[str, ...]:
    """Sentences that say what differs in the answer after an observation, the verdict first.

    before, after : answers to the same set of the same family, computed in the same way, so that the observation
        makes the difference. feature : what was looked at; its own cut-ins are told before all others.
    """
    told = [
        *_verdict(family, before, after),
        *_doubt(family, after, feature),
        *_misfit(before, after),
        *_groups(before, after),
        *_condition(before, after),
        *_place(family, before, after),
        *_cut_ins(family, before, after, feature),
    ]
    if told:
        return tuple(told)
    return (LEFT_ASIDE,) if feature and _is_free(family, after, feature) else (UNMOVED,)


def _is_free(family: Family, answer: Answer, feature: str) -> bool:
    """Whether the feature may have changed in the leading line, and no version of that line mentions it."""
    line = answer.verdict[0].line
    found = family.feature(feature)
    documented = any(feature in version.states for version in family.versions_of(line))
    return found.role == "change" and found.in_line(line) and not documented


def _same(entry: VerdictEntry) -> Hashable:
    return entry.line, entry.version, entry.between


def _probability(answer: Answer, wanted: VerdictEntry) -> float:
    return sum(entry.probability for entry in answer.verdict if _same(entry) == _same(wanted))


def _verdict(family: Family, before: Answer, after: Answer) -> Iterator[str]:
    """The leading possibility, and the one that led before where that is another."""
    old, new = before.verdict[0], after.verdict[0]
    was, now = percent(_probability(before, new)), percent(new.probability)
    if _same(old) != _same(new):
        yield f"Now most probably {verdict_label(family, new)}: {was} → {now}."
        fell = percent(old.probability), percent(_probability(after, old))
        yield f"Before, {verdict_label(family, old)} led: {fell[0]} → {fell[1]}."
    elif was != now:
        yield f"{capital(verdict_label(family, new))}: {was} → {now}."


def _doubt(family: Family, after: Answer, feature: str | None) -> Iterator[str]:
    """Whether what was just seen looks altered or misread."""
    for item in after.observations:
        if item.feature == feature and item.altered_probability + item.misread_probability >= LIKELY:
            altered = item.altered_probability >= item.misread_probability
            likely = item.altered_probability if altered else item.misread_probability
            words = "altered since the factory" if altered else "misread"
            yield f"{family.feature(item.feature).label} does not fit the rest: probably {words} ({percent(likely)})."


def _misfit(before: Answer, after: Answer) -> Iterator[str]:
    was, now = (_fits_nothing(answer) for answer in (before, after))
    if now and not was:
        yield "Take care: no documented history explains the set any more."
    if was and not now:
        yield "A documented history explains the set again."


def _fits_nothing(answer: Answer) -> bool:
    return answer.misfit_p_value < MISFIT_LIMIT


def _groups(before: Answer, after: Answer) -> Iterator[str]:
    """Groups that came to look as if they were another set's, or no longer do."""
    chances = {group.group: group.elsewhere_probability for group in before.groups}
    for group in after.groups:
        was, now = chances.get(group.group, 0.0), group.elsewhere_probability
        if (was >= LIKELY) != (now >= LIKELY):
            side = "came" if now >= LIKELY else "did not come"
            yield f"The {group.group} most probably {side} from another set: {percent(was)} → {percent(now)}."


def _condition(before: Answer, after: Answer) -> Iterator[str]:
    was, now = (max(answer.condition, key=lambda name: answer.condition[name]) for answer in (before, after))
    if was != now:
        words, chance = CONDITION_WORDS[now].lower(), percent(after.condition[now])
        yield f"As a whole it now looks {words} ({chance})."


def _place(family: Family, before: Answer, after: Answer) -> Iterator[str]:
    line = after.verdict[0].line
    if line == before.verdict[0].line and _movement(before.serial, after.serial) > _worth_telling(after):
        unit = _unit(after, line)
        now, was = (interval_words(family, line, answer.serial, unit) for answer in (after, before))
        if now != was:
            yield f"It now stands at {now} (before, {was})."


def _cut_ins(family: Family, before: Answer, after: Answer, feature: str | None) -> Iterator[str]:
    """Cut-ins of the line that the set most probably belongs to."""
    known = {change.id: change for change in before.changes}
    least, line = _worth_telling(after), after.verdict[0].line
    here = [change for change in after.changes if change.id in known and change.line == line]
    movement = {change.id: _movement(known[change.id].cut_in, change.cut_in) for change in here}
    moved = [change for change in here if movement[change.id] > least]
    moved.sort(key=lambda change: (change.feature != feature, -movement[change.id]))
    for change in moved[:FEW_CUT_INS]:
        now, was = (_range(family, answer, found) for answer, found in ((after, change), (before, known[change.id])))
        if now != was:
            label = family.feature(change.feature).label
            yield f"{label}, cut-in of {change.to_state} now {now} (before, {was})."


def _range(family: Family, answer: Answer, change: ChangeAnswer) -> str:
    return interval_words(family, change.line, change.cut_in, _unit(answer, change.line))


def _unit(answer: Answer, line: str) -> str:
    return next((axis.unit for axis in answer.axes if axis.line == line), SERIAL_UNIT)


def _movement(was: Interval, now: Interval) -> float:
    """By how much both ends moved, as a share of the former width."""
    ends = abs(now.low - was.low) + abs(now.high - was.high)
    return ends / max(was.high - was.low, 1e-9) if ends else 0.0


def _worth_telling(answer: Answer) -> float:
    return MOVED if answer.method.kind == "exact" else MOVED_WHERE_DRAWN
