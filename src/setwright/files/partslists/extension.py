"""A family file extended by a comparison of parts lists, everything else in it left as it stands.

New tables go in behind the last one of their kind. Where a table has to change (a further state, a version's further
entries), that table alone is edited; comments, order and spacing of the rest are not touched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import log
from typing import Any

from setwright.files.families.reading import FamilyFile
from setwright.files.partslists.aspects import ASPECTS, parts_of, states_of, word_set
from setwright.files.partslists.comparison import Comparison, Proposal, feature_id
from setwright.files.partslists.lines import ListedPart, plain_reference
from setwright.files.partslists.proposals import feature_table, slug, source_id, source_table, unused, version_table
from setwright.files.partslists.states import PRESENT
from setwright.files.suggest import squeezed
from setwright.files.toml.blocks import TomlBlocks, add_entries
from setwright.identity.model import ABSENT, MAIN_LINE, Feature, Version
from setwright.notation import NotationError, parse_part_value

_ASPECTS_OF_UNIT = {"F": ("value",), "ohm": ("value",), "H": ("value",), "V": ("volts",), "W": ("watts",), "A": ()}
_ASPECTS_OF_WORDS = ("tube", "made", "number", "words", "value")


@dataclass(frozen=True, slots=True)
class Extension:
    """The new text of the family file, and what was done and what was not, in whole sentences."""

    text: str
    notes: tuple[str, ...]


def extend_family(file: FamilyFile, comparison: Comparison, line: str | None = None) -> Extension:
    """Add what a comparison proposes to a family file that was read without a problem.

    A part that a feature of the file names already gets no second feature: its states are looked up in the lists,
    and new ones added behind those listed. A list whose label is that of a version fills what that version does not
    say yet and changes nothing it says. line : the line of new versions, the main line where none is given.
    """
    return _Extender(file, comparison, line).extend()


@dataclass
class _Extender:
    file: FamilyFile
    comparison: Comparison
    line: str | None
    notes: list[str] = field(default_factory=list)
    new_states: dict[str, list[str]] = field(default_factory=dict)
    new_features: list[str] = field(default_factory=list)
    by_version: list[dict[str, str]] = field(default_factory=list)

    def extend(self) -> Extension:
        self.by_version = [{} for _ in self.comparison.lists]
        known = self._features_by_part()
        for reference, feature in known.items():
            self._take_known(reference, feature)
        for proposal in self.comparison.proposals:
            if proposal.reference not in known:
                self._take_new(proposal)
        blocks = TomlBlocks(self.file.text)
        for name, states in self.new_states.items():
            blocks.edit("feature", _index_of(self.file.family.features, name), _adds_states(states))
        blocks.insert_after_last("feature", self.new_features, before=("version", "cutin"))
        told = self._extend_versions(blocks)
        self._name_bounded_changes(blocks, told)
        return Extension(blocks.text(), tuple(self.notes))

    def _features_by_part(self) -> dict[str, Feature]:
        """The features of the file by the part they name; one without a part by its id, where that is a reference."""
        named = {reference for parts_list in self.comparison.lists for reference in parts_list.parts}
        known: dict[str, Feature] = {}
        for feature in self.file.family.features:
            reference = plain_reference(feature.part or feature.id)
            if reference in named:
                known.setdefault(reference, feature)
        return known

    def _take_new(self, proposal: Proposal) -> None:
        taken = {feature.id for feature in self.file.family.features} | {
            name for states in self.by_version for name in states
        }
        name = unused(feature_id(proposal.reference), taken)
        self.new_features.append(feature_table(proposal, name))
        for states, state in zip(self.by_version, proposal.by_list, strict=True):
            if state is not None:
                states[name] = state

    def _take_known(self, reference: str, feature: Feature) -> None:
        """Find the states of a feature the file has already, in the words the file lists them in."""
        parts = parts_of(reference, self.comparison.lists, self.comparison.changes_only)
        aspects = _ASPECTS_OF_UNIT[feature.unit] if feature.unit else _ASPECTS_OF_WORDS
        matched = {aspect: self._matched(feature, aspect, parts) for aspect in aspects}
        fitting = [aspect for aspect, states in matched.items() if set(states) & set(feature.states) - {ABSENT}]
        if not fitting:
            self.notes.append(
                f'Feature "{feature.id}" is about {reference}; nothing the lists say of it is among its states, '
                "so it is left as it is."
            )
            return
        self._note_other_aspect(reference, feature, fitting[0])
        for states, state in zip(self.by_version, matched[fitting[0]], strict=True):
            if state is not None and self._accept(feature, state):
                states[feature.id] = state

    def _note_other_aspect(self, reference: str, feature: Feature, aspect: str) -> None:
        for proposal in self.comparison.proposals:
            further = len(set(proposal.states) - {ABSENT}) > 1
            if proposal.reference == reference and proposal.aspect != aspect and further:
                self.notes.append(
                    f'{reference}: {" / ".join(proposal.states)} differ too; feature "{feature.id}" is about that part '
                    "already, so no second feature is made of it."
                )

    def _matched(self, feature: Feature, aspect: str, parts: Sequence[ListedPart | None]) -> list[str | None]:
        """Each list's state as the feature lists it; one that is not listed as the lists write it."""
        matched: list[str | None] = []
        for part, state in zip(parts, states_of(aspect, parts), strict=True):
            if part is None or state is None:
                matched.append(state)
                continue
            if aspect == "words":
                matched.append(_listed_wording(feature, part.words, state))
                continue
            said = ASPECTS[aspect](part)
            value = said.key if said and isinstance(said.key, float) else None
            matched.append(_listed_value(feature, value, state) if feature.unit else _listed_word(feature, state))
        return matched

    def _accept(self, feature: Feature, state: str) -> bool:
        """Whether a state may be said of the feature: it is listed, or can be added behind those listed."""
        added = self.new_states.get(feature.id, [])
        if state in feature.states or state in added:
            return True
        if feature.unit and state != ABSENT and not _far_enough(feature, added, state):
            note = (
                f'Feature "{feature.id}": "{state}" lies too close to a state it lists to be added with its tolerance '
                f"{feature.tolerance:g}; the version is left silent. Give the feature a smaller tolerance and add it."
            )
            self.notes += [note] if note not in self.notes else []
            return False
        self.new_states[feature.id] = [*added, state]
        return True

    def _known_version(self, label: str) -> Version | None:
        """The version of the file that a list is about: the one of that id or label."""
        versions = self.file.family.versions
        return next((one for one in versions if one.id == slug(label) or one.label == label), None)

    def _line_of_new_versions(self) -> str | None:
        """The line asked for, else that of the versions the lists name, else the file's only line; None for main."""
        known = [self._known_version(parts_list.label) for parts_list in self.comparison.lists]
        lines = {version.line for version in known if version} or {one.line for one in self.file.family.versions}
        line = self.line or (lines.pop() if len(lines) == 1 else MAIN_LINE)
        return None if line == MAIN_LINE else line

    def _note_order(self) -> None:
        known = [self._known_version(parts_list.label) is not None for parts_list in self.comparison.lists]
        if any(not one and any(known[index + 1 :]) for index, one in enumerate(known)):
            self.notes.append(
                "Versions stand in production order: the new ones were put behind those of the file; move them by hand "
                "where they belong earlier."
            )

    def _name_bounded_changes(self, blocks: TomlBlocks, told: set[str]) -> None:
        """A bound that needed not say which change it means says so now, where there may be further ones.

        told : the features that versions say more about than before.
        """
        for index, bound in enumerate(self.file.family.cut_in_bounds):
            if bound.feature in told:
                meant = {"from": bound.from_state, "to": bound.to_state, "line": bound.line}
                blocks.edit("cutin", index, _adds_keys(meant))

    def _extend_versions(self, blocks: TomlBlocks) -> set[str]:
        """Fill the versions the file has and add the others; the features that more is said about than before."""
        versions = self.file.family.versions
        line = self._line_of_new_versions()
        self._note_order()
        taken = {version.id for version in versions}
        sources = {source.id for source in self.file.family.sources}
        new_sources, tables, before = [], [], ""
        told: set[str] = set()
        for index, parts_list in enumerate(self.comparison.lists):
            name, states = slug(parts_list.label), self.by_version[index]
            known = self._known_version(parts_list.label)
            if known is not None:
                told |= self._fill(blocks, known, states)
                before = known.id
                continue
            name = unused(name, taken)
            taken.add(name)
            if source_id(name) not in sources:
                new_sources.append(source_table(name, parts_list))
            based_on = before if index in self.comparison.changes_only and before else None
            tables.append(version_table(name, parts_list.label, states, based_on=based_on, line=line))
            told |= set(states)
            before = name
        self._note_silent_versions()
        blocks.insert_after_last("source", new_sources, before=("feature", "version", "cutin"))
        blocks.insert_after_last("version", tables, before=("cutin",))
        return told

    def _note_silent_versions(self) -> None:
        """Versions of the file whose lists were not given say nothing about what is new."""
        named = {version.id for one in self.comparison.lists if (version := self._known_version(one.label))}
        silent = [version.id for version in self.file.family.versions if version.id not in named]
        if silent and self.new_features:
            self.notes.append(
                f"Nothing is said about the new features in {', '.join(silent)}: compare their parts lists too, "
                "or fill in what you know."
            )

    def _fill(self, blocks: TomlBlocks, version: Version, states: Mapping[str, str]) -> set[str]:
        """Add to a version of the file what it does not say yet; the features concerned."""
        missing = {name: state for name, state in states.items() if name not in version.states}
        for name, state in states.items():
            if version.states.get(name, state) != state:
                self.notes.append(
                    f'Version "{version.id}" says {name} = "{version.states[name]}", its parts list "{state}"; '
                    "the version is left as it is."
                )
        if missing:
            blocks.edit("version", _index_of(self.file.family.versions, version.id), _adds_entries(missing))
        return set(missing)


