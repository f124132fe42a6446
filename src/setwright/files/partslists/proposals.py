"""A family file from a comparison of parts lists: the text of a new file."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Collection, Mapping

import tomlkit

from setwright.files.partslists.comparison import Comparison, Proposal, feature_id
from setwright.files.partslists.reading import PartsList
from setwright.files.shapes import FAMILY_FORMAT

_HEADER = """\
# Proposed from parts lists by `setwright compare`. Read every feature over: access and permanence are what is usual for
# such a part, and a list may be wrong or silent. Then check the file with `setwright check`.
#
# Strong evidence is what is seldom altered after the factory. Add what you know of stamped, wired and riveted things
# (labels, stampings, sockets, holes, lead dress), give the tubes little weight, and the capacitors that wear out least.
#
# access      outside | back off | chassis out | underside | powered | lead lifted
# permanence  stamped (also printed and glued on) | riveted (sockets, cans, holes) | soldered (also how a lead is run)
#             | plugged (tubes, knobs) | consumable (paper and electrolytic capacitors, lamps)
# A feature is a [[feature]] table like those below; each version then says its state under [version.states].

"""
_SERIALS = """\
# first_serial = 1              # where the family's serials begin
# last_serial = 60000           # the largest serial thought possible; leave it out where it is not known
# introduced = "1948-03"        # year, month, week (1948-W31) or day
# discontinued = "1950-06"
"""
_WIDTH = 110


def slug(text: str, fallback: str = "version") -> str:
    """An id made of a label: small letters, digits and dashes.

    >>> slug("Early production, 1st printing")
    'early-production-1st-printing'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")
    return plain[:60].strip("-") or fallback


def unused(wanted: str, taken: Collection[str]) -> str:
    """The id wanted, with a number behind it where it is taken."""
    candidates = (wanted if number == 1 else f"{wanted}-{number}" for number in range(1, len(taken) + 2))
    return next(candidate for candidate in candidates if candidate not in taken)


def quoted_toml(text: str) -> str:
    """The text as a TOML string."""
    return tomlkit.item(text).as_string()


def new_family_text(comparison: Comparison, family_id: str, name: str, kind: str = "radio") -> str:
    """The whole text of a family file with a feature for each proposal and a version for each list.

    kind : "radio", "television", "test gear", "amplifier" or "other".
    """
    ids = version_ids(comparison)
    states = [states_in(comparison, index) for index in range(len(comparison.lists))]
    head = [
        f'format = "{FAMILY_FORMAT}"',
        f"id = {quoted_toml(family_id)}",
        f"name = {quoted_toml(name)}",
        f"kind = {quoted_toml(kind)}",
    ]
    tables = [
        *(source_table(ids[index], parts_list) for index, parts_list in enumerate(comparison.lists)),
        *(feature_table(proposal, feature_id(proposal.reference)) for proposal in comparison.proposals),
        *version_tables(comparison, ids, states),
    ]
    return _HEADER + "\n".join(head) + "\n" + _SERIALS + "\n" + "\n".join(tables)


def version_ids(comparison: Comparison) -> list[str]:
    """An id for the version of each list, made of its label."""
    ids: list[str] = []
    for parts_list in comparison.lists:
        ids.append(unused(slug(parts_list.label), ids))
    return ids


def source_id(version_id: str) -> str:
    """The id of the source that a version's parts list is."""
    return f"parts-list-{version_id}"


def source_table(version_id: str, parts_list: PartsList) -> str:
    """The list itself as a source."""
    title = f"Parts list, {parts_list.label}"
    return f'[[source]]\nid = {quoted_toml(source_id(version_id))}\ntitle = {quoted_toml(title)}\n# page = "3"\n'


def comment(text: str) -> list[str]:
    """The text as comment lines."""
    return [f"# {line}" for line in textwrap.wrap(text, _WIDTH, break_long_words=False, break_on_hyphens=False)]


def feature_table(proposal: Proposal, name: str) -> str:
    """One proposed feature as a table, its notes as comments above it."""
    kind = proposal.kind
    rows = [
        *(line for note in proposal.notes for line in comment(f"{note[0].upper()}{note[1:]}.")),
        "[[feature]]",
        f"id = {quoted_toml(name)}",
        f"label = {quoted_toml(proposal.label)}",
        *([f"group = {quoted_toml(kind.group)}"] if kind.group != "chassis" else []),
        f"access = {quoted_toml(kind.access)}",
        f"permanence = {quoted_toml(kind.permanence)}",
        f"part = {quoted_toml(proposal.reference)}",
        *([f"unit = {quoted_toml(proposal.unit)}"] if proposal.unit else []),
        *([f"tolerance = {proposal.tolerance:g}"] if proposal.tolerance else []),
        f"states = [{', '.join(quoted_toml(state) for state in proposal.states)}]",
    ]
    return "\n".join(rows) + "\n"


def states_in(comparison: Comparison, index: int) -> dict[str, str]:
    """The state of each proposed feature in one list; what the list is silent about is left out."""
    found = ((feature_id(proposal.reference), proposal.by_list[index]) for proposal in comparison.proposals)
    return {name: state for name, state in found if state is not None}


def version_tables(comparison: Comparison, ids: list[str], states: list[dict[str, str]]) -> list[str]:
    """The versions in production order. A list of changes is based on the version before it."""
    tables = []
    for index, parts_list in enumerate(comparison.lists):
        based_on = ids[index - 1] if index in comparison.changes_only and index else None
        own = states[index]
        if based_on is not None:
            own = {name: state for name, state in own.items() if states[index - 1].get(name) != state}
        tables.append(version_table(ids[index], parts_list.label, own, based_on=based_on))
    return tables


def version_table(
    version_id: str, label: str, states: Mapping[str, str], *, based_on: str | None = None, line: str | None = None
) -> str:
    """One version. States stand on one line where they fit, else in a table of their own below it."""
    rows = ["[[version]]", f"id = {quoted_toml(version_id)}", f"label = {quoted_toml(label)}"]
    rows += [f"line = {quoted_toml(line)}"] if line else []
    rows += [f"based_on = {quoted_toml(based_on)}"] if based_on else []
    rows += [f"sources = [{quoted_toml(source_id(version_id))}]"]
    pairs = [f"{name} = {quoted_toml(state)}" for name, state in states.items()]
    inline = f"states = {{ {', '.join(pairs)} }}" if pairs else "states = {}"
    if len(inline) <= _WIDTH:
        return "\n".join([*rows, inline]) + "\n"
    return "\n".join([*rows, "", "[version.states]", *pairs]) + "\n"
