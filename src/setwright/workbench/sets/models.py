"""A set's record."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.models import Document


class SetRecord(Document):
    """A set file. The text is the truth; the other columns are read from it, for lists."""

    record_kind = "set"

    family = models.ForeignKey(FamilyRecord, on_delete=models.PROTECT, related_name="sets")
    serial = models.CharField(max_length=100, blank=True)
    line = models.CharField(max_length=200, blank=True)
    open_to = models.CharField(max_length=50)
    observation_count = models.PositiveIntegerField()

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.key

    def get_absolute_url(self) -> str:
        """The page of the set's identity."""
        return reverse("sets:identity", args=[self.key])
