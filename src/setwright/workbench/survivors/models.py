"""The record of a family's survivors."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.models import Document


class SurvivorRegister(Document):
    """A survivors file, under the key of its family. The text is the truth; `count` is read from it, for lists."""

    record_kind = "survivors"

    family = models.OneToOneField(FamilyRecord, on_delete=models.CASCADE, related_name="register")
    count = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"survivors of {self.family}"

    def get_absolute_url(self) -> str:
        """The page that lists the survivors."""
        return reverse("survivors:register", args=[self.family.key])
