"""Filters and tags of the site's templates: one-line wrappers of tested functions."""

from __future__ import annotations

from django import template

from setwright.workbench.site import words

register = template.Library()

register.filter("percent", words.percent)
register.filter("minutes_in_words", words.minutes_in_words)
register.filter("line_words", words.line_words)


@register.filter
def minus(value: float, other: float) -> float:
    """A difference, for places in pictures."""
    return round(float(value) - float(other), 1)


@register.filter
def plus(value: float, other: float) -> float:
    """A sum, for places in pictures."""
    return round(float(value) + float(other), 1)


@register.filter
def whole(value: float) -> int:
    """A count that came out of a sum for pictures."""
    return int(value)


@register.filter
def signed(value: float) -> str:
    """A weight of evidence with its sign, to a tenth."""
    rounded = round(value, 1)
    return "0.0" if rounded == 0 else f"{rounded:+.1f}".replace("-", "−")


@register.filter
def counted(number: int, noun: str) -> str:
    """A number with its noun, as "40 survivors"."""
    return words.count(number, noun)
