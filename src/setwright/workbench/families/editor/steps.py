"""What a form's changes come to in the file: the table itself, and whatever else speaks of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from setwright.files import FamilyFile
from setwright.files.editing import FamilyEdit
from setwright.files.partslists.proposals import slug, unused
from setwright.workbench.families.editor.tables import FEATURE, TOP, VERSION, Table, minutes_key
from setwright.workbench.site.words import count, listing

Raw = Mapping[str, Any]


def raw_tables(file: FamilyFile, kind: str) -> list[dict[str, Any]]:
    """The tables of a kind as they stand in the file."""
    return list(file.document.unwrap().get(kind, []))


def raw_top(file: FamilyFile) -> dict[str, Any]:
    """The keys at the top of the file, with those of its access minutes."""
    top = file.document.unwrap()
    minutes = top.get("access_minutes", {})
    return {**top, **{minutes_key(access): value for access, value in minutes.items()}}


def number_of(file: FamilyFile, table: Table, which: str) -> int | None:
    """The number, from 0, of the table an address names by its id, or by its number from 1; None if there is none."""
    tables = raw_tables(file, table.kind)
    if table.has_ids:
        return next((number for number, one in enumerate(tables) if one.get("id") == which), None)
    return int(which) - 1 if which.isdecimal() and 1 <= int(which) <= len(tables) else None


def name_of(file: FamilyFile, table: Table, raw: Raw) -> str:
    """What a table is called in a sentence."""
    if table.kind == "cutin":
        labels = {feature.id: feature.label for feature in file.family.features}
        states = " to ".join(raw[key] for key in ("from", "to") if key in raw)
        return f"{labels.get(raw['feature'], raw['feature'])}{f', {states}' if states else ''}"
    if table.kind == "serial_block":
        return f"{raw.get('prefix', '')}{raw['first']} to {raw.get('prefix', '')}{raw['last']}"
    return str(raw.get("label") or raw.get("title") or raw["id"])


def new_id(file: FamilyFile, table: Table, values: Raw) -> str:
    """The id for a new table: the one given, else made from its name."""
    given = str(values.get("id") or "")
    taken = [str(one["id"]) for one in raw_tables(file, table.kind)]
    return given or unused(slug(str(values.get("label") or values.get("title")), table.kind), taken)


def top_edits(changes: Raw) -> list[FamilyEdit]:
    """The steps for changed keys of the top."""
    top = {key: value for key, value in changes.items() if "." not in key}
    minutes = {key.partition(".")[2].replace("_", " "): value for key, value in changes.items() if "." in key}
    return [
        *([FamilyEdit("top", values=top)] if top else []),
        *([FamilyEdit("sole", "access_minutes", values=minutes)] if minutes else []),
    ]


def change_edits(file: FamilyFile, table: Table, number: int, changes: Raw) -> list[FamilyEdit]:
    """The steps for changed keys of one table; a state that is only respelled is respelled everywhere in the file."""
    if table is TOP:
        return top_edits(changes)
    steps = [FamilyEdit("change", table.kind, number, changes)]
    if table is FEATURE and changes.get("states"):
        raw = raw_tables(file, "feature")[number]
        respelled = _respelled(raw["states"], changes["states"])
        if respelled:
            steps += _respell(file, raw["id"], *respelled)
    return steps


def _respelled(before: Sequence[str], after: Sequence[str]) -> tuple[str, str] | None:
    """The one state that was put in another's place; None where there is no such one."""
    differing = [(old, new) for old, new in zip(before, after, strict=False) if old != new]
    if len(before) != len(after) or len(differing) != 1 or differing[0][1] in before:
        return None
    return differing[0]


def _respell(file: FamilyFile, feature: str, old: str, new: str) -> list[FamilyEdit]:
    steps = [
        FamilyEdit("change", "version", number, {"states": {feature: new}})
        for number, version in enumerate(raw_tables(file, "version"))
        if version.get("states", {}).get(feature) == old
    ]
    for number, bound in enumerate(raw_tables(file, "cutin")):
        keys = {key: new for key in ("from", "to") if bound["feature"] == feature and bound.get(key) == old}
        steps += [FamilyEdit("change", "cutin", number, keys)] if keys else []
    return steps


def removal_edits(file: FamilyFile, table: Table, number: int) -> list[FamilyEdit]:
    """The steps that remove a table, with what speaks of it elsewhere in the file."""
    raw = raw_tables(file, table.kind)[number]
    own = FamilyEdit("remove", table.kind, number)
    match table.kind:
        case "feature":
            return [*_without_states(file, raw["id"]), *_without_bounds(file, _bounds_on(file, raw["id"])), own]
        case "version":
            return [*_with_other_base(file, raw), own]
        case "source":
            return [*_uncited(file, raw["id"]), own]
    return [own]


