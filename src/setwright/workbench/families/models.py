"""A family's record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.urls import reverse

from setwright.workbench.records.models import Document

if TYPE_CHECKING:
    from setwright.workbench.survivors.models import SurvivorRegister


class FamilyRecord(Document):
    """A family file. The text is the truth; the other columns are read from it, for lists."""

    record_kind = "family"

    name = models.CharField(max_length=500)
    kind = models.CharField(max_length=50)
    introduced = models.CharField(max_length=20, blank=True)
    discontinued = models.CharField(max_length=20, blank=True)
    line_count = models.PositiveIntegerField()
    version_count = models.PositiveIntegerField()
    feature_count = models.PositiveIntegerField()

    class Meta:
        ordering = ["name", "key"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The family's page."""
        return reverse("families:family", args=[self.key])

    @property
    def register_or_none(self) -> SurvivorRegister | None:
        """The register of survivors; None where there is none, or it was removed. May cost a query."""
        found: SurvivorRegister | None = getattr(self, "register", None)
        return None if found is None or found.is_removed else found
