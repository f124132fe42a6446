"""The shelf: one line for each set."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.model import ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.services.identity import IdentityCase, identity_of, is_free
from setwright.workbench.services.runs import StillRunning, Stopped
from setwright.workbench.sets.identity_page import verdict_label
from setwright.workbench.sets.looks import next_looks
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.site.words import ACCESS_WORDS, count, listing, percent


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One set with its leading verdict and its next step. pending : its answer is being computed, or soon will be."""

    record: SetRecord
    facts: tuple[tuple[str, str], ...]
    verdict: str
    percent: str
    bar: float
    step: str
    pending: bool = False


def shelf_row(record: SetRecord, patience: float | None = None) -> ShelfRow:
    """What the shelf says of one set; where its family contradicts itself, that.

    patience : seconds to wait for an answer that has to be computed. No more is begun than can be computed now, so
    that a set whose page is opened need not wait for all others on the shelf.
    """
    facts = _facts(record)
    if not is_free(record):
        return ShelfRow(record, facts, "Not computed yet: other sets come first.", "", 0.0, "", pending=True)
    try:
        case = identity_of(record, patience)
    except StillRunning as still:
        share = round(100 * still.run.share)
        return ShelfRow(record, facts, f"Being computed: {share}\N{NO-BREAK SPACE}%", "", 0.0, "", pending=True)
    except Stopped:
        return ShelfRow(record, facts, "Not computed: it was stopped.", "", 0.0, "Open it to start again.")
    except ImpossibleHistory as error:
        return ShelfRow(record, facts, f"Not computed: {error}", "", 0.0, "Mend the family's documents.")
    except NotationError as error:
        return ShelfRow(record, facts, f"Not computed: {error}", "", 0.0, "Mend the set's serial.")
    return _answered(record, facts, case)


def _answered(record: SetRecord, facts: tuple[tuple[str, str], ...], case: IdentityCase) -> ShelfRow:
    leading = case.answer.verdict[0]
    label = verdict_label(case.family, leading)
    batches = next_looks(case.family, case.answer, case.bench_set.open_to).batches
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
