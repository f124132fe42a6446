"""Asking the index: what is found, how much of each kind, the best first.

The words of a question are cut to letters, digits and a few marks before they come here (see `words`), and each
stands in quotes; nothing that a person types is ever read as a search expression by the database.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from django.db import connection

from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.roles import Roles
from setwright.workbench.search.index import like_pattern
from setwright.workbench.search.models import SearchEntry
from setwright.workbench.search.query import Question, Term, Word, question
from setwright.workbench.search.words import has_mark

MOST_FITTING = 200
"""So many serials that a fragment may be are looked for; one that fits more says next to nothing."""

BEST_OF_A_KIND = 5
HITS_A_PAGE = 50


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

    def condition(self) -> tuple[str, list[object]]:
        """As a condition on the column `family`, and its parameters."""
        if self.only is not None:
            keys: list[object] = ["", *sorted(self.only)]
            return f" AND family IN ({', '.join(['%s'] * len(keys))})", keys
        hidden: list[object] = [*sorted(self.hidden)]
        return f" AND family NOT IN ({', '.join(['%s'] * len(hidden))})" if hidden else "", hidden


def find(asked: str, allowed: Allowed, *, kind: str | None = None, page: int = 1) -> Found:
    """What is found of a question.

    kind : give one kind only, a sheet of `HITS_A_PAGE` at a time, from 1; else the `BEST_OF_A_KIND` of each.
    """
    asking = question(asked, fitting_words)
    if not asking.terms:
        return Found(asking, {}, ())
    matching, parameters = _matching(asking, allowed)
    with connection.cursor() as cursor:
        cursor.execute(f"{matching} SELECT kind, COUNT(*) FROM matching GROUP BY kind", parameters)
        counts = dict(cursor.fetchall())
    if kind is None:
        ranked = "ROW_NUMBER() OVER (PARTITION BY kind ORDER BY badness, id) AS place"
        chosen = f"SELECT id, badness FROM (SELECT id, badness, {ranked} FROM matching) AS best WHERE place <= %s"
        parameters = [*parameters, BEST_OF_A_KIND]
    else:
        chosen = "SELECT id, badness FROM matching WHERE kind = %s ORDER BY badness, id LIMIT %s OFFSET %s"
        parameters = [*parameters, kind, HITS_A_PAGE, HITS_A_PAGE * (page - 1)]
    with connection.cursor() as cursor:
        cursor.execute(f"{matching} {chosen}", parameters)
        badness = dict(cursor.fetchall())
    entries = SearchEntry.objects.defer("title_words", "body_words").in_bulk(list(badness))
    hits = sorted(entries.values(), key=lambda entry: (badness[entry.pk], entry.pk))
    return Found(asking, counts, tuple(hits))


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


def _matching(asking: Question, allowed: Allowed) -> tuple[str, list[object]]:
    """The query that `matching` stands for: id, kind and badness (less is better) of everything found."""
    condition, parameters = allowed.condition()
    if connection.vendor == "postgresql":
        expression = _tsquery(asking)
        found = (
            "SELECT id, kind, CASE WHEN title_vector @@ asked THEN 0 ELSE 1 END - ts_rank(vector, asked) AS badness "
            "FROM search_searchentry, (SELECT %s::tsquery AS asked) AS question WHERE vector @@ asked"
        )
    else:
        expression = _fts5(asking)
        found = (
            "SELECT search_searchentry.id AS id, kind, search_text.rank AS badness "
            "FROM search_text JOIN search_searchentry ON search_searchentry.id = search_text.rowid "
            "WHERE search_text MATCH %s"
        )
    return f"WITH matching AS ({found}{condition})", [expression, *parameters]


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
