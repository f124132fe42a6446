"""Asking the index: what is found, how much of each kind, the best first.

The words of a question are cut to letters, digits and a few marks before they come here (see `words`), and each
stands in quotes; nothing that a person types is ever read as a search expression by the database.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.roles import Roles
from setwright.workbench.search.models import SearchEntry
from setwright.workbench.search.query import MOST_FITTING, Question, Term, Word, question
from setwright.workbench.search.words import has_mark
from setwright.workbench.search.writing import like_pattern

BEST_OF_A_KIND = 5
HITS_A_PAGE = 50
MOST_RANKED = 2_000
"""Where more is found of a kind, the words say too little to tell better from worse: it comes in its own order."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a question found. counts : how many of each kind. hits : the best of each kind, or one sheet of one kind."""

    question: Question
    counts: dict[str, int]
    hits: tuple[SearchEntry, ...]

    @property
    def total(self) -> int:
        """How much was found in all."""
        return sum(self.counts.values())


@dataclass(frozen=True, slots=True)
class Allowed:
    """What may be found: only what is of these families or of none (None: of any), and nothing of the hidden ones."""

    only: Collection[str] | None = None
    hidden: Collection[str] = ()

    @classmethod
    def by(cls, roles: Roles) -> Allowed:
        """What an account may find."""
        return cls(hidden=roles.hidden) if roles.general.covers(Role.READER) else cls(only=roles.shown)

    def condition(self) -> tuple[str, list[str]]:
        """As a condition on the column `family`, and its parameters."""
        if self.only is not None:
            keys = ["", *sorted(self.only)]
            return f" AND family IN ({', '.join(['%s'] * len(keys))})", keys
        hidden = sorted(self.hidden)
        return f" AND family NOT IN ({', '.join(['%s'] * len(hidden))})" if hidden else "", hidden


def find(asked: str, allowed: Allowed, *, kind: str | None = None, page: int = 1) -> Found:
    """What is found of a question.

    kind : give one kind only, a sheet of `HITS_A_PAGE` at a time, from 1; else the `BEST_OF_A_KIND` of each.
    """
    asking = question(asked, fitting_words)
    if not asking.terms:
        return Found(asking, {}, ())
    matching = _matching(asking, allowed)
    counts = dict(_rows(matching, "kind, COUNT(*)", " GROUP BY kind"))
    if kind is None:
        numbers = _best(matching, counts)
    else:
        numbers = _sheet(matching, kind, counts.get(kind, 0), page)
    entries = SearchEntry.objects.defer("title_words", "body_words").in_bulk(numbers)
    return Found(asking, counts, tuple(entries[number] for number in numbers if number in entries))


def _best(matching: _Matching, counts: dict[str, int]) -> list[int]:
    """The numbers of the best entries of each kind."""
    numbers: list[int] = []
    few = [kind for kind, count in counts.items() if count <= MOST_RANKED]
    if few:
        places = f"ROW_NUMBER() OVER (PARTITION BY kind ORDER BY {matching.badness}, id) AS place"
        inner = f"SELECT id, {places} {matching.source} AND kind IN ({', '.join(['%s'] * len(few))})"
        with connection.cursor() as cursor:
            parameters: list[str | int] = [*matching.parameters, *few, BEST_OF_A_KIND]
            cursor.execute(f"SELECT id FROM ({inner}) AS best WHERE place <= %s ORDER BY place, id", parameters)
            numbers += [row[0] for row in cursor.fetchall()]
    for kind in counts.keys() - set(few):
        rows = _rows(matching, "id", " AND kind = %s ORDER BY id LIMIT %s", kind, BEST_OF_A_KIND)
        numbers += [row[0] for row in rows]
    return numbers


def _sheet(matching: _Matching, kind: str, count: int, page: int) -> list[int]:
    """The numbers of the entries on one sheet of a kind."""
    order = f"{matching.badness}, id" if count <= MOST_RANKED else "id"
    ending = f" AND kind = %s ORDER BY {order} LIMIT %s OFFSET %s"
    return [row[0] for row in _rows(matching, "id", ending, kind, HITS_A_PAGE, HITS_A_PAGE * (page - 1))]


def _rows(matching: _Matching, columns: str, ending: str, *parameters: str | int) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {columns} {matching.source}{ending}", [*matching.parameters, *parameters])
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def citing(source: str, allowed: Allowed) -> list[SearchEntry]:
    """Everything that names a source, by the id of its document on the literature shelf."""
    entries = SearchEntry.objects.filter(cites__contains=f" {source} ").defer("title_words", "body_words")
    entries = entries.exclude(family__in=list(allowed.hidden))
    if allowed.only is not None:
        entries = entries.filter(family__in=["", *allowed.only])
    return list(entries.order_by("family", "kind", "id"))


def fitting_words(word: str) -> Sequence[str]:
    """The words of the index that may be the same serial: what a fragment can be, fragments that a serial fits."""
    with connection.cursor() as cursor:
        if has_mark(word):
            cursor.execute(
                "SELECT word FROM search_searchword WHERE word LIKE %s ORDER BY word LIMIT %s",
                [like_pattern(word), MOST_FITTING],
            )
        else:
            cursor.execute(
                "SELECT word FROM search_searchword WHERE pattern <> '' AND %s LIKE pattern ORDER BY word LIMIT %s",
                [word, MOST_FITTING],
            )
        return [row[0] for row in cursor.fetchall()]


@dataclass(frozen=True, slots=True)
class _Matching:
    """Everything that a question finds, as the FROM and WHERE of a query. badness : less of it is better."""

    source: str
    parameters: tuple[str, ...]
    badness: str


def _matching(asking: Question, allowed: Allowed) -> _Matching:
    condition, parameters = allowed.condition()
    if connection.vendor == "postgresql":
        source = "FROM search_searchentry, (SELECT %s::tsquery AS asked) AS question WHERE vector @@ asked" + condition
        badness = "CASE WHEN title_vector @@ asked THEN 0 ELSE 1 END - ts_rank(vector, asked)"
        return _Matching(source, (_tsquery(asking), *parameters), badness)
    # The index holds all that a common word needs of each entry, so that the texts need not be walked through.
    source = (
        "FROM search_text JOIN search_searchentry INDEXED BY search_kind ON id = search_text.rowid "
        "WHERE search_text MATCH %s" + condition
    )
    return _Matching(source, (_fts5(asking), *parameters), "search_text.rank")


def _fts5(asking: Question) -> str:
    """The question as an FTS5 expression; every word in quotes."""

    def word(one: Word) -> str:
        return f'"{one.text}"*' if one.is_beginning else f'"{one.text}"'

    return " AND ".join(_term(term, word, " AND ", " OR ") for term in asking.terms)


def _tsquery(asking: Question) -> str:
    """The question as a tsquery; every word in quotes."""

    def word(one: Word) -> str:
        return f"'{one.text}':*" if one.is_beginning else f"'{one.text}'"

    return " & ".join(_term(term, word, " & ", " | ") for term in asking.terms)


def _term(term: Term, word: Callable[[Word], str], both: str, either: str) -> str:
    alternatives = [both.join(word(one) for one in words) for words in term.alternatives]
    return f"({either.join(f'({alternative})' for alternative in alternatives)})"
