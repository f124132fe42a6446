"""The answer's findings in plain sentences."""

from __future__ import annotations

from setwright.identity.answer import Batch, Look, ObservationAnswer, VerdictEntry
from setwright.identity.assumptions import CONDITIONS
from setwright.identity.model import Family, Observation

SETTLED = 0.9
SUSPECT = 0.5
TELLING_DECIBANS = 3.0
MISFIT_LIMIT = 0.01


def percent(probability: float) -> str:
    """A probability as people say it: whole per cent, and never a false 0 or 100.

    >>> percent(0.876), percent(0.9999), percent(0.0001), percent(1.0)
    ('88 %', 'over 99 %', 'under 1 %', '100 %')
    """
    if probability in (0.0, 1.0):
        return f"{100 * probability:.0f} %"
    if probability >= 0.995:
        return "over 99 %"
    if probability < 0.005:
        return "under 1 %"
    return f"{100 * probability:.0f} %"


def explain(
    family: Family,
    verdict: tuple[VerdictEntry, ...],
    observations: tuple[ObservationAnswer, ...],
    latest: dict[str, Observation],
    condition: dict[str, float],
    looks: tuple[Look, ...],
    batches: tuple[Batch, ...],
    misfit_p_value: float,
) -> tuple[str, ...]:
    """Sentences in reading order: what it is, why, what does not fit, what was altered, what to do next."""
    sentences = [_verdict_sentence(family, verdict)]
    sentences += _gap_sentences(family, verdict[0])
    sentences += _evidence_sentences(family, observations, latest)
    sentences += _suspect_sentences(family, observations, latest, verdict[0])
    sentences += _misfit_sentences(misfit_p_value)
    sentences += _condition_sentences(condition, bool(observations))
    sentences += _next_sentences(family, looks, batches)
    return tuple(sentences)


def _verdict_sentence(family: Family, verdict: tuple[VerdictEntry, ...]) -> str:
    first = verdict[0]
    where = f", {first.line} line" if len(family.lines) > 1 else ""
    start = "The set is" if first.probability >= SETTLED else "The set is most probably"
    if first.probability < SUSPECT:
        start = "Nothing is settled yet; the likeliest is that the set is"
    place = first.label if first.between is None else f"a transitional set {first.label}"
    sentence = f"{start} {place}{where} ({percent(first.probability)})."
    if len(verdict) > 1 and verdict[1].probability >= 0.01:
        second = verdict[1]
        line = f", {second.line} line" if len(family.lines) > 1 else ""
        sentence += f" Next: {second.label}{line} ({percent(second.probability)})."
    return sentence


def _gap_sentences(family: Family, first: VerdictEntry) -> list[str]:
    """For a set between two versions: which changes it has and which not."""
    if first.between is None:
        return []
    made, not_made = [], []
    for change, probability in first.applied.items():
        feature = change.split(":")[1]
        named = f"{family.feature(feature).label} ({first.states[feature]})"
        if SETTLED <= probability < 1.0:
            made.append(named)
        elif 0.0 < probability <= 1 - SETTLED:
            not_made.append(named)
    sentences = []
    if made:
        sentences.append(f"Of the changes between the two it already has: {', '.join(made)}.")
    if not_made:
        sentences.append(f"It does not have yet: {', '.join(not_made)}.")
    return sentences


def _evidence_sentences(
    family: Family, observations: tuple[ObservationAnswer, ...], latest: dict[str, Observation]
) -> list[str]:
    sentences = []
    speaking = [o for o in observations if o.decibans >= TELLING_DECIBANS][:3]
    if speaking:
        named = ", ".join(
            f"{family.feature(o.feature).label} ({o.state}, {o.decibans:+.0f} decibans)" for o in speaking
        )
        sentences.append(f"What speaks most for it: {named}.")
    against = [o for o in observations if o.decibans <= -TELLING_DECIBANS][:3]
    if against:
        named = ", ".join(f"{family.feature(o.feature).label} ({o.state}, {o.decibans:+.0f} decibans)" for o in against)
        sentences.append(f"What speaks against it: {named}.")
    return sentences


def _suspect_sentences(
    family: Family,
    observations: tuple[ObservationAnswer, ...],
    latest: dict[str, Observation],
    first: VerdictEntry,
) -> list[str]:
    sentences = []
    for o in observations:
        if latest[o.feature].serviced:
            continue
        label, built = family.feature(o.feature).label, first.states.get(o.feature)
        if o.altered_probability + o.misread_probability < SUSPECT:
            continue
        if o.altered_probability >= SUSPECT:
            story = f"most probably altered since the factory ({percent(o.altered_probability)})"
        elif o.misread_probability >= SUSPECT:
            story = f"most probably misread ({percent(o.misread_probability)}); look again"
        else:
            together = percent(o.altered_probability + o.misread_probability)
            story = f"most probably altered since the factory or misread ({together} together); look again"
        factory = f"; the factory state was probably {built}" if built and built != o.state else ""
        sentences.append(f"{label}: seen as {o.state}, {story}{factory}.")
    return sentences


def _misfit_sentences(p_value: float) -> list[str]:
    if p_value >= MISFIT_LIMIT:
        return []
    return [
        f"No documented history explains the set well: of sets made by the best ones only {percent(p_value)} would "
        "look as odd. Check the readings, the serial, and whether a version is missing from the documents."
    ]


def _condition_sentences(condition: dict[str, float], anything_seen: bool) -> list[str]:
    if not anything_seen:
        return []
    likeliest = max(CONDITIONS, key=lambda c: condition[c])
    return [f"As a whole the set looks {likeliest} ({percent(condition[likeliest])})."]


def _next_sentences(family: Family, looks: tuple[Look, ...], batches: tuple[Batch, ...]) -> list[str]:
    if not looks:
        return ["Nothing is left to look at."]
    if not batches:
        return ["Nothing that is left to look at would tell more."]
    quickest = max(batches, key=lambda batch: batch.bits_per_minute)
    richest = max(batches, key=lambda batch: batch.bits)
    sentences = [f"Best next look for the time it takes: {_batch_text(family, quickest)}."]
    if richest.bits > 1.5 * quickest.bits:
        sentences.append(f"Most is still to be learnt here: {_batch_text(family, richest)}.")
    return sentences


def _batch_text(family: Family, batch: Batch) -> str:
    labels = [family.feature(feature).label for feature in batch.features]
    named = ", ".join(labels[:4]) + (f" and {len(labels) - 4} more" if len(labels) > 4 else "")
    minutes = max(round(batch.minutes), 1)
    time = f"about {minutes} minute" if minutes == 1 else f"about {minutes} minutes"
    return f"{batch.access}, {time}, {batch.bits:.2g} bits: {named}"
