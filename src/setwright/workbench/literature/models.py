"""The record of a document on the literature shelf."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from setwright.workbench.records.models import Document


class LiteratureRecord(Document):
    """A literature file. The text is the truth; the other columns are read from it, for lists."""

    record_kind = "literature"

    title = models.CharField(max_length=500)
    kind = models.CharField(max_length=50)
    maker = models.CharField(max_length=500, blank=True)
    model = models.CharField(max_length=500, blank=True)
    chassis = models.CharField(max_length=500, blank=True)
    place = models.CharField(max_length=1100, blank=True)
    year = models.PositiveIntegerField(null=True, blank=True)
    owned = models.BooleanField()
    where_kept = models.TextField(blank=True)
    scan_count = models.PositiveIntegerField()

    class Meta:
        ordering = ["maker", "model", "title", "key"]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        """The document's page."""
        return reverse("literature:entry", args=[self.key])
