"""Reading what a set file holds beside observations and date evidence."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TypeVar

from setwright.files.case import (
    UNIT_OF,
    Case,
    Condition,
    Intake,
    Note,
    Photo,
    Reading,
    Region,
    Seen,
    Want,
)
from setwright.files.problems import ProblemList, quoted
from setwright.files.shape_check import Checked
from setwright.files.shapes import (
    ConditionShape,
    IntakeShape,
    NoteShape,
    ObservationShape,
    PhotoShape,
    ReadingShape,
    SetShape,
    WantShape,
)
from setwright.files.suggest import nearest
from setwright.files.toml.lines import Path as TomlPath
from setwright.files.toml.text import TomlFile
from setwright.identity.model import Family
from setwright.notation import NotationError, parse_date
from setwright.notation.units import QUANTITY_NAMES, UNIT_WORDS, plain_word

Value = TypeVar("Value")

_MOMENT = 'write it as "2024-05-02T19:04:00Z"'
_ROUNDING = 1e-9
"""Shares written with few digits may add up to so much more than one."""


def read_moment(text: str) -> datetime:
    """A moment with its time zone, such as 2024-05-02T19:04:00Z, in UTC; NotationError for anything else."""
    try:
        moment = datetime.fromisoformat(text.strip())
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    except (ValueError, OverflowError):
        raise NotationError(f"{quoted(text)} is no date with a time of day; {_MOMENT}") from None
    raise NotationError(f"{quoted(text)} does not say in which time zone; {_MOMENT}, where Z means Greenwich")


def read_taken(text: str) -> str:
    """A date of any precision, or a moment of local time, in ISO form; NotationError for anything else."""
    if "T" not in text and ":" not in text:
        return str(parse_date(text))
    try:
        return datetime.fromisoformat(text.strip()).isoformat()
    except ValueError:
        message = f'{quoted(text)} is no date; write it as "2024-05-02" or "2024-05-02T19:04:00"'
        raise NotationError(message) from None


def read_case(toml: TomlFile, checked: Checked[SetShape], family: Family, problems: ProblemList) -> Case:
    """The case in a set file whose shape was checked; what is wrong in it is noted."""
    return _CaseReader(toml, checked, family, problems).read()


class _CaseReader:
    def __init__(self, toml: TomlFile, checked: Checked[SetShape], family: Family, problems: ProblemList) -> None:
        self.toml = toml
        self._of = checked
        self.features = [feature.id for feature in family.features]
        self.problems = problems

    def read(self) -> Case:
        tables = self._of.tables
        return Case(
            name=self._of.shape.name or "",
            intake=self._intake(self._of.shape.intake),
            condition=tuple(self._condition(path, table) for path, table in tables("condition")),
            seen=tuple(self._seen(path, table) for path, table in tables("observation")),
            photos=tuple(self._photo(path, table) for path, table in tables("photo")),
            readings=tuple(self._reading(path, table) for path, table in tables("reading")),
            notes=tuple(self._note_table(path, table) for path, table in tables("note")),
            wants=tuple(_want(table) for _, table in tables("want")),
        )

    def _note(self, place: TomlPath, message: str, suggestion: str | None = None) -> None:
        self.problems.add(self.toml.where(place), message, line=self.toml.line(place), suggestion=suggestion)

    def _given(self, place: TomlPath, text: str | None, read: Callable[[str], Value]) -> Value | None:
        if not text:
            return None
        try:
            return read(text)
        except NotationError as error:
            self._note(place, error.message, error.suggestion)
            return None

    def _feature(self, place: TomlPath, feature: str | None) -> str | None:
        if feature is not None and feature not in self.features:
            self._note(place, f"the family has no feature {quoted(feature)}", nearest(feature, self.features))
        return feature

    def _intake(self, table: IntakeShape) -> Intake:
        return Intake(
            on=self._given(("intake", "on"), table.on, parse_date),
            from_whom=table.from_whom,
            place=table.place,
            price=table.price,
            by=table.by,
            provenance=table.provenance,
            missing=tuple(table.missing),
            came_with=tuple(table.came_with),
        )

    def _condition(self, path: TomlPath, table: ConditionShape) -> Condition:
        if not table.text.strip():
            self._note((*path, "text"), "the text is empty; say in what condition the area is")
        return Condition(table.area, table.text, self._given((*path, "on"), table.on, parse_date))

    def _seen(self, path: TomlPath, table: ObservationShape) -> Seen:
        return Seen(self._given((*path, "seen_at"), table.seen_at, read_moment), table.seen_by)

    def _photo(self, path: TomlPath, table: PhotoShape) -> Photo:
        return Photo(
            sha256=table.sha256,
            name=table.name,
            caption=table.caption,
            feature=self._feature((*path, "feature"), table.feature),
            region=self._region((*path, "region"), table.region),
            taken=self._given((*path, "taken"), table.taken, read_taken) or "",
            added_at=self._given((*path, "added_at"), table.added_at, read_moment),
            added_by=table.added_by,
        )

    def _region(self, place: TomlPath, shares: list[float] | None) -> Region | None:
        if shares is None:
            return None
        try:
            return region_of(shares)
        except NotationError as error:
            self._note(place, error.message)
            return None

    def _reading(self, path: TomlPath, table: ReadingShape) -> Reading:
        unit, known = UNIT_OF[table.quantity], UNIT_WORDS.get(plain_word(table.unit))
        if known is None or known[0] != unit:
            examples = {"V": "V or mV", "A": "mA or A", "ohm": "ohm, kohm or megohm"}[unit]
            message = f"{quoted(table.unit)} is no unit of {QUANTITY_NAMES[unit]}; write {examples}"
            self._note((*path, "unit"), message)
        return Reading(
            point=table.point,
            quantity=table.quantity,
            value=table.value,
            unit=table.unit,
            meter=table.meter,
            condition=table.condition,
            accuracy=table.accuracy,
            resolution=table.resolution,
            line_volts=table.line_volts,
            reference=table.reference,
            on=self._given((*path, "on"), table.on, parse_date),
        )

    def _note_table(self, path: TomlPath, table: NoteShape) -> Note:
        if not table.text.strip():
            self._note((*path, "text"), "the text is empty; write the note, or leave it out")
        about = self._feature((*path, "about"), table.about)
        return Note(table.text, self._given((*path, "at"), table.at, read_moment), table.by, about)


def region_of(shares: list[float]) -> Region:
    """A region from left, top, width and height as shares; NotationError where it does not lie in the picture."""
    x, y, width, height = shares
    if width <= 0 or height <= 0:
        raise NotationError("the region has no size; give left, top, width and height as shares from 0 to 1")
    if x + width > 1 + _ROUNDING or y + height > 1 + _ROUNDING:
        raise NotationError(
            "the region reaches beyond the picture; left and width, and top and height, add up to 1 at most"
        )
    return Region(x, y, width, height)


def _want(table: WantShape) -> Want:
    return Want(table.what, table.part, table.note, table.found)
