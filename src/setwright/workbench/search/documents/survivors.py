"""What can be found of a register: each survivor with everything its row says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from urllib.parse import quote

from django.urls import reverse

from setwright.files.source_text import SourceBytes
from setwright.files.survivors.columns import known_names
from setwright.files.survivors.csv_text import open_csv
from setwright.files.survivors.spreadsheet import clean
from setwright.identity.model import Family
from setwright.workbench.search.documents.item import Item, lines, said
from setwright.workbench.search.documents.serials import serial_forms
from setwright.workbench.services.records import family_of
from setwright.workbench.site.words import line_words
from setwright.workbench.survivors.models import SurvivorRegister
from setwright.workbench.survivors.pages import FREE_COLUMNS

_TOP = ("id", "serial", "line")
_SAYS_LITTLE = (".sure", ".serviced")
_UNSAID = ("x-photos",)

MOST_ROWS = 300
"""So many changed rows are looked at by themselves."""


def survivor_items(record: SurvivorRegister) -> Iterator[Item]:
    """Every survivor of a register, from the cells as they stand in the file."""
    return _items(record, record.text)


def changed_rows(record: SurvivorRegister, before: str) -> tuple[list[Item], list[Item]] | None:
    """What can be found of the rows of an earlier text that are there no more, and of those that are new since.

    None where that cannot be told line by line: another header, cells of several lines, over `MOST_ROWS` changes.
    """
    then, now = before.split("\n"), record.text.split("\n")
    if then[0] != now[0] or then[0].lower().startswith("sep=") or _over_several_lines(then) or _over_several_lines(now):
        return None
    gone, new = _lines_only_in(then, now), _lines_only_in(now, then)
    if max(len(gone), len(new)) > MOST_ROWS:
        return None
    return _rows(record, now[0], gone), _rows(record, now[0], new)


def _rows(record: SurvivorRegister, header: str, lines: list[str]) -> list[Item]:
    return list(_items(record, "\n".join((header, *lines, ""))))


def _over_several_lines(lines: list[str]) -> bool:
    return any(line.count('"') % 2 for line in lines if '"' in line)


def _lines_only_in(lines: list[str], others: list[str]) -> list[str]:
    known = set(others)
    return [line for line in lines if line not in known]


def _items(record: SurvivorRegister, text: str) -> Iterator[Item]:
    family = family_of(record.family)
    source = SourceBytes(record.file_name, text.encode("utf-8"))
    records = open_csv(source, known_names(family)).records()
    columns = [clean(cell) for cell in next(records).cells]
    names = _names(family, columns)
    page = reverse("survivors:register", args=[record.family.key])
    for row in records:
        cells = {column: clean(cell) for column, cell in zip(columns, row.cells, strict=False)}
        if cells.get("id"):
            yield _survivor(cells, names, page)


def _names(family: Family, columns: list[str]) -> dict[str, str]:
    """What a page calls each column that says something of a survivor beside its id, serial and line."""
    labels = {feature.id: feature.label for feature in family.features}
    said_here = (name for name in columns if name and name not in _TOP and name not in _UNSAID)
    return {
        name: labels.get(name) or FREE_COLUMNS.get(name) or name.removeprefix("x-").replace("part_date.", "Date of ")
        for name in said_here
        if not name.endswith(_SAYS_LITTLE)
    }


def _survivor(cells: Mapping[str, str], names: Mapping[str, str], page: str) -> Item:
    serial, line = cells.get("serial", ""), cells.get("line", "")
    body = lines(
        said("Serial", serial),
        line_words(line).capitalize() if line and line != "main" else "",
        *(said(label, cells.get(name)) for name, label in names.items()),
    )
    # The address as Django makes it; ten thousands of them are made much faster so.
    address = f"{page}of/{quote(cells['id'], safe=_SAFE)}/"
    return Item("survivor", cells["id"], cells["id"], body, address, aliases=serial_forms(serial))


_SAFE = "/~:@!$&'()*+,;="
"""What Django leaves as it is in an address."""
