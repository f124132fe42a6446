"""Reading a set file: one set and what was seen of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

import tomlkit

from setwright.files.case import Case
from setwright.files.case_reading import read_case
from setwright.files.dates import DateEvidence, check_code, check_scheme
from setwright.files.problems import ProblemList, listing, quoted
from setwright.files.serials import NoPlace, in_range, plain_serial
from setwright.files.shape_check import Checked, check_shape
from setwright.files.shapes import SET_FORMAT, DateEvidenceShape, ObservationShape, SetShape
from setwright.files.source_text import SET_LIMIT, load
from setwright.files.states import StateProblem, read_state
from setwright.files.suggest import nearest
from setwright.files.toml.lines import Path as TomlPath
from setwright.files.toml.text import TomlFile, check_format, read_toml
from setwright.identity.model import BenchSet, Family, Observation
from setwright.notation import NotationError, parse_date


@dataclass(frozen=True)
class SetFile:
    """A set file that was read without a problem.

    `set` is what identity works on, `date_evidence` what dating works on, `case` everything else that the file
    tells of the set, `text` the file as it stands.
    """

    name: str
    text: str
    set: BenchSet
    date_evidence: tuple[DateEvidence, ...] = ()
    case: Case = field(default_factory=Case)

    @cached_property
    def document(self) -> tomlkit.TOMLDocument:
        """The text with comments and order, for editing."""
        return tomlkit.parse(self.text)


def read_set(path_or_bytes: str | Path | bytes, family: Family, name: str | None = None) -> SetFile:
    """Read a set file of format setwright-set/1 against its family.

    path_or_bytes : the file, or its content. name : what messages call it, default the path.

    Raises FileProblems with everything that is wrong; nothing is taken in then.
    """
    toml = read_toml(load(path_or_bytes, name, SET_LIMIT, "set"))
    problems = ProblemList(toml.name)
    check_format(toml, SET_FORMAT, problems)
    checked = check_shape(SetShape, toml, problems)
    reader = _SetReader(toml, checked, family, problems)
    bench, evidence = reader.read()
    case = read_case(toml, checked, family, problems)
    problems.raise_if_any()
    return SetFile(toml.name, toml.text, bench, evidence, case)


def family_id_of(path_or_bytes: str | Path | bytes, name: str | None = None) -> str | None:
    """The family that a set file names, None where it names none; FileProblems where the file cannot be read."""
    given = read_toml(load(path_or_bytes, name, SET_LIMIT, "set")).data.get("family")
    return given if isinstance(given, str) else None


class _SetReader:
    def __init__(self, toml: TomlFile, checked: Checked[SetShape], family: Family, problems: ProblemList) -> None:
        self.toml = toml
        self.checked = checked
        self.family = family
        self.problems = problems

    def read(self) -> tuple[BenchSet, tuple[DateEvidence, ...]]:
        shape = self.checked.shape
        if "family" in self.toml.data and shape.family not in (self.family.id, "?"):
            given, wanted = quoted(shape.family), quoted(self.family.id)
            message = f"the set belongs to family {given}; it is read against family {wanted}"
            self._note(("family",), message)
            # Against another family nothing else in the file would fit either.
            raise self.problems.failure()
        line = self._line()
        observations = [self._observation(path, table) for path, table in self.checked.tables("observation")]
        evidence = [self._date_evidence(path, table) for path, table in self.checked.tables("date_evidence")]
        bench = BenchSet(
            id=shape.id,
            family=shape.family,
            serial=self._serial(line),
            line=line,
            open_to=shape.open_to,
            observations=tuple(item for item in observations if item is not None),
        )
        return bench, tuple(item for item in evidence if item is not None)

    def _note(self, place: TomlPath, message: str, suggestion: str | None = None) -> None:
        self.problems.add(self.toml.where(place), message, line=self.toml.line(place), suggestion=suggestion)

    def _line(self) -> str | None:
        line = self.checked.shape.line
        if not line:
            return None
        if line not in self.family.line_ids:
            message = f"the family has no line {quoted(line)}; its lines are {listing(self.family.line_ids, 'and')}"
            self._note(("line",), message, nearest(line, self.family.line_ids))
            return None
        return line

    def _serial(self, line: str | None) -> str | None:
        """The serial as written, once it fits somewhere."""
        text = self.checked.shape.serial
        if not text or not text.strip():
            return None
        try:
            serial = plain_serial(text)
            if not in_range(self.family, serial, line):
                raise NoPlace(self.family, serial, line)
        except NotationError as error:
            self._note(("serial",), error.message, error.suggestion)
            return None
        return text.strip()

    def _observation(self, path: TomlPath, table: ObservationShape) -> Observation | None:
        feature = {item.id: item for item in self.family.features}.get(table.feature)
        if feature is None:
            message = f"the family has no feature {quoted(table.feature)}"
            close = nearest(table.feature, [item.id for item in self.family.features])
            self._note((*path, "feature"), message, close)
        if table.how is not None and feature is not None and feature.unit is None:
            message = f"only a value is marked or measured, and {quoted(table.feature)} has no unit; leave how out"
            self._note((*path, "how"), message)
        if table.state is None and not (table.cannot_tell or table.serviced) and "state" not in self._raw(path):
            self._note(path, "the key state is missing; give it, or cannot_tell = true if it cannot be decided")
        if table.state is not None and table.cannot_tell:
            message = "state and cannot_tell = true exclude each other; keep the one that is meant"
            self._note((*path, "cannot_tell"), message)
            return None
        if feature is None:
            return None
        observation = Observation(
            feature=table.feature,
            state=None,
            sure=table.sure,
            serviced=table.serviced,
            cannot_tell=table.cannot_tell,
            written=table.state or "",
            note=table.note,
            source=table.source,
        )
        if table.state is None:
            return observation
        try:
            seen = read_state(
                feature,
                table.state,
                measured=table.how == "measured",
                m_means_thousand=self.checked.shape.m_means_thousand,
            )
        except StateProblem as error:
            self._note((*path, "state"), error.message, error.suggestion)
            return None
        return replace(observation, state=seen.state, drift=seen.drift)

    def _raw(self, path: TomlPath) -> dict[str, object]:
        """The table as it stands in the file, refused keys included."""
        raw: dict[str, object] = self.toml.data[str(path[0])][path[1]]
        return raw

    def _date_evidence(self, path: TomlPath, table: DateEvidenceShape) -> DateEvidence | None:
        before = len(self.problems)
        raw = self._raw(path)
        if "date" in raw and "code" in raw:
            self._note((*path, "code"), "date and code exclude each other; keep the one that was read")
        if "date" not in raw and "code" not in raw:
            codes = ", or code as it was read" if table.kind == "part" else ""
            self._note(path, f'the date is missing; give date = "1948-08-17", or less of it{codes}')
        if table.kind == "part" and "part" not in raw:
            self._note(path, 'the key part is missing; say which part carries the date, such as part = "speaker"')
        for key in ("code", "part"):
            if table.kind != "part" and key in raw:
                self._note((*path, key), f'{key} goes only with kind = "part"')
        if "scheme" in raw and "code" not in raw:
            self._note((*path, "scheme"), "scheme says how a code is made up, and there is no code")
        date = self._checked(path, "date", table.date)
        self._checked(path, "code", table.code)
        self._checked(path, "scheme", table.scheme)
        if len(self.problems) > before:
            return None
        interval = None if date is None else parse_date(date)
        return DateEvidence(table.kind, interval, table.code, table.scheme, table.part)

    def _checked(self, path: TomlPath, key: str, text: str | None) -> str | None:
        if text is None:
            return None
        check = {"date": parse_date, "code": check_code, "scheme": check_scheme}[key]
        try:
            check(text)
        except NotationError as error:
            self._note((*path, key), error.message, error.suggestion)
        return text
