"""How the records of circuits and of printed charts are read."""

from __future__ import annotations

from django.urls import reverse

from setwright.files.circuits.reading import CircuitFile, family_named_by, read_circuit
from setwright.files.problems import quoted, refuse
from setwright.files.readings import ReadingsFile, read_readings
from setwright.workbench.circuits.models import CircuitRecord, PrintedChart
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.kinds import Kind
from setwright.workbench.records.models import Document
from setwright.workbench.services.records import family_of


class CircuitKind(Kind[CircuitRecord, CircuitFile]):
    """Circuit files."""

    name = "circuit"
    noun = "circuit"
    model = CircuitRecord
    parent_field = "family"

    def read(self, record: CircuitRecord, text: str) -> CircuitFile:
        """The circuit file, against the features of its family, which it has to name."""
        read = read_circuit(text.encode("utf-8"), family_of(record.family), record.file_name)
        if read.circuit.family is None:
            own = f'family = "{record.family.key}"'
            raise refuse(record.file_name, f"it does not say whose circuit it is; write {own} at the top")
        return read

    def key_of(self, record: CircuitRecord, file: CircuitFile) -> str:
        """The circuit's id."""
        return file.circuit.id

    def columns(self, record: CircuitRecord, file: CircuitFile) -> dict[str, object]:
        """What lists of circuits show."""
        return {
            "title": file.title or file.circuit.id,
            "part_count": len(file.circuit.parts),
            "tube_count": len({tube.ref for tube in file.circuit.tubes}),
        }

    def made(self, text: str, name: str, parent: Document | None) -> CircuitRecord:
        """A circuit under its id; of the family that its file names, or the caller."""
        named = family_named_by(text.encode("utf-8"), name)
        if isinstance(parent, FamilyRecord):
            family: FamilyRecord | None = parent
        else:
            family = FamilyRecord.objects.filter(key=named).first() if named else None
        if family is None:
            told = f"family {quoted(named)} is not there yet" if named else "it does not say whose circuit it is"
            raise refuse(name, f'{told}; write family = "…" with the id of a family that is there')
        read = read_circuit(text.encode("utf-8"), family_of(family), name)
        return CircuitRecord(key=read.circuit.id, family=family)

    def check_dependants(self, record: CircuitRecord) -> None:
        """FileProblems where the printed chart names points that are there no more."""
        chart = record.chart_or_none
        if chart is not None:
            name = f"{chart.file_name} (the printed chart, already here)"
            circuit = read_circuit(record.text.encode("utf-8"), family_of(record.family), record.file_name).circuit
            read_readings(chart.text.encode("utf-8"), circuit, name)

    def why_gone(self, record: CircuitRecord) -> str:
        """A circuit comes back into a family that is there."""
        return "Its family is removed; bring the family back first." if record.family.is_removed else ""

    def history_address(self, record: CircuitRecord) -> str:
        """The page of the circuit's history."""
        return reverse("circuits:history", args=[record.family.key, record.key])


class ChartKind(Kind[PrintedChart, ReadingsFile]):
    """Printed charts: readings files that belong to a circuit."""

    name = "chart"
    noun = "printed chart of circuit"
    model = PrintedChart
    parent_field = "circuit"

    def read(self, record: PrintedChart, text: str) -> ReadingsFile:
        """The chart's rows, against the circuit's points."""
        parent = record.circuit
        circuit = read_circuit(parent.text.encode("utf-8"), family_of(parent.family), parent.file_name).circuit
        return read_readings(text.encode("utf-8"), circuit, record.file_name)

    def key_of(self, record: PrintedChart, file: ReadingsFile) -> str:
        """A chart has its circuit's id."""
        return record.circuit.key

    def columns(self, record: PrintedChart, file: ReadingsFile) -> dict[str, object]:
        """How many rows there are."""
        return {"count": len(file.readings)}

    def made(self, text: str, name: str, parent: Document | None) -> PrintedChart:
        """A chart of the circuit that the caller names."""
        if not isinstance(parent, CircuitRecord):
            raise refuse(name, "it does not say which circuit it was printed with; name the circuit")
        return PrintedChart(key=parent.key, circuit=parent)

    def family_key(self, record: PrintedChart) -> str:
        """Its circuit's family decides who may see it."""
        return str(record.circuit.family.key)

    def why_gone(self, record: PrintedChart) -> str:
        """A chart comes back to a circuit that is there."""
        return "Its circuit is removed; bring the circuit back first." if record.circuit.is_removed else ""

    def history_address(self, record: PrintedChart) -> str:
        """The page of the chart's history."""
        return reverse("circuits:printed-history", args=[record.circuit.family.key, record.key])
