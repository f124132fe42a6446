"""How dates, and how sure they are, are put into words."""

from __future__ import annotations

from setwright.chronology.answer import DateRange
from setwright.chronology.wording import day_words
from setwright.notation import NotationError, parse_date
from setwright.workbench.site.words import KEEP, count


def span_words(span: DateRange) -> str:
    """A range as one says it in a sentence, the year once where that is enough.

    >>> from datetime import date
    >>> span_words(DateRange(date(1949, 8, 19), date(1949, 9, 8), date(1949, 10, 7), 0.9)).replace(KEEP, " ")
    '19 August to 7 October 1949'
    """
    low, high = day_words(span.low), day_words(span.high)
    if span.low == span.high:
        return low.replace(" ", KEEP)
    if span.low.year == span.high.year:
        low = low.rsplit(" ", 1)[0]
    return f"{low.replace(' ', KEEP)} to {high.replace(' ', KEEP)}"


def length_words(days: float) -> str:
    """How long a time is.

    >>> length_words(5), length_words(14), length_words(700)
    ('5 days', '2 weeks', '1.9 years')
    """
    if days < 11:
        return count(round(days), "day")
    return f"{round(days / 7)} weeks" if days < 400 else f"{days / 365.25:.1f} years"


def code_date_words(text: str) -> str:
    """What an ISO date of any precision covers, in words; week numbers with their first day.

    >>> code_date_words("1949-W33").replace(KEEP, " "), code_date_words("1949-08"), code_date_words("1949")
    ('week 33 of 1949, from 15 August', 'August 1949', '1949')
    """
    try:
        span = parse_date(text)
    except NotationError:
        return text
    if "W" in span.text.upper():
        week, first = span.text.upper().split("W")[1], day_words(span.first)
        year = span.text[:4]
        shown = first.rsplit(" ", 1)[0] if first.endswith(year) else first
        return f"week{KEEP}{int(week)} of {year}, from {shown.replace(' ', KEEP)}"
    if span.is_day:
        return day_words(span.first).replace(" ", KEEP)
    return f"{span.first:%B %Y}" if len(span.text) == 7 else span.text


def about_words(number: float) -> str:
    """A number that is only roughly known, to three figures.

    >>> about_words(40927), about_words(812)
    ('40,900', '812')
    """
    return f"{float(f'{number:.3g}'):,.0f}"
