"""Proposed features, to be accepted one by one: what a form shows of them and what was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from setwright.files.learning import Learning, LearntFeature, feature_table
from setwright.files.partslists.comparison import Comparison
from setwright.identity.model import ACCESSES, PERMANENCES
from setwright.workbench.site.words import count


@dataclass(frozen=True, slots=True)
class Choice:
    """One proposal on the page. `name` begins the names of its form fields; `says` is what the source says of it.

    unsure : whether access and permanence are only the usual ones and should be chosen.
    """

    name: str
    title: str
    label: str
    says: tuple[tuple[str, str], ...]
    access: str
    permanence: str
    unsure: bool
    taken: bool
    notes: tuple[str, ...]


def comparison_choices(comparison: Comparison, posted: Mapping[str, str], first: bool) -> tuple[Choice, ...]:
    """The features that printings propose. first : shown for the first time, so all are taken."""
    return tuple(
        _choice(
            f"f{number}",
            proposal.reference,
            proposal.label,
            [(one.label, state or "not said") for one, state in zip(comparison.lists, proposal.by_list, strict=True)],
            (proposal.kind.access, proposal.kind.permanence),
            proposal.notes,
            posted,
            first,
        )
        for number, proposal in enumerate(comparison.proposals)
    )


def learning_choices(learning: Learning, posted: Mapping[str, str], first: bool) -> tuple[Choice, ...]:
    """The features that a table of survivors proposes."""
    return tuple(
        _choice(
            f"f{number}",
            feature.column,
            feature.label,
            [(state, count(sets, "set")) for state, sets in feature.shown],
            (feature.access, feature.permanence),
            feature.notes,
            posted,
            first,
            unsure=feature.guessed,
        )
        for number, feature in enumerate(learning.features)
    )


def _choice(
    name: str,
    title: str,
    label: str,
    says: list[tuple[str, str]],
    usual: tuple[str, str],
    notes: tuple[str, ...],
    posted: Mapping[str, str],
    first: bool,
    *,
    unsure: bool = False,
) -> Choice:
    return Choice(
        name=name,
        title=title,
        label=_label(posted, name, label),
        says=tuple(says),
        access=_one_of(posted.get(f"{name}-access"), ACCESSES, usual[0]),
        permanence=_one_of(posted.get(f"{name}-permanence"), PERMANENCES, usual[1]),
        unsure=unsure,
        taken=first or f"{name}-take" in posted,
        notes=tuple(f"{note[:1].upper()}{note[1:]}." for note in notes),
    )


def chosen_comparison(comparison: Comparison, posted: Mapping[str, str]) -> Comparison:
    """The comparison with the accepted proposals alone, as the person put them."""
    taken = []
    for choice, proposal in zip(comparison_choices(comparison, posted, False), comparison.proposals, strict=True):
        if choice.taken:
            kind = replace(proposal.kind, access=choice.access, permanence=choice.permanence)
            taken.append(replace(proposal, label=choice.label, kind=kind))
    return replace(comparison, proposals=tuple(taken))


def chosen_features(learning: Learning, posted: Mapping[str, str]) -> list[tuple[LearntFeature, dict[str, object]]]:
    """The accepted features of a table, each with its table of the family file, as the person put it."""
    found = []
    for choice, feature in zip(learning_choices(learning, posted, False), learning.features, strict=True):
        if choice.taken:
            changes = {"label": choice.label, "access": choice.access, "permanence": choice.permanence}
            found.append((feature, feature_table(feature, changes)))
    return found


def _label(posted: Mapping[str, str], name: str, usual: str) -> str:
    return " ".join(posted.get(f"{name}-label", usual).split())[:500] or usual


def _one_of(given: str | None, allowed: tuple[str, ...], usual: str) -> str:
    return given if given in allowed else usual
