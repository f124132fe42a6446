"""What can be found of a circuit."""

from __future__ import annotations

from collections.abc import Iterator

from setwright.workbench.circuits.models import CircuitRecord, PrintedChart
from setwright.workbench.search.documents.item import Item
from setwright.workbench.services.circuits import circuit_file_of


def circuit_items(record: CircuitRecord) -> Iterator[Item]:
    """The circuit with its parts and tube types."""
    circuit = circuit_file_of(record).circuit
    types = dict.fromkeys(tube.type for tube in circuit.tubes)
    parts = " ".join(part.ref for part in circuit.parts)
    yield Item("circuit", "", record.title, f"Tubes: {', '.join(types)}. Parts: {parts}.", record.get_absolute_url())


def chart_items(record: PrintedChart) -> Iterator[Item]:
    """A printed chart is found by its circuit."""
    return iter(())
