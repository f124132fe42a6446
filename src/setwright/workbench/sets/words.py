"""How the pages of sets name a possibility."""

from __future__ import annotations

from setwright.identity.answer import VerdictEntry
from setwright.identity.model import Family
from setwright.workbench.site.words import line_words, percent

CLEAR = 0.5
"""A verdict below this does not lead clearly enough to be called probable."""


def verdict_label(family: Family, entry: VerdictEntry) -> str:
    """The name of a possibility; with several lines it names its line."""
    if len(family.lines) > 1 and line_words(entry.line) not in entry.label and entry.line not in entry.label:
        return f"{entry.label}, {line_words(entry.line)}"
    return entry.label


def verdict_sentence(family: Family, leading: VerdictEntry) -> str:
    """What a set most probably is."""
    label = verdict_label(family, leading)
    if leading.probability < CLEAR:
        return f"No version stands out. The first among them: {label} ({percent(leading.probability)})."
    return f"Most probably {label} ({percent(leading.probability)})."


def capital(words: str) -> str:
    """The words as a sentence begins.

    >>> capital("between 1148-B and 1148-C")
    'Between 1148-B and 1148-C'
    """
    return words[:1].upper() + words[1:]
