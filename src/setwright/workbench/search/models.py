"""The index: one row for every thing that can be found.

The words of a row stand apart from what is shown of it. SQLite indexes them in an FTS5 table that triggers keep in
step, PostgreSQL in generated columns with a GIN index; both are made by the first migration. A later migration must
not let SQLite rebuild the table of `SearchEntry`: its triggers would be lost.
"""

from __future__ import annotations

from django.db import models


class SearchEntry(models.Model):
    """One thing that can be found.

    record_kind, record_key : the record it stands in. anchor : what it is there; a record has no two of one anchor.
    kind : which heading it is listed under. family : whose permission it takes; "" where it belongs to no family.
    title_words, body_words : the forms under which it is found, spaces between (see `words`).
    cites : the sources it names, an id each, spaces around every one; "" for none.
    digest : of everything above it was made of, so that a change writes only what it changed.
    """

    record_kind = models.CharField(max_length=20)
    record_key = models.CharField(max_length=200)
    anchor = models.CharField(max_length=300)
    kind = models.CharField(max_length=20)
    title = models.TextField()
    body = models.TextField()
    family = models.CharField(max_length=200)
    address = models.TextField()
    title_words = models.TextField()
    body_words = models.TextField()
    cites = models.TextField(blank=True)
    digest = models.CharField(max_length=64)

    class Meta:
        indexes = [
            models.Index(fields=["record_kind", "record_key", "anchor"], name="search_anchor"),
            models.Index(fields=["id", "kind", "family"], name="search_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.title}"


class SearchWord(models.Model):
    """A word with digits that stood in the index: fragments of serials are held against these.

    pattern : for a word with illegible characters, what it can stand for, as LIKE has it; else "". Words are never
    taken out one by one; a word that nothing holds any more finds nothing.
    """

    word = models.CharField(max_length=64, primary_key=True)
    pattern = models.CharField(max_length=128, blank=True, db_index=True)

    def __str__(self) -> str:
        return self.word


class IndexVersion(models.Model):
    """By which rules the index was made; one row."""

    number = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"index {self.number}"


class IndexMark(models.Model):
    """How far the index is with one record.

    made_of : the state of the record that its entries stand for (see `writing.state_of`). behind : the record moved on.
    claim : who is bringing the index after it, so that two never do. problem : why the record could not be read; it is
    not found then.
    """

    record_kind = models.CharField(max_length=20)
    record_key = models.CharField(max_length=200)
    made_of = models.CharField(max_length=64, blank=True)
    behind = models.BooleanField(default=False, db_index=True)
    claim = models.CharField(max_length=32, blank=True)
    problem = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["record_kind", "record_key"], name="one_mark_a_record")]

    def __str__(self) -> str:
        return f"{self.record_kind} {self.record_key}{', behind' if self.behind else ''}"
