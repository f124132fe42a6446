"""What a bench screen shows beside its looks."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.sets.bench.forms import HOW_CHOICES, SURE_CHOICES, ObservationForm
from setwright.workbench.sets.bench.screens import Screen
from setwright.workbench.sets.bench.told import Told
from setwright.workbench.sets.words import verdict_sentence


@dataclass(frozen=True, slots=True)
class Failed:
    """What was sent of one feature and not kept, and why; `suggestion` is a listed state that was nearly named."""

    feature: str
    problems: tuple[str, ...]
    suggestion: str
    form: ObservationForm


@dataclass(frozen=True, slots=True)
class BenchPage:
    """Everything a bench screen shows. quick : the verdict is that of the quick answer."""

    screen: Screen
    verdict: str
    quick: bool
    told: Told | None
    failed: Failed | None
    sure_choices: tuple[tuple[str, str], ...] = tuple(SURE_CHOICES)
    how_choices: tuple[tuple[str, str], ...] = tuple(HOW_CHOICES)


def verdict_of(case: IdentityCase) -> str:
    """What the set most probably is."""
    return verdict_sentence(case.family, case.answer.verdict[0])
