"""Saving a change of a family: refused where a set or a survivor would lose what was seen of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from django.db import transaction

from setwright.files import FamilyFile, FileProblems, Problem, Register, SetFile, read_set, read_survivors
from setwright.files.editing import FamilyEdit, edit_family
from setwright.files.problems import quoted
from setwright.identity.model import SURENESSES, Family, Survivors
from setwright.workbench.families.editor.steps import bounds_named
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import keeping
from setwright.workbench.records.keeping import By
from setwright.workbench.services.records import family_of
from setwright.workbench.site.words import count, listing

MOST_NAMED = 5
"""So many sets and survivors are named in one sentence."""


def save(
    record: FamilyRecord,
    edits: Sequence[FamilyEdit],
    *,
    by: By,
    what: str,
    seen_revision: int | None,
) -> FamilyRecord:
    """Make the edits and keep the family; the record as it then stands.

    Raises FileProblems where the file would be broken, or sets or survivors would no longer fit or would lose a
    sighting; ChangedMeanwhile where the family moved on. Nothing is kept then.
    """
    before: list[Family] = []

    def change(file: FamilyFile) -> FamilyFile:
        before.append(file.family)
        return edited(file, edits)

    with transaction.atomic():
        kept = keeping.edit(record, change, by=by, what=what, seen_revision=seen_revision)
        problems = tuple(lost_sightings(kept, before[0], family_of(kept)))
        if problems:
            raise FileProblems(problems)
    return kept


def edited(file: FamilyFile, edits: Sequence[FamilyEdit]) -> FamilyFile:
    """The file with the edits made; bounds that need it say in full which change they mean."""
    try:
        return edit_family(file, edits)
    except FileProblems:
        named = bounds_named(file, [feature.id for feature in file.family.features])
        if not named:
            raise
        try:
            return edit_family(file, [*named, *edits])
        except FileProblems:
            return edit_family(file, edits)  # what is wrong, in the words of what the person did


def lost_sightings(record: FamilyRecord, before: Family, after: Family) -> Iterator[Problem]:
    """A problem for each feature of which a set or survivor shows a state that would no longer be listed."""
    if not _some_state_is_gone(before, after):
        return
    for stored in record.sets.all():
        name = f"set {stored.key}"
        text = stored.text.encode("utf-8")
        yield from lost_in_set(name, read_set(text, before, name), read_set(text, after, name), before, after)
    register = record.register_or_none
    if register is not None:
        text = register.text.encode("utf-8")
        yield from lost_in_register(read_survivors(text, before), read_survivors(text, after), before, after)


def _some_state_is_gone(before: Family, after: Family) -> bool:
    kept = {feature.id: set(feature.all_states) for feature in after.features}
    return any(set(feature.all_states) - kept.get(feature.id, set()) for feature in before.features)


def lost_in_set(name: str, before: SetFile, after: SetFile, old_family: Family, family: Family) -> Iterator[Problem]:
    """What one set shows that would no longer be listed."""
    for old, new in zip(before.set.observations, after.set.observations, strict=True):
        feature = family.feature(new.feature)
        was_listed = old.state is not None and old.state in old_family.feature(old.feature).all_states
        if was_listed and new.state not in feature.all_states:
            yield _problem(feature.id, f"{name} shows {feature.label}: {quoted(old.state)}")


def lost_in_register(before: Register, after: Register, old_family: Family, family: Family) -> Iterator[Problem]:
    """What survivors show that would no longer be listed."""
    for feature in family.features:
        old, new = before.survivors.seen.get(feature.id), after.survivors.seen.get(feature.id)
        if old is None or new is None or feature.id not in {one.id for one in old_family.features}:
            continue
        old_states = old_family.feature(feature.id).all_states
        lost = _listed(old, len(old_states)) & ~_listed(new, len(feature.all_states)) & (new >= 0)
        if lost.any():
            shown = sorted({old_states[int(code) // len(SURENESSES)] for code in old[lost]})
            named = _named(before.survivors, lost)
            yield _problem(feature.id, f"{named} show {feature.label}: {listing(map(quoted, shown), 'or')}")


def _listed(codes: np.ndarray, states: int) -> np.ndarray:
    """(n,) whether each code is that of a listed state."""
    return np.asarray((codes >= 0) & (codes // len(SURENESSES) < states))


def _named(survivors: Survivors, which: np.ndarray) -> str:
    names = [survivors.ids[int(index)] for index in np.flatnonzero(which)[:MOST_NAMED]]
    more = int(which.sum()) - len(names)
    return f"{count(int(which.sum()), 'survivor')} ({', '.join(names)}{f' and {more} more' if more else ''})"


def _problem(feature: str, shown: str) -> Problem:
    message = f"{shown}, which would no longer be listed; keep the state, or change what was noted there first"
    return Problem("", f'feature "{feature}", key states', None, message)
