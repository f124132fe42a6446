"""The pictures that are kept."""

from __future__ import annotations

from django.db import models


class Blob(models.Model):
    """One kept picture: what is known of the file of that name. Which sets and survivors show it, their files say."""

    sha256 = models.CharField(max_length=64, unique=True)
    media_type = models.CharField(max_length=50)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveBigIntegerField()
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["added_at", "sha256"]

    def __str__(self) -> str:
        return f"picture {self.sha256[:12]}"
