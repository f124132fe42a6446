"""Adding, changing and removing one survivor."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.files.problems import refuse
from setwright.files.survivors.editing import change_rows, remove_row
from setwright.files.survivors.table import rows_by_id
from setwright.identity.model import Family
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.records.keeping import By
from setwright.workbench.services.records import family_of
from setwright.workbench.services.survivors import change_register, rows_of
from setwright.workbench.survivors.models import SurvivorRegister
from setwright.workbench.survivors.row_form import changed_cells, refuse_overlap, shown_columns


def columns_of(record: FamilyRecord) -> tuple[str, ...]:
    """The columns in which some survivor has something, `id` first."""
    columns = {"id": None}
    for cells in rows_of(record).values():
        columns.update(dict.fromkeys(cells))
    return tuple(columns)


def add(record: FamilyRecord, cells: Mapping[str, str], *, by: By, what: str | None = None) -> SurvivorRegister:
    """One more survivor. Raises FileProblems where a cell will not do or the name is taken."""
    family = family_of(record)
    if not cells.get("id", "").strip():
        # An empty row would otherwise be none, and so nothing to complain about.
        raise refuse("the form", "the id is missing; every set needs a name of its own", where='column "id"')
    said = what or f"New survivor: {cells['id']}"
    return change_register(record, lambda text: change_rows(text, family, {}, [cells], checked=False), by=by, what=said)


def change(
    record: FamilyRecord,
    name: str,
    entered: Mapping[str, str],
    *,
    seen_revision: int | None,
    by: By,
) -> SurvivorRegister | None:
    """Change the cells of one survivor that a person changed in the form; None where they changed nothing.

    What others changed in the register since, other cells of this row included, stays. Raises CellsChanged where they
    changed the same cells, FileProblems where a cell will not do.
    """
    stored = record.register_or_none
    assert stored is not None, "a survivor stands in a register"
    family = family_of(record)
    before = seen_row(record, stored, name, seen_revision)
    mine = changed_cells(before, entered, shown_columns(family, columns_of(record)))
    if not mine:
        return None

    def edit(text: str) -> str:
        refuse_overlap(before, _row_in(text, record, stored, family, name), mine, name)
        return change_rows(text, family, {name: mine}, [], checked=False)

    return change_register(record, edit, by=by, what=_sentence(family, name, mine))


def seen_row(record: FamilyRecord, stored: SurvivorRegister, name: str, seen_revision: int | None) -> Mapping[str, str]:
    """The row as the person's form showed it."""
    if seen_revision is None or not 0 < seen_revision < stored.revision:
        return rows_of(record).get(name, {})
    text = history.text_at(stored, seen_revision)
    return rows_by_id(text, family_of(record)).get(name, {})


def _row_in(
    text: str, record: FamilyRecord, stored: SurvivorRegister, family: Family, name: str
) -> Mapping[str, str] | None:
    rows = rows_of(record) if text == stored.text else rows_by_id(text, family)
    return rows.get(name)


def _sentence(family: Family, name: str, mine: Mapping[str, str | None]) -> str:
    labels = {feature.id: feature.label for feature in family.features}
    if len(mine) == 1:
        ((column, cell),) = mine.items()
        base = column.partition(".")[0]
        return f"{name}, {labels.get(base, column)}: {cell or 'taken out'}"
    concerned = dict.fromkeys(labels.get(column.partition(".")[0], column) for column in mine)
    return f"{name} changed: {', '.join(concerned)}"


def remove(record: FamilyRecord, name: str, *, seen_revision: int | None, by: By) -> SurvivorRegister:
    """Take one survivor out; the history brings it back. Raises ChangedMeanwhile where it was changed since."""
    stored = record.register_or_none
    assert stored is not None, "a survivor stands in a register"
    family = family_of(record)
    unchanged = seen_row(record, stored, name, seen_revision) == rows_of(record).get(name, {})
    return keeping.edit(
        stored,
        lambda text: remove_row(text, family, name),
        by=by,
        what=f"Survivor removed: {name}",
        seen_revision=None if unchanged else seen_revision,
    )