def consequences(file: FamilyFile, table: Table, number: int) -> tuple[str, ...]:
    """What goes with a table when it is removed, in sentences."""
    raw = raw_tables(file, table.kind)[number]
    labels = {version.id: version.label for version in file.family.versions}
    said = []
    if table is FEATURE:
        speaking = [labels[version["id"]] for version in _speaking(file, raw["id"])]
        bounds = _bounds_on(file, raw["id"])
        said += [f"What {listing(speaking)} say of it goes with it."] if speaking else []
        said += [f"{count(len(bounds), 'cut-in bound')} on it go with it."] if bounds else []
    if table is VERSION:
        based = [labels[one["id"]] for one in raw_tables(file, "version") if one.get("based_on") == raw["id"]]
        said += [f"{listing(based)} will say itself what it has from it now."] if based else []
    if table.kind == "source":
        citing = [labels[one["id"]] for one in raw_tables(file, "version") if raw["id"] in one.get("sources", [])]
        bounds = [number for number, one in enumerate(raw_tables(file, "cutin")) if one.get("source") == raw["id"]]
        said += [f"{listing(citing)} will no longer cite it."] if citing else []
        said += [f"{count(len(bounds), 'cut-in bound')} will be without a source."] if bounds else []
    return tuple(said)


def _speaking(file: FamilyFile, feature: str) -> list[dict[str, Any]]:
    return [version for version in raw_tables(file, "version") if feature in version.get("states", {})]


def _without_states(file: FamilyFile, feature: str) -> list[FamilyEdit]:
    return [
        FamilyEdit("change", "version", version["id"], {"states": {feature: None}})
        for version in _speaking(file, feature)
    ]


def _bounds_on(file: FamilyFile, feature: str) -> list[int]:
    return [number for number, bound in enumerate(raw_tables(file, "cutin")) if bound["feature"] == feature]


def _without_bounds(file: FamilyFile, numbers: Sequence[int]) -> list[FamilyEdit]:
    """The last first, so that the numbers of the others stay true."""
    return [FamilyEdit("remove", "cutin", number) for number in sorted(numbers, reverse=True)]


def _with_other_base(file: FamilyFile, gone: Raw) -> list[FamilyEdit]:
    """What was based on a version that goes says itself what it had from it, and is based on what that one was."""
    steps = []
    for version in raw_tables(file, "version"):
        if version.get("based_on") == gone["id"]:
            states = {**gone.get("states", {}), **version.get("states", {})}
            changes = {"based_on": gone.get("based_on"), "states": states}
            steps.append(FamilyEdit("change", "version", version["id"], changes))
    return steps


def _uncited(file: FamilyFile, source: str) -> list[FamilyEdit]:
    steps = []
    for version in raw_tables(file, "version"):
        if source in version.get("sources", []):
            left = [one for one in version["sources"] if one != source]
            steps.append(FamilyEdit("change", "version", version["id"], {"sources": left or None}))
    for number, bound in enumerate(raw_tables(file, "cutin")):
        if bound.get("source") == source:
            steps.append(FamilyEdit("change", "cutin", number, {"source": None}))
    return steps


def move_edit(file: FamilyFile, table: Table, number: int, earlier: bool) -> FamilyEdit | None:
    """Lets a table change places with its neighbour, a version with that of its own line; None where there is none."""
    tables = raw_tables(file, table.kind)
    line = tables[number].get("line", "main")
    range_ = range(number - 1, -1, -1) if earlier else range(number + 1, len(tables))
    for other in range_:
        if table is not VERSION or tables[other].get("line", "main") == line:
            return FamilyEdit("swap", table.kind, number, other=other)
    return None


def bounds_named(file: FamilyFile, features: Sequence[str]) -> list[FamilyEdit]:
    """Steps by which every bound on these features says in full which change it means, as it is read now.

    A bound need not say so while a feature changes once; where a second change comes in, it would be ambiguous.
    """
    steps = []
    for number, (raw, bound) in enumerate(zip(raw_tables(file, "cutin"), file.family.cut_in_bounds, strict=True)):
        meant = {"from": bound.from_state, "to": bound.to_state, "line": bound.line}
        missing = {key: value for key, value in meant.items() if key not in raw}
        if bound.feature in features and missing:
            steps.append(FamilyEdit("change", "cutin", number, missing))
    return steps