def _index_of(items: Iterable[Feature | Version], name: str) -> int:
    return next(index for index, item in enumerate(items) if item.id == name)


def _adds_states(states: Sequence[str]) -> Callable[[Any], None]:
    def add(table: Any) -> None:
        for state in states:
            table["states"].append(state)

    return add


def _adds_entries(entries: Mapping[str, str]) -> Callable[[Any], None]:
    return lambda table: add_entries(table, "states", entries)


def _adds_keys(entries: Mapping[str, str]) -> Callable[[Any], None]:
    def add(table: Any) -> None:
        for key, text in entries.items():
            if key not in table:
                table[key] = text

    return add


def _listed_value(feature: Feature, value: float | None, written: str) -> str | None:
    """The listed state a value matches within the feature's tolerance, else the value as written."""
    if value is None:
        return None
    for state, listed in zip(feature.states, feature.values, strict=True):
        if listed is not None and abs(log(value / listed)) <= log(1 + feature.tolerance) + 1e-9:
            return state
    return written


def _far_enough(feature: Feature, added: Iterable[str], written: str) -> bool:
    """Whether a value lies more than twice the feature's tolerance from the listed states and from those added."""
    try:
        value, *others = (parse_part_value(state, feature.unit).value for state in (written, *added) if state != ABSENT)
    except NotationError:
        return False
    apart = [abs(log(value / other)) for other in (*others, *feature.values) if other is not None]
    return min(apart, default=1e9) > 2 * log(1 + feature.tolerance) + 1e-9


def _listed_word(feature: Feature, written: str) -> str:
    plain = squeezed(written)
    return next((state for state in feature.states if squeezed(state) == plain), written)


def _listed_wording(feature: Feature, words: str, written: str) -> str:
    """The listed state all of whose words a description holds, the one with most words; else the description."""
    said = word_set(words)
    fitting = [state for state in feature.states if word_set(state) and word_set(state) <= said]
    unlisted = PRESENT if PRESENT in feature.states else written
    return max(fitting, key=lambda state: len(word_set(state)), default=unlisted)
