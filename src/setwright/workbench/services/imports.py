"""Takes files into the records: families, sets, survivors, circuits, charts, literature, pictures; all, or none."""

from __future__ import annotations

import codecs
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from django.db import transaction

from setwright.files import FileProblems, Problem, read_family, read_set, read_survivors
from setwright.files.circuits.reading import family_named_by as circuit_family
from setwright.files.circuits.reading import read_circuit
from setwright.files.literature import read_literature
from setwright.files.literature.shapes import LITERATURE_FORMAT
from setwright.files.problems import refuse
from setwright.files.readings import read_readings
from setwright.files.recognition import family_named_by
from setwright.files.source_text import cannot_open
from setwright.workbench.circuits.models import CircuitRecord
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.records.keeping import By, create, keep, lock_all
from setwright.workbench.records.kinds import kind_of
from setwright.workbench.records.models import Document
from setwright.workbench.search import index
from setwright.workbench.services import imported_pictures as pictures
from setwright.workbench.services.circuits import circuit_file_of
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord

LARGEST_REGISTER_BYTES = 50_000_000
"""A survivors file above this stays on the command line: pages would show it only slowly."""

FAMILY_FORMAT = "setwright-family/1"
SET_FORMAT = "setwright-set/1"
CIRCUIT_FORMAT = "setwright-circuit/1"
_KINDS = ("family", "survivors", "set", "circuit", "chart", "literature", "picture")
CHART_ENDING = ".chart.csv"
"""How the file of a printed chart is called: CIRCUIT.chart.csv, or FAMILY.chart.csv."""


