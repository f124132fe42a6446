"""What to ask the owners of other sets, as a short letter to each: the wording is here and nowhere else."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from textwrap import wrap

from setwright.identity.answer import Answer, Question
from setwright.identity.cautions import cautions_for
from setwright.identity.model import ACCESSES, BenchSet, Family, Survivors
from setwright.identity.places import describe

EASY = ("outside", "back off")
"""What may be asked of people who are not at work on their set."""

MOST_FEATURES = 6
"""Nobody answers a long letter."""

_WHERE = {
    "outside": "To be seen from outside:",
    "back off": "Only if the back is off anyway, or a photograph you have shows it:",
    "chassis out": "Only if the chassis is out anyway, or a photograph you have shows it:",
    "underside": "Only if the underside is open to view anyway, or a photograph you have shows it:",
    "powered": "Only if you run the set anyway:",
}


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter about one set.

    bits : what the best single answer is expected to tell. features : what is asked, in the letter's order.
    blocks : paragraphs, each of one or more lines.
    """

    set: str
    bits: float
    features: tuple[str, ...]
    subject: str
    blocks: tuple[tuple[str, ...], ...]

    def text(self, width: int | None = 72) -> str:
        """The letter as plain text, its subject first. width : where lines break; None leaves them whole."""
        blocks = ((f"Subject: {self.subject}",), *self.blocks)
        return "\n\n".join("\n".join(_wrapped(line, width) for line in block) for block in blocks) + "\n"


def letters(
    family: Family,
    bench_set: BenchSet,
    survivors: Survivors,
    answer: Answer,
    *,
    accesses: Collection[str] = EASY,
) -> tuple[Letter, ...]:
    """One letter for each set that could tell something of this one, the most telling first.

    accesses : how far the other set may have to be open for a question to be asked. A lifted lead is never asked for.
    """
    by_set: dict[str, list[Question]] = {}
    for asked in sorted(answer.ask, key=lambda asked: -asked.bits):
        if asked.access in accesses and asked.access in _WHERE:
            by_set.setdefault(asked.set, []).append(asked)
    return tuple(_letter(family, bench_set, survivors, name, asked) for name, asked in by_set.items())


def _letter(
    family: Family, bench_set: BenchSet, survivors: Survivors, name: str, questions: Sequence[Question]
) -> Letter:
    asked = list(questions[:MOST_FEATURES])
    asked.sort(key=lambda question: (ACCESSES.index(question.access), -question.bits))
    blocks = [
        ("Good day,",),
        (f"{_opening(family, bench_set, survivors, name)} {_order(asked)}".rstrip(),),
        *_lists(family, asked),
        (_ease(),),
        *_cautions(family, asked),
        ("With many thanks,", "[your name]"),
    ]
    return Letter(
        set=name,
        bits=max(question.bits for question in asked),
        features=tuple(question.feature for question in asked),
        subject=f"A question about your {family.name}, listed as {name}",
        blocks=tuple(blocks),
    )


def _opening(family: Family, bench_set: BenchSet, survivors: Survivors, name: str) -> str:
    serial = bench_set.serial
    mine = f"serial {serial}" if serial else "whose serial is not known"
    unread = " (I cannot read what stands at ? or *)" if serial and set(serial) & set("?*") else ""
    theirs = _serial_of(family, survivors, name)
    yours = f"Your set, listed as {name}{f', serial {theirs}' if theirs else ''},"
    return (
        f"I am trying to find out which version of the {family.name} I have, {mine}{unread}. {yours} "
        "is one of those that could tell me most about it. Could you tell me what it shows of the following?"
    )


def _order(asked: Sequence[Question]) -> str:
    if len(asked) == 1:
        return ""
    several = len({question.access for question in asked}) > 1
    return "Under each heading, what helps most stands first." if several else "What helps most stands first."


def _lists(family: Family, asked: Sequence[Question]) -> list[tuple[str, ...]]:
    """The questions under their headings, numbered throughout."""
    numbered = list(enumerate(asked, 1))
    return [
        (
            _WHERE[access],
            *(f"{n}. {_question(family, question.feature)}" for n, question in numbered if question.access == access),
        )
        for access in ACCESSES
        if any(question.access == access for question in asked)
    ]


def _serial_of(family: Family, survivors: Survivors, name: str) -> str:
    """The serial of another set as far as it is known."""
    row = next((i for i, other in enumerate(survivors.ids) if other == name), None)
    if row is None:
        return ""
    line, position = int(survivors.line[row]), int(survivors.position[row])
    if line >= 0 and position >= 0:
        return describe(family, family.line_ids[line], position)
    return survivors.serial.get(row, "")


def _question(family: Family, feature_id: str) -> str:
    feature = family.feature(feature_id)
    part = f" ({feature.part})" if feature.part else ""
    return f"{feature.label}{part}: {', '.join(feature.all_states)}, or something else?"


def _ease() -> str:
    return (
        "You need not open the set for this, nor switch it on; please leave it as it stands. What you know or can see "
        'is all I ask. "I cannot tell" helps as an answer, and so does "this looks replaced"; a photograph does as '
        "well."
    )


def _cautions(family: Family, asked: Sequence[Question]) -> list[tuple[str, ...]]:
    """The usual cautions of the deepest look that is asked for; from outside there is none."""
    deepest = max((question.access for question in asked), key=ACCESSES.index)
    cautions = cautions_for(deepest, family.kind)
    if not cautions:
        return []
    return [("If it is open anyway, the usual cautions:", *(f"- {caution}" for caution in cautions))]


def _wrapped(line: str, width: int | None) -> str:
    """A line broken at the width; what follows a number or a dash hangs under its first word."""
    if width is None:
        return line
    head, mark, _ = line.partition(" ")
    hang = len(head) + 1 if mark and (head == "-" or (head[:-1].isdigit() and head.endswith("."))) else 0
    return "\n".join(wrap(line, width, subsequent_indent=" " * hang, break_on_hyphens=False))
