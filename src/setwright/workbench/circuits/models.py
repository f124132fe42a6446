"""The records of circuits and of the charts printed with them."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.models import Document


class CircuitRecord(Document):
    """A circuit file of a family. The text is the truth; the other columns are read from it, for lists."""

    record_kind = "circuit"

    family = models.ForeignKey(FamilyRecord, on_delete=models.CASCADE, related_name="circuits")
    title = models.CharField(max_length=500)
    part_count = models.PositiveIntegerField()
    tube_count = models.PositiveIntegerField()

    class Meta:
        ordering = ["title", "key"]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        """The circuit's page."""
        return reverse("circuits:circuit", args=[self.family.key, self.key])

    @property
    def chart_or_none(self) -> PrintedChart | None:
        """The chart printed with it, None where there is none or it was removed."""
        chart = getattr(self, "chart", None)
        return None if chart is None or chart.is_removed else chart


class PrintedChart(Document):
    """A printed voltage or resistance chart (a readings file), under the key of its circuit."""

    record_kind = "chart"

    circuit = models.OneToOneField(CircuitRecord, on_delete=models.CASCADE, related_name="chart")
    count = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"printed chart of {self.circuit}"

    def get_absolute_url(self) -> str:
        """The page that compares it."""
        return reverse("circuits:printed", args=[self.circuit.family.key, self.circuit.key])
