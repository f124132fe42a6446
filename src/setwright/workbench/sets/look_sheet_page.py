"""The look sheet as a page to print."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.look_sheet import ALWAYS_BOXES, LookSheet, SheetLook, SheetStep
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.sets.looks import access_heading, worth_in_words
from setwright.workbench.site.words import ACCESS_WORDS, count, minutes_in_words


@dataclass(frozen=True, slots=True)
class LookBox:
    """One feature with its boxes.

    worth : how much it tells. other : the words of the box beside which something unlisted is written.
    """

    label: str
    worth: str
    proposed: bool
    states: tuple[str, ...]
    other: str
    always: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepSection:
    """The looks of one access."""

    heading: str
    state: str
    cautions: tuple[str, ...]
    looks: tuple[LookBox, ...]


@dataclass(frozen=True, slots=True)
class SheetPage:
    """The whole sheet."""

    serial: str
    open_to: str
    steps: tuple[StepSection, ...]
    slight: tuple[str, ...]
    left_alone: tuple[str, ...]
    closing: str


def sheet_page(case: IdentityCase, sheet: LookSheet) -> SheetPage:
    """Lays the sheet out."""
    return SheetPage(
        serial=case.bench_set.serial or "",
        open_to=ACCESS_WORDS[case.bench_set.open_to],
        steps=tuple(_section(step) for step in sheet.steps if step.looks),
        slight=tuple(look.label for step in sheet.steps for look in step.slight),
        left_alone=sheet.left_alone,
        closing=sheet.closing,
    )


def _section(step: SheetStep) -> StepSection:
    looking = minutes_in_words(sum(look.minutes for look in step.looks))
    opening = "open now" if step.open_now else f"about {minutes_in_words(step.opening)} to open"
    return StepSection(
        heading=access_heading(step.access),
        state=f"{opening}; {count(len(step.looks), 'look')}, about {looking}",
        cautions=step.cautions,
        looks=tuple(_look(look) for look in step.looks),
    )


def _look(look: SheetLook) -> LookBox:
    other, *always = ALWAYS_BOXES
    return LookBox(
        label=look.label,
        worth=worth_in_words(look.bits),
        proposed=look.proposed,
        states=look.states,
        other=other if look.unit is None else "another value",
        always=tuple(always),
    )
