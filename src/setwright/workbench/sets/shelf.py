"""The shelf: one line for each set."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.model import ImpossibleHistory
from setwright.workbench.services.identity import identity_of
from setwright.workbench.sets.identity_page import verdict_label
from setwright.workbench.sets.looks import next_looks
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.site.words import ACCESS_WORDS, count, listing, percent


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One set with its leading verdict and its next step."""

    record: SetRecord
    facts: tuple[tuple[str, str], ...]
    verdict: str
    percent: str
    bar: float
    step: str


def shelf_row(record: SetRecord) -> ShelfRow:
    """What the shelf says of one set; where its family contradicts itself, that."""
    facts = _facts(record)
    try:
        case = identity_of(record)
    except ImpossibleHistory as error:
        return ShelfRow(record, facts, f"Not computed: {error}", "", 0.0, "Mend the family's documents.")
    leading = case.answer.verdict[0]
    label = verdict_label(case.family, leading)
    batches = next_looks(case.family, case.answer).batches
    step = "No further look would tell much."
    if batches:
        batch = max(batches, key=lambda batch: batch.bits_per_minute)
        labels = [look.label for look in batch.looks]
        some = [*labels[:3], count(len(labels) - 3, "more look")] if len(labels) > 4 else labels
        step = f"{batch.heading} ({batch.time}): {listing(some)}."
    return ShelfRow(
        record=record,
        facts=facts,
        verdict=label[0].upper() + label[1:],
        percent=percent(leading.probability),
        bar=round(100 * leading.probability, 2),
        step=step,
    )


def _facts(record: SetRecord) -> tuple[tuple[str, str], ...]:
    return (
        ("Serial", record.serial or "not known"),
        ("Opened so far", ACCESS_WORDS[record.open_to]),
        ("Seen", count(record.observation_count, "feature")),
    )
