"""What every record is: a text with revisions."""

from __future__ import annotations

import hashlib
import zlib
from typing import Any, ClassVar, TypeVar

from django.conf import settings
from django.db import models
from django.utils import timezone

AnyDocument = TypeVar("AnyDocument", bound="Document")


def digest_of(text: str) -> str:
    """The fingerprint under which a text is known."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


class LiveRecords(models.Manager[AnyDocument]):
    """Records that were not removed."""

    def get_queryset(self) -> models.QuerySet[AnyDocument]:
        """Without the removed ones."""
        return super().get_queryset().filter(removed_at__isnull=True)


class Document(models.Model):
    """A record whose text is the truth; other columns are read from it, for lists.

    record_kind : the name under which `kinds` knows how to read it.
    revision : the number of its newest Revision, from 1.
    removed_at : None while it is live. `objects` are the live records, `everything` has the removed ones as well; a
        reverse one-to-one relation does not go through `objects`, so look at `removed_at` there.
    """

    record_kind: ClassVar[str]

    key = models.CharField(max_length=200, unique=True)
    text = models.TextField()
    digest = models.CharField(max_length=64)
    file_name = models.CharField(max_length=500)
    revision = models.PositiveIntegerField(default=1)
    changed_at = models.DateTimeField(default=timezone.now)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, blank=True)

    # The first one is what relations such as `family.sets` go through.
    objects = LiveRecords()
    everything = models.Manager()  # noqa: DJ012 (a manager as well)

    class Meta:
        abstract = True

    def get_absolute_url(self) -> str:
        """The record's own page."""
        raise NotImplementedError

    @property
    def is_removed(self) -> bool:
        """Whether it was removed and not brought back."""
        return self.removed_at is not None


class Revision(models.Model):
    """One entry of a record's history: the whole text as it then stood. Entries are added, never changed.

    what : one plain sentence. undoes : the number of the entry that this one takes back. removed : whether the record
    was removed with this entry. by_name stays when the account is gone.
    """

    kind = models.CharField(max_length=20)
    key = models.CharField(max_length=200)
    number = models.PositiveIntegerField()
    text_zip = models.BinaryField()
    digest = models.CharField(max_length=64)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    by_name = models.CharField(max_length=200)
    at = models.DateTimeField()
    what = models.TextField()
    undoes = models.PositiveIntegerField(null=True, blank=True)
    removed = models.BooleanField(default=False)

    class Meta:
        ordering = ["kind", "key", "-number"]
        constraints = [models.UniqueConstraint(fields=["kind", "key", "number"], name="one_entry_a_number")]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}, {self.number}: {self.what}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Adds the entry. Raises TypeError for one that is there already."""
        if not self._state.adding:
            raise TypeError("An entry of the history is never changed.")
        super().save(*args, **kwargs)

    @property
    def text(self) -> str:
        """The record's text as it stood with this entry."""
        return zlib.decompress(bytes(self.text_zip)).decode("utf-8")


def packed(text: str) -> bytes:
    """A text as an entry holds it."""
    return zlib.compress(text.encode("utf-8"))
