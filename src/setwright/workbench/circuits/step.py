"""A set's voltages as its page says them, among the steps of the job."""

from __future__ import annotations

from setwright.workbench.circuits.asking import circuits_of, question_of
from setwright.workbench.circuits.pages import verdict_of
from setwright.workbench.services.circuits import known_chart_of
from setwright.workbench.services.records import set_file_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.site.words import count, listing


def volts_sentences(record: SetRecord) -> tuple[str, ...]:
    """What the set's circuit tells; () where its family has none. Nothing is computed for it."""
    circuits = circuits_of(record.family)
    if not circuits:
        return ()
    question = question_of({}, circuits, set_file_of(record).case.readings)
    known = known_chart_of(question.circuit, record, question.asked)
    if known is not None:
        return (verdict_of(known),)
    tubes = sum(circuit.tube_count for circuit in circuits)
    named = listing(circuit.title for circuit in circuits)
    return (f"What to measure at each pin of its {count(tubes, 'tube')}, after the circuit of the {named}.",)
