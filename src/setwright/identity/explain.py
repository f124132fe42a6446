"""The answer's findings in plain sentences."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.identity.answer import Batch, GroupAnswer, Look, ObservationAnswer, VerdictEntry
from setwright.identity.assumptions import CONDITIONS
from setwright.identity.misfit import MISFIT_LIMIT, Misfit
from setwright.identity.model import Family, Observation
from setwright.identity.places import describe

SETTLED = 0.9
SUSPECT = 0.5
PROBABLE = 0.6
DOUBTFUL = 0.2
TELLING_DECIBANS = 3.0
WORTH_TELLING = 0.005


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
    latest: Mapping[str, Observation],
    built: Mapping[str, Mapping[str, float]],
    condition: Mapping[str, float],
    looks: tuple[Look, ...],
    batches: tuple[Batch, ...],
    misfit: Misfit,
    groups: tuple[GroupAnswer, ...] = (),
    causes: tuple[str, ...] = (),
) -> tuple[str, ...]:
    """Sentences in reading order: what it is, why, what does not fit, what was altered, what to do next.

    built : probability of each factory state, by feature. causes : what would explain a misfit.
    """
    sentences = [_verdict_sentence(family, verdict)]
    sentences += _gap_sentences(family, verdict)
    sentences += _evidence_sentences(family, observations)
    sentences += _suspect_sentences(family, observations, latest, built)
    sentences += _group_sentences(family, groups)
    sentences += _misfit_sentences(family, misfit)
    sentences += causes
    sentences += _condition_sentences(condition, bool(observations))
    sentences += _next_sentences(family, latest, looks, batches)
    return tuple(sentences)


def _verdict_sentence(family: Family, verdict: tuple[VerdictEntry, ...]) -> str:
    first = verdict[0]
    where = f", {first.line} line" if len(family.lines) > 1 else ""
    start = "The set is" if first.probability >= SETTLED else "The set is most probably"
    if first.probability < SUSPECT:
        start = "Nothing is settled yet; the likeliest is that the set is"
    if first.version is None and first.between is None and not where:
        return "No version of the family is documented, so none can be named."
    place = first.label if first.between is None else f"a transitional set {first.label}"
    if first.version is None and first.between is None:
        place, where = f"one of the {first.line} line, of which no version is documented", ""
    sentence = f"{start} {place}{where} ({percent(first.probability)})."
    if len(verdict) > 1 and verdict[1].probability >= 0.01:
        second = verdict[1]
        line = f", {second.line} line" if len(family.lines) > 1 else ""
        sentence += f" Next likeliest: {second.label}{line} ({percent(second.probability)})."
    return sentence


def _gap_sentences(family: Family, verdict: tuple[VerdictEntry, ...]) -> list[str]:
    """For a set between two versions: which of the changes between them it has and which not."""
    first = verdict[0]
    if first.between is None:
        return []
    line = [entry for entry in verdict if entry.line == first.line]
    before, after = (next(entry for entry in line if entry.version == version) for version in first.between)
    made, not_made = [], []
    for change, probability in first.applied.items():
        if before.applied[change] == after.applied[change]:
            continue  # made before this step, or after it
        feature = change.split(":")[1]
        if probability >= SETTLED:
            made.append(f"{family.feature(feature).label} ({first.states[feature]})")
        elif probability <= 1 - SETTLED:
            not_made.append(f"{family.feature(feature).label} (still {first.states[feature]})")
    sentences = []
    if made:
        sentences.append(f"Of the changes between the two it already has: {', '.join(made)}.")
    if not_made:
        sentences.append(f"Of the changes between the two it does not have yet: {', '.join(not_made)}.")
    return sentences


def _evidence_sentences(family: Family, observations: tuple[ObservationAnswer, ...]) -> list[str]:
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
    latest: Mapping[str, Observation],
    built: Mapping[str, Mapping[str, float]],
) -> list[str]:
    sentences = []
    for o in observations:
        if latest[o.feature].serviced or o.altered_probability + o.misread_probability < SUSPECT:
            continue
        if o.altered_probability >= SUSPECT:
            story = f"most probably altered since the factory ({percent(o.altered_probability)})"
        elif o.misread_probability >= SUSPECT:
            story = f"most probably misread ({percent(o.misread_probability)}); look again"
        else:
            together = percent(o.altered_probability + o.misread_probability)
            story = f"most probably altered since the factory or misread ({together} together); look again"
        label = family.feature(o.feature).label
        sentences.append(f"{label}: seen as {o.state}, {story}{_factory_clause(built[o.feature], o.state)}.")
    return sentences


def _factory_clause(built: Mapping[str, float], seen: str) -> str:
    """What left the factory, where one state is clearly more probable than all others together."""
    state = max(built, key=lambda s: built[s])
    if built[state] < PROBABLE:
        return ""
    if state == seen:
        return "; it shows the factory state, so a part of the same kind would have replaced it"
    return f"; the factory state was probably {state} ({percent(built[state])})"


def _group_sentences(family: Family, groups: tuple[GroupAnswer, ...]) -> list[str]:
    sentences = []
    for group in groups:
        if group.elsewhere_probability < DOUBTFUL:
            continue
        place = group.serial
        unit = "" if place.high > 1.0 else " of the run"
        low, high = (f"{p:.2f}" if unit else describe(family, group.line, int(p)) for p in (place.low, place.high))
        line = f" of the {group.line} line" if len(family.lines) > 1 else ""
        start = "The" if group.elsewhere_probability >= SUSPECT else "It may be that the"
        verb = "most probably came" if group.elsewhere_probability >= SUSPECT else "came"
        sentences.append(
            f"{start} {group.group} {verb} from another set ({percent(group.elsewhere_probability)}), one{line} "
            f"built between {low} and {high}{unit}."
        )
    return sentences


def _misfit_sentences(family: Family, misfit: Misfit) -> list[str]:
    if misfit.p_value >= MISFIT_LIMIT:
        return []
    share = percent(max(misfit.p_value, 1e-9))  # none of the replicates is not none at all
    sentences = [
        "No documented history explains the set: of sets built as the likeliest histories say, and altered and read as "
        f"usual, {share} would look as odd. Check the readings, the serial, and whether a version is "
        "missing from the documents."
    ]
    if misfit.drivers:
        named = ", ".join(f"{family.feature(d.feature).label} ({d.state})" for d in misfit.drivers[:5])
        sentences.append(f"What does not fit: {named}.")
    return sentences


def _condition_sentences(condition: Mapping[str, float], anything_seen: bool) -> list[str]:
    if not anything_seen:
        return []
    likeliest = max(CONDITIONS, key=lambda c: condition[c])
    if condition[likeliest] < SUSPECT:
        shares = ", ".join(f"{c} {percent(condition[c])}" for c in CONDITIONS)
        return [f"How much the set as a whole was worked on is not settled: {shares}."]
    looks = "looks" if condition[likeliest] >= SETTLED else "looks most probably"
    return [f"As a whole the set {looks} {likeliest} ({percent(condition[likeliest])})."]


def _next_sentences(
    family: Family, latest: Mapping[str, Observation], looks: tuple[Look, ...], batches: tuple[Batch, ...]
) -> list[str]:
    if not looks:
        left = [feature for feature in family.features if feature.id not in latest]
        if any(feature.access == "lead lifted" for feature in left):
            return ["Nothing is left to look at without lifting a lead."]
        return ["Nothing is left to look at."]
    if max((batch.bits for batch in batches), default=0.0) < WORTH_TELLING:
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
