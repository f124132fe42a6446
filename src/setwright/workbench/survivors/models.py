"""A register of survivors as it was imported."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from setwright.workbench.families.models import FamilyRecord


class SurvivorRegister(models.Model):
    """A survivors file. The text is the truth; `count` is read from it, for lists."""

    family = models.OneToOneField(FamilyRecord, on_delete=models.CASCADE, related_name="register")
    count = models.PositiveIntegerField()
    text = models.TextField()
    digest = models.CharField(max_length=64)
    file_name = models.CharField(max_length=500)
    imported_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"survivors of {self.family}"

    def get_absolute_url(self) -> str:
        """The page that lists the survivors."""
        return reverse("survivors:register", args=[self.family.key])
