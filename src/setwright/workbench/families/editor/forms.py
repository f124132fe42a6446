"""Forms for the tables of a family file: text in, the changed keys out, what is wrong shown at its field.

A form checks only that a figure is a figure; everything else the file's reader says, and `show` brings it to the
field it speaks of.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django import forms

from setwright.files import FamilyFile, FileProblems, Problem
from setwright.files.problems import sentence
from setwright.workbench.families.editor.tables import Field, Table, minutes_key

_IN_TABLE = re.compile(r'(?P<kind>\w+) (?:"(?P<id>[^"]*)"|(?P<number>\d+)).*?, key (?P<key>[^ .]+)')
_IN_SOLE_TABLE = re.compile(r"table (\w+), key (.+)")
_AT_TOP = re.compile(r"key ([^ .]+)")
"""Places as the readers name them in `Problem.where`."""


class FigureField(forms.CharField):
    """A number, whole or not; empty is none."""

    def __init__(self, *, whole: bool, **options: Any) -> None:
        self.whole = whole
        super().__init__(**options)

    def clean(self, value: str | None) -> int | float | None:
        """The number. Raises ValidationError where there is none."""
        text = super().clean(value).strip()
        if not text:
            return None
        plain = text.replace(" ", "")
        try:
            return int(plain.replace(",", "")) if self.whole else float(plain.replace(",", ".", 1))
        except ValueError:
            example = "a whole number, such as 4000" if self.whole else "a number, such as 0.05"
            raise forms.ValidationError(f"“{text[:40]}” is no number; write {example}, or leave it empty.") from None


class LinesField(forms.CharField):
    """A list with one entry a line; blank lines do not count."""

    def clean(self, value: str | None) -> list[str]:
        """The entries, without blanks around them."""
        return [line.strip() for line in super().clean(value).splitlines() if line.strip()]


class TableForm(forms.Form):
    """The form of one table: `raw` is the table as it stands in the file, None for a new one."""

    def __init__(self, table: Table, file: FamilyFile, raw: Mapping[str, Any] | None, data: Any = None) -> None:
        super().__init__(data, initial=_initial(table, raw), label_suffix="", prefix=None)
        self.table, self.file, self.raw = table, file, raw
        for spec in table.fields:
            if not (spec.fixed and raw is not None):
                made = _form_field(spec, file)
                made.help_text = " ".join(filter(None, (spec.help, spec.told(file, raw or {}) if spec.told else "")))
                made.wide = spec.wide  # type: ignore[attr-defined]
                self.fields[spec.key] = made
        self.use_required_attribute = False

    @property
    def plain(self) -> list[Any]:
        """The fields that are always shown."""
        return [self[spec.key] for spec in self.table.fields if spec.key in self.fields and not spec.folded]

    @property
    def folded(self) -> list[Any]:
        """The fields behind the fold."""
        return [self[spec.key] for spec in self.table.fields if spec.key in self.fields and spec.folded]

    @property
    def unfold(self) -> bool:
        """Whether something behind the fold is wrong, or was given already."""
        return any(
            field.errors or field.value() not in (None, "", [], spec_default(self.table, field.name))
            for field in self.folded
        )

    def changes(self) -> dict[str, object]:
        """The keys that differ from the file: key to value, None for one to be taken out. Of a form that is valid."""
        raw, found = self.raw or {}, {}
        for spec in self.table.fields:
            if spec.key not in self.fields:
                continue
            value = self.cleaned_data[spec.key]
            value = None if value in ("", [], None) or value == spec.default else value
            if value != (None if raw.get(spec.key) in ("", [], spec.default) else raw.get(spec.key)):
                found[spec.key] = value
        return found

    def show(self, failure: FileProblems, which: str | int) -> None:
        """Bring the file's problems to the fields they speak of; what is wrong elsewhere stands above them all.

        which : the table's id, or its number from 0.
        """
        for problem in failure.problems:
            field = self._field_of(problem, which)
            self.add_error(field, problem_words(problem, at_field=field is not None, file=self.file.name))
        if failure.left_out:
            self.add_error(None, f"And {failure.left_out} more.")

    def _field_of(self, problem: Problem, which: str | int) -> str | None:
        key = ""
        if found := _IN_TABLE.match(problem.where):
            own = found["id"] == which or (isinstance(which, int) and found["number"] == str(which + 1))
            key = found["key"] if found["kind"] == self.table.kind and own else ""
        elif not self.table.kind:
            sole, top = _IN_SOLE_TABLE.match(problem.where), _AT_TOP.match(problem.where)
            key = minutes_key(sole[2]) if sole else top[1] if top else ""
        return key if key in self.fields else None


def spec_default(table: Table, key: str) -> object:
    """The format's default of a key, as a form shows it."""
    return _shown(next(spec.default for spec in table.fields if spec.key == key))


def problem_words(problem: Problem, *, at_field: bool = False, file: str = "") -> str:
    """What is wrong, as a sentence, and where, unless it stands at its field.

    file : the file that the page is about; another one is named, with the line.
    """
    elsewhere = bool(problem.file) and problem.file != file
    line = f"line {problem.line}" if elsewhere and problem.line is not None else ""
    places = [problem.file if elsewhere else "", line, "" if at_field else problem.where]
    place = ", ".join(filter(None, places))
    hint = f' Did you mean "{problem.suggestion}"?' if problem.suggestion else ""
    words = f"{place}: {sentence(problem.message)}{hint}" if place else f"{sentence(problem.message)}{hint}"
    return words[:1].upper() + words[1:]


def _initial(table: Table, raw: Mapping[str, Any] | None) -> dict[str, object]:
    return {spec.key: _shown((raw or {}).get(spec.key, spec.default)) for spec in table.fields}


def _shown(value: object) -> object:
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return value
    return "" if value is None else f"{value:g}" if isinstance(value, float) else value


def _form_field(spec: Field, file: FamilyFile) -> forms.Field:
    options: dict[str, Any] = {"label": spec.label, "help_text": spec.help, "required": spec.required}
    missing = {"required": f"{spec.label} is missing."}
    choices = list(spec.choices(file)) if spec.choices else []
    match spec.kind:
        case "whole" | "figure":
            widget = forms.TextInput({"inputmode": "numeric" if spec.kind == "whole" else "decimal", "class": "short"})
            return FigureField(whole=spec.kind == "whole", widget=widget, error_messages=missing, **options)
        case "choice":
            listed = choices if not spec.required or spec.default not in ("", None) else [("", "choose …"), *choices]
            wrong = {**missing, "invalid_choice": "Choose one of those listed."}
            return forms.ChoiceField(choices=listed, error_messages=wrong, **options)
        case "several":
            return forms.MultipleChoiceField(choices=choices, widget=forms.CheckboxSelectMultiple, **options)
        case "lines":
            return LinesField(widget=_Lines({"rows": 5}), error_messages=missing, **options)
        case "tick":
            return forms.BooleanField(**{**options, "required": False})
    field = forms.CharField(max_length=500, error_messages=missing, **options)
    if choices:
        field.widget.attrs["list"] = f"offered-{spec.key}"
        field.offered = choices  # type: ignore[attr-defined]
    return field


class _Lines(forms.Textarea):
    """Shows a list with one entry a line."""

    def format_value(self, value: Any) -> str:
        return "\n".join(value) if isinstance(value, list) else str(value or "")
