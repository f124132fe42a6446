"""A family as it was imported."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.urls import reverse

if TYPE_CHECKING:
    from setwright.workbench.survivors.models import SurvivorRegister


class FamilyRecord(models.Model):
    """A family file. The text is the truth; the other columns are read from it, for lists."""

    key = models.CharField(max_length=200, unique=True)
    name = models.CharField(max_length=500)
    kind = models.CharField(max_length=50)
    introduced = models.CharField(max_length=20, blank=True)
    discontinued = models.CharField(max_length=20, blank=True)
    line_count = models.PositiveIntegerField()
    version_count = models.PositiveIntegerField()
    feature_count = models.PositiveIntegerField()
    text = models.TextField()
    digest = models.CharField(max_length=64)
    file_name = models.CharField(max_length=500)
    imported_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["name", "key"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The family's page."""
        return reverse("families:family", args=[self.key])

    @property
    def register_or_none(self) -> SurvivorRegister | None:
        """The register of survivors; None where no survivors were imported. May cost a query."""
        return getattr(self, "register", None)
