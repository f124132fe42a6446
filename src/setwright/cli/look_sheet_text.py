"""The look sheet as plain text: 76 columns, boxes to mark, room for notes."""

from __future__ import annotations

from textwrap import wrap

from setwright.cli.identity_words import place_of
from setwright.identity import BenchSet, Family
from setwright.identity.look_sheet import ALWAYS_BOXES, LookSheet, SheetLook, SheetStep

WIDTH = 76
_BLANK = "_" * 11


def look_sheet_text(family: Family, bench: BenchSet, sheet: LookSheet) -> str:
    """The sheet, ready to print."""
    lines = [
        *_wrapped(f"Look sheet: {family.name}, set {bench.id}"),
        f"Serial: {bench.serial or '_' * 20}    Open so far: {bench.open_to}",
        f"Looked at by: {'_' * 30}    Date: {'_' * 20}",
        "",
    ]
    if not sheet.count:
        lines += _wrapped("No look that is left would tell much; nothing need be opened.")
    else:
        lines += _wrapped(
            "Mark what the set shows, one box a feature, and also 'looks serviced' where it is not as the factory left "
            "it. What tells most stands first within each step; * marks the looks that are best made together. Change "
            "nothing: what is replaced or cleaned is no evidence any more."
        )
    for number, step in enumerate((step for step in sheet.steps if step.looks), 1):
        lines += ["", *_step(number, step)]
    lines += _rest(sheet)
    return "\n".join([*lines, "", *_wrapped(sheet.closing), ""])


def _step(number: int, step: SheetStep) -> list[str]:
    state = "open now" if step.open_now else f"about {step.opening:g} minutes to open"
    lines = [f"{number}. {place_of(step.access).upper()} ({state})", "-" * WIDTH]
    if step.cautions:
        lines.append("   Before this step:")
        for caution in step.cautions:
            lines += _wrapped(f"! {caution}", "   ", hang=2)
    for look in step.looks:
        lines += ["", *_look(look)]
    return lines


def _look(look: SheetLook) -> list[str]:
    worth = f"{look.bits:.2f} bits, {look.minutes:g} min"
    mark = "*" if look.proposed else " "
    name = wrap(look.label, WIDTH - len(worth) - 6)
    first = f" {mark} {name[0]}"
    other, *rest = ALWAYS_BOXES
    other = other if look.unit is None else "another value"
    return [
        f"{first}{worth:>{WIDTH - len(first)}}",
        *(f"   {line}" for line in name[1:]),
        *_boxes(look.states),
        *_boxes((f"{other}: {_BLANK}", *rest)),
        f"     Notes: {'_' * (WIDTH - 12)}",
    ]


def _boxes(words: tuple[str, ...]) -> list[str]:
    """Boxes side by side, in as many lines as they need; a box stays with its words."""
    lines = [""]
    for word in words:
        box = f"[ ] {word}"
        if lines[-1] and len(lines[-1]) + 3 + len(box) > WIDTH - 5:
            lines.append("")
        lines[-1] += f"   {box}" if lines[-1] else box
    return [f"     {line}" for line in lines]


def _rest(sheet: LookSheet) -> list[str]:
    lines = []
    slight = [look.label for step in sheet.steps for look in step.slight]
    if slight:
        lines += ["", *_wrapped(f"Would tell next to nothing now: {', '.join(slight)}.")]
    if sheet.left_alone:
        words = ", ".join(sheet.left_alone)
        lines += ["", *_wrapped(f"Left alone, because lifting a lead destroys the factory joint: {words}.")]
    return lines


def _wrapped(text: str, indent: str = "", hang: int = 0) -> list[str]:
    return wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + " " * hang, break_on_hyphens=False)