@dataclass(frozen=True, slots=True)
class Incoming:
    """One file to take in. `family` says whose survivors a CSV holds, where that is not obvious."""

    name: str
    content: bytes
    family: str | None = None


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of one file.

    kind : "family", "set", "survivors", "circuit", "chart", "literature", "photo", "scan" or "photo and scan".
    key : finds its record; the beginning of its SHA-256 for a picture. address : of its page, "" for a picture.
    replaced : whether a record of that key was there already.
    """

    kind: str
    key: str
    name: str
    address: str
    replaced: bool = False

    def __str__(self) -> str:
        place = ", in place of what was there" if self.replaced else ""
        return f"{self.name}: {self.kind} {self.key} taken in{place}"


def import_files(names: Sequence[str | Path]) -> list[Imported]:
    """Takes files of a folder in. A survivors file may be written FAMILY=FILE.

    Raises FileProblems; nothing is taken in then. Files that cannot be read are named together.
    """
    incoming: list[Incoming] = []
    problems: list[Problem] = []
    for name in names:
        try:
            incoming.append(_read(str(name)))
        except FileProblems as failure:
            problems.extend(failure.problems)
    if problems:
        raise FileProblems(tuple(problems))
    return import_contents(incoming)


def _read(name: str) -> Incoming:
    family, sign, rest = name.partition("=")
    if not sign or Path(name).exists():
        family, rest = "", name
    if not rest:
        raise refuse(name, "no file is named behind the equals sign; write FAMILY=FILE")
    try:
        size = Path(rest).stat().st_size
        if size > LARGEST_REGISTER_BYTES:
            raise refuse(rest, _too_large(size))
        return Incoming(rest, Path(rest).read_bytes(), family or None)
    except OSError as error:
        raise refuse(rest, cannot_open(error)) from error


def _too_large(size: int) -> str:
    return (
        f"the file has {size / 1e6:,.0f} MB; the pages take files up to {LARGEST_REGISTER_BYTES / 1e6:.0f} MB. "
        "setwright identify reads larger survivors files"
    )


def import_contents(incoming: Iterable[Incoming], by: By = None) -> list[Imported]:
    """Takes contents in, families before the sets and survivors that need them; one transaction.

    A picture or a scan comes with the set or the document whose file names it by its SHA-256.
    What is already there under the same id is replaced, as one more entry in its history; a set or register that no
    longer fits its replaced family is refused with the family. by : the account that does it. Raises FileProblems.
    """
    sorted_in: dict[str, list[Incoming]] = {kind: [] for kind in _KINDS}
    for item in incoming:
        sorted_in[_kind(item)].append(item)
    kept = _keep_pictures(sorted_in)
    with transaction.atomic(), index.later(sum(map(len, sorted_in.values())) > index.FEW):
        lock_all(FamilyRecord)
        done = [_import_family(item, by) for item in sorted_in["family"]]
        families = [imported.key for imported in done]
        done += [_import_survivors(item, families, by) for item in sorted_in["survivors"]]
        done += [_import_set(item, by) for item in sorted_in["set"]]
        circuits = [_import_circuit(item, families, by) for item in sorted_in["circuit"]]
        done += circuits
        done += [_import_chart(item, [imported.key for imported in circuits], by) for item in sorted_in["chart"]]
        done += [_import_literature(item, by) for item in sorted_in["literature"]]
        for key in families:
            family = FamilyRecord.objects.get(key=key)
            kind_of(family).check_dependants(family)
    return done + kept


def _keep_pictures(sorted_in: dict[str, list[Incoming]]) -> list[Imported]:
    if not sorted_in["picture"]:
        return []
    named = pictures.named_in(item.content for kind in ("set", "literature") for item in sorted_in[kind])
    kept = [(item.name, *pictures.keep(item.name, item.content, named)) for item in sorted_in["picture"]]
    return [Imported(use, sha256[:12], name, "") for name, use, sha256 in kept]


def _refused(item: Incoming, message: str, where: str = "") -> FileProblems:
    return FileProblems((Problem(item.name, where, None, message),))


def _kind(item: Incoming) -> str:
    """Which of our files this is, by its `format` key; what is not TOML by its name counts as survivors."""
    if item.name.lower().endswith(CHART_ENDING):
        return "chart"
    if pictures.is_picture(item.name):
        return "picture"
    if item.name.lower().endswith(".csv") or item.family is not None:
        return "survivors"
    try:
        written = tomllib.loads(item.content.decode("utf-8-sig")).get("format")
    except (UnicodeDecodeError, tomllib.TOMLDecodeError):
        # The family reader says best what is wrong with a TOML file, line and all.
        return "family"
    if written == SET_FORMAT:
        return "set"
    if written == FAMILY_FORMAT:
        return "family"
    if written == CIRCUIT_FORMAT:
        return "circuit"
    if written == LITERATURE_FORMAT:
        return "literature"
    raise _refused(
        item,
        f'the key format is {written!r}; a family file has "{FAMILY_FORMAT}", a set file "{SET_FORMAT}", '
        f'a circuit file "{CIRCUIT_FORMAT}", a document of the shelf "{LITERATURE_FORMAT}"',
    )


def _csv_text(content: bytes) -> str:
    """A survivors file as text, by the encodings its reader has accepted."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252")


def _import_family(item: Incoming, by: By) -> Imported:
    read = read_family(item.content, item.name)
    stored = FamilyRecord.objects.filter(key=read.family.id).first()
    record, replaced = _stored("family", stored, read.text, item, by)
    return Imported("family", record.key, item.name, record.get_absolute_url(), replaced)


def _stored(
    kind: str,
    record: Document | None,
    text: str,
    item: Incoming,
    by: By,
    parent: Document | None = None,
) -> tuple[Document, bool]:
    """The record with the text of the file, and whether there was one already."""
    name = Path(item.name).name
    if record is None:
        made = create(kind, text, by=by, what=f"Taken in from {name}", name=item.name, parent=parent)
        return made, False
    # Whether everything still fits together is asked once all files are in.
    kept = keep(record, text, by=by, what=f"Replaced by {name}", name=item.name, alone=False)
    return kept, True


def _import_survivors(item: Incoming, families: list[str], by: By) -> Imported:
    if len(item.content) > LARGEST_REGISTER_BYTES:
        raise _refused(item, _too_large(len(item.content)))
    record = _family_of_survivors(item, families)
    read_survivors(item.content, family_of(record), item.name)  # which encodings it knows, the reader decides
    text = _csv_text(item.content)
    stored, replaced = _stored("survivors", record.register_or_none, text, item, by, record)
    return Imported("survivors", f"of {record.key}", item.name, stored.get_absolute_url(), replaced)


