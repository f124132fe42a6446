"""Texts of new families, and tables put into the form in which a register takes them."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence

from setwright.files import FamilyFile, read_family
from setwright.files.editing import FamilyEdit, edit_family
from setwright.files.partslists.proposals import quoted_toml, slug, unused
from setwright.files.shapes import FAMILY_FORMAT, RESERVED
from setwright.files.survivors.columns import COMPANIONS, PART_DATE
from setwright.files.survivors.spreadsheet import clean


def family_id(given: str, name: str, taken: Collection[str]) -> str:
    """The id asked for, else one made from the name that is not taken."""
    return given.strip() or unused(slug(name, "family"), taken)


def new_family(key: str, name: str, kind: str, features: Iterable[Mapping[str, object]] = ()) -> FamilyFile:
    """A family of which nothing is documented yet. FileProblems where id, name or a feature will not do."""
    head = (
        f'format = "{FAMILY_FORMAT}"\nid = {quoted_toml(key)}\nname = {quoted_toml(name)}\nkind = {quoted_toml(kind)}\n'
    )
    file = read_family(head.encode("utf-8"), f"{key}.toml")
    return edit_family(file, [FamilyEdit("add", "feature", values=feature) for feature in features])


def as_register(columns: Mapping[str, Sequence[str]], learnt: Mapping[str, str], features: Collection[str]) -> bytes:
    """A person's table as a survivors file: columns under the ids of their features, unknown ones as free columns.

    learnt : column to the id of the feature made of it. features : the ids the family knows besides. Without a column
    "id" each set is named by its serial, or where that is missing or shared by its row.
    """
    names = {column: _register_name(column, learnt, features) for column in columns}
    counts = Counter(names.values())
    kept = {column: name for column, name in names.items() if counts[name] == 1}
    rows = list(zip(*(columns[column] for column in kept), strict=True))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    ids = [] if "id" in kept.values() else _made_ids(columns.get("serial", ()), len(rows))
    writer.writerow([*(["id"] if ids else []), *kept.values()])
    for number, row in enumerate(rows):
        cells = [clean(cell) for cell in row]
        # What is blank but for a made name is no set.
        if any(cells):
            writer.writerow([*([ids[number]] if ids else []), *cells])
    return out.getvalue().encode("utf-8")


def _register_name(column: str, learnt: Mapping[str, str], features: Collection[str]) -> str:
    if column in learnt:
        return learnt[column]
    base, _, companion = column.partition(".")
    if companion in COMPANIONS and base in learnt:
        return f"{learnt[base]}.{companion}"
    known = column in RESERVED or column in features or column.startswith((PART_DATE, "x-"))
    return column if known or (companion in COMPANIONS and base in features) else f"x-{column}"


def _made_ids(serials: Sequence[str], rows: int) -> list[str]:
    plain = [" ".join(clean(serial).split()) for serial in serials] or [""] * rows
    counts = Counter(plain)
    return [
        serial if serial and counts[serial] == 1 and "?" not in serial and "*" not in serial else f"row {number}"
        for number, serial in enumerate(plain, 2)
    ]
