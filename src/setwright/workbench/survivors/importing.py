"""A table of survivors beside the register: what a page shows of it, and taking its good rows in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from setwright.files.problems import sentence
from setwright.files.survivors.columns import COMPANIONS
from setwright.files.survivors.table import Preview, PreviewRow, RowState, preview
from setwright.identity.model import Family
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.incoming import Sent
from setwright.workbench.records.models import digest_of
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.records import family_of
from setwright.workbench.site.words import count
from setwright.workbench.survivors.row_form import ABOUT

MOST_SHOWN: Mapping[RowState, int] = {"bad": 200, "changed": 60, "new": 60, "same": 0}
"""So many rows of each state are shown; the others are counted."""

_previews: ByContent[Preview] = ByContent(size=4)


@dataclass(frozen=True, slots=True)
class BadCell:
    """One thing wrong in a row: the column, what stands there, what is wrong, what would be right."""

    column: str
    cell: str
    words: str


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that cannot be taken in."""

    row: int
    name: str
    cells: tuple[BadCell, ...]


@dataclass(frozen=True, slots=True)
class ChangedCell:
    """A cell that would be changed."""

    label: str
    now: str
    then: str


@dataclass(frozen=True, slots=True)
class GoodRow:
    """A new row, or one that changes cells of a row that is there."""

    row: int
    name: str
    says: str
    changes: tuple[ChangedCell, ...]


@dataclass(frozen=True, slots=True)
class ImportPage:
    """Everything the preview shows. `more` counts the rows of each state that are not listed."""

    name: str
    counts: Mapping[RowState, int]
    bad: tuple[BadRow, ...]
    changed: tuple[GoodRow, ...]
    new: tuple[GoodRow, ...]
    more: Mapping[RowState, int]
    warnings: tuple[str, ...]

    @property
    def good(self) -> int:
        """How many rows would be taken in."""
        return self.counts["new"] + self.counts["changed"]


def looked_at(record: FamilyRecord, sent: Sent) -> Preview:
    """The table beside the register. Raises FileProblems where it is no table of this family's survivors."""
    stored = record.register_or_none
    family, present = family_of(record), "" if stored is None else stored.text
    key = (record.digest, digest_of(present), digest_of(sent.content.decode("latin-1")), sent.name)
    return _previews.get(key, lambda: preview(sent.content, family, sent.name, present))


def import_page(found: Preview, family: Family) -> ImportPage:
    """Lays a preview out."""
    labels = {feature.id: feature.label for feature in family.features}
    rows = {state: found.of(state)[:most] for state, most in MOST_SHOWN.items()}
    counts = found.counts
    return ImportPage(
        name=found.name,
        counts=counts,
        bad=tuple(_bad(row, labels) for row in rows["bad"]),
        changed=tuple(_good(row, labels) for row in rows["changed"]),
        new=tuple(_good(row, labels) for row in rows["new"]),
        more={state: counts[state] - len(shown) for state, shown in rows.items()},
        warnings=found.warnings,
    )


def _bad(row: PreviewRow, labels: dict[str, str]) -> BadRow:
    cells = []
    for problem in row.problems:
        column = problem.where.partition('column "')[2].rstrip('"')
        hint = f' Did you mean "{problem.suggestion}"?' if problem.suggestion else ""
        words = sentence(problem.message) + hint
        cells.append(BadCell(_label(column, labels), row.cells.get(column, ""), words[:1].upper() + words[1:]))
    return BadRow(row.row, row.id, tuple(cells))


def _good(row: PreviewRow, labels: dict[str, str]) -> GoodRow:
    seen = sum(column in labels for column in row.cells)
    serial = row.cells.get("serial")
    says = f"{f'serial {serial}' if serial else 'no serial'}, {count(seen, 'feature')} seen"
    changes = tuple(ChangedCell(_label(column, labels), now, then) for column, (now, then) in row.changes.items())
    return GoodRow(row.row, row.id, says, changes)


def _label(column: str, labels: dict[str, str]) -> str:
    base, _, companion = column.partition(".")
    if base in labels:
        return labels[base] + (f" ({companion})" if companion in COMPANIONS else "")
    return next((words for name, words, _ in ABOUT if name == column), column)


def sentence_of(page: ImportPage) -> str:
    """What was taken in, for the history."""
    new, changed = page.counts["new"], page.counts["changed"]
    left = page.counts["bad"]
    done = f"{count(new, 'new survivor')} and {changed} changed from {page.name}"
    return f"{done}; {count(left, 'row')} left out" if left else done
