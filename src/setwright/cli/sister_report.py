"""Sisters on a terminal: the list, and one comparison."""

from __future__ import annotations

from rich.text import Text

from setwright.cli.answering import Case
from setwright.cli.paper import Paper
from setwright.cli.rarer_findings import differences_table, sister_table
from setwright.identity.answer import Sister
from setwright.identity.phrases import apart_phrase

MOST_LISTED = 20

_WEIGHTS = (
    "Decibans, tenths of a factor of ten, weigh whether the two left the factory alike: above nought for it, "
    "under nought against it."
)


def list_sisters(paper: Paper, case: Case) -> None:
    """The sets most like the one on the bench, the most alike first."""
    found = case.answer.sisters
    paper.say(Text(f"{case.family.name}: sets most like {case.bench.id}", style="bold"))
    if not found:
        paper.paragraph("No survivor shows anything that could be compared.")
        return
    paper.say()
    sister_table(paper, found[:MOST_LISTED], several_lines=len(case.family.lines) > 1)
    if len(found) > MOST_LISTED:
        paper.paragraph(f"{len(found) - MOST_LISTED:,} more are less alike (setwright identify --json has them).")
    paper.say()
    paper.paragraph(
        "Apart is the expected number of documented changes that one of the two has and the other has not. " + _WEIGHTS
    )


def compare_with(paper: Paper, case: Case, sister: Sister) -> None:
    """The set on the bench beside one other, the most telling feature first."""
    paper.say(Text(f"{case.family.name}: {case.bench.id} beside {sister.id}", style="bold"))
    paper.paragraph(
        f"{apart_phrase(sister.apart).capitalize()}, as far as the documented changes go; "
        f"{sister.decibans:+.1f} decibans for having left the factory alike."
    )
    paper.say()
    differences_table(paper, case.family, sister, case.bench.id)
    paper.say()
    paper.paragraph(_WEIGHTS)