def _family_of_survivors(item: Incoming, families: list[str]) -> FamilyRecord:
    """The family whose survivors these are: the one named, by the caller or the file's name, else the only one."""
    known = families or list(FamilyRecord.objects.values_list("key", flat=True))
    named_after = family_named_by(item.name)
    wanted = item.family or (named_after if named_after in known else known[0] if len(known) == 1 else None)
    if wanted is None:
        raise _refused(
            item,
            "it does not say whose survivors these are; write FAMILY=FILE, or name the file FAMILY.survivors.csv, "
            "with one of the families " + ", ".join(known)
            if known
            else "there is no family yet that these survivors could belong to; name the family's file as well",
        )
    record = FamilyRecord.objects.filter(key=wanted).first()
    if record is None:
        raise _refused(item, f'there is no family "{wanted}" yet; name its file as well')
    return record


def _import_set(item: Incoming, by: By) -> Imported:
    key = tomllib.loads(item.content.decode("utf-8-sig")).get("family")
    if not isinstance(key, str):
        raise _refused(item, 'the key family is missing; write family = "…" with the id of the set\'s family')
    record = FamilyRecord.objects.filter(key=key).first()
    if record is None:
        raise _refused(item, f'the set belongs to family "{key}", which is not there yet; name its file as well')
    read = read_set(item.content, family_of(record), item.name)
    stored = SetRecord.objects.select_related("family").filter(key=read.set.id).first()
    if stored is not None and stored.family_id != record.pk:
        raise _refused(
            item,
            f'there is a set "{stored.key}" in family "{stored.family.key}" already; '
            "give this one another id, or remove that one first",
        )
    kept, replaced = _stored("set", stored, read.text, item, by)
    return Imported("set", kept.key, item.name, kept.get_absolute_url(), replaced)


def _import_literature(item: Incoming, by: By) -> Imported:
    read = read_literature(item.content, item.name)
    stored = LiteratureRecord.objects.filter(key=read.entry.id).first()
    record, replaced = _stored("literature", stored, read.text, item, by)
    return Imported("literature", record.key, item.name, record.get_absolute_url(), replaced)


def _import_circuit(item: Incoming, families: list[str], by: By) -> Imported:
    """A circuit of the family that its file names, else of the only one there is."""
    named = circuit_family(item.content, item.name)
    known = families or list(FamilyRecord.objects.values_list("key", flat=True))
    wanted = named or (known[0] if len(known) == 1 else None)
    family = FamilyRecord.objects.filter(key=wanted).first() if wanted else None
    if family is None:
        told = f'the circuit belongs to family "{wanted}", which is not there yet' if wanted else "it names no family"
        raise _refused(item, f'{told}; write family = "…" with the id of a family that is there')
    read = read_circuit(item.content, family_of(family), item.name)
    stored = CircuitRecord.objects.select_related("family").filter(key=read.circuit.id).first()
    if stored is not None and stored.family_id != family.pk:
        raise _refused(
            item, f'there is a circuit "{stored.key}" in family "{stored.family.key}" already; give this one another id'
        )
    kept, replaced = _stored("circuit", stored, read.text, item, by, family)
    return Imported("circuit", kept.key, item.name, kept.get_absolute_url(), replaced)


def _import_chart(item: Incoming, circuits: list[str], by: By) -> Imported:
    """A printed chart of the circuit, or of the only circuit of the family, after which its file is called."""
    stem = Path(item.name).name[: -len(CHART_ENDING)]
    records = CircuitRecord.objects.select_related("family", "chart")
    found = list(records.filter(key=stem)) or list(records.filter(family__key=stem))
    if not found and len(circuits) == 1:
        found = list(records.filter(key=circuits[0]))
    if len(found) != 1:
        raise _refused(
            item,
            f"it does not say which circuit it was printed with; call the file CIRCUIT{CHART_ENDING}, "
            "with the id of a circuit that is there",
        )
    circuit = found[0]
    file = read_readings(item.content, circuit_file_of(circuit).circuit, item.name)
    stored, replaced = _stored("chart", circuit.chart_or_none, _csv_text(item.content), item, by, circuit)
    return Imported(
        "chart", f"of {circuit.key}, {len(file.readings)} rows", item.name, stored.get_absolute_url(), replaced
    )
