"""A set's record."""

from __future__ import annotations

from django.db import models
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce, Lower, NullIf
from django.urls import reverse

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.models import Document

BY_NAME: tuple[str | Combinable, ...] = (Lower(Coalesce(NullIf("name", models.Value("")), "key")), "key")
"""The order by what a set is called."""


class SetRecord(Document):
    """A set file. The text is the truth; the other columns are read from it, for lists."""

    record_kind = "set"

    family = models.ForeignKey(FamilyRecord, on_delete=models.PROTECT, related_name="sets")
    name = models.CharField(max_length=500, blank=True)
    serial = models.CharField(max_length=100, blank=True)
    line = models.CharField(max_length=200, blank=True)
    open_to = models.CharField(max_length=50)
    observation_count = models.PositiveIntegerField()

    class Meta:
        ordering = ["key"]
        # Without them a page of the shelf would read every set's text to find out its order.
        indexes = [
            models.Index(*BY_NAME, name="shelf_by_name"),
            models.Index(fields=["-changed_at", "key"], name="shelf_by_change"),
        ]

    def __str__(self) -> str:
        return self.name or self.key

    def get_absolute_url(self) -> str:
        """The set's page."""
        return reverse("sets:set", args=[self.key])


class ShelfLine(models.Model):
    """What was last found out about a set, so that the shelf need not compute it: a copy that may be thrown away.

    state : what the answer followed from (`services.identity.state_of`); another one means that it is out of date.
    probability : of the verdict; None where there is none, and `verdict` says why. quick : from the quick answer.
    """

    record = models.OneToOneField(SetRecord, on_delete=models.CASCADE, primary_key=True, related_name="shelf_line")
    state = models.CharField(max_length=64)
    verdict = models.CharField(max_length=1000)
    probability = models.FloatField(null=True)
    step = models.CharField(max_length=1000, blank=True)
    quick = models.BooleanField()

    def __str__(self) -> str:
        return self.verdict
