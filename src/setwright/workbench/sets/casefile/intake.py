"""A set comes in: the short form at the door, and the whole intake afterwards."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import Any

import tomlkit
from django import forms

from setwright.files import SetFile
from setwright.files.shapes import SET_FORMAT
from setwright.identity.model import Family
from setwright.notation import NotationError
from setwright.notation.serials import parse_serial
from setwright.workbench.sets.casefile.fields import DateText, Lines
from setwright.workbench.site.words import line_words

LONGEST_KEY = 60


class Came(forms.Form):
    """What both forms ask."""

    name = forms.CharField(
        label="What you call it", max_length=200, help_text="Such as “The one from the mill”. It can be changed later."
    )
    serial = forms.CharField(
        label="Serial, as read",
        required=False,
        max_length=60,
        help_text="? for a character that cannot be read, * for any number of them: 71?08, *623.",
    )
    on = DateText(label="When it came in")
    from_whom = forms.CharField(label="From whom or where", required=False, max_length=500)
    price = forms.CharField(label="Price", required=False, max_length=60, help_text="As paid, with its currency.")

    def clean_serial(self) -> str:
        """The serial as written, once it is one."""
        text: str = self.cleaned_data["serial"]
        if text:
            try:
                parse_serial(text)
            except NotationError as error:
                raise forms.ValidationError(error.message) from error
        return text

    def intake(self) -> dict[str, object]:
        """The keys of the intake; None where one is left out."""
        given = self.cleaned_data
        return {"on": given["on"] or None, "from": given["from_whom"] or None, "price": given["price"] or None}


class ArrivalForm(Came):
    """A set came in."""

    family = forms.ChoiceField(label="Family")

    field_order = ("family", "name", "serial", "on", "from_whom", "price")

    def __init__(self, data: Any = None, *, families: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(data, **options)
        field = self.fields["family"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = families if len(families) == 1 else [("", "Choose its family"), *families]

    def text(self, key: str) -> str:
        """The file of the new set."""
        given = self.cleaned_data
        document = tomlkit.document()
        for name, value in (("format", SET_FORMAT), ("id", key), ("family", given["family"]), ("name", given["name"])):
            document.add(name, value)
        if given["serial"]:
            document.add("serial", given["serial"])
        intake = {name: value for name, value in self.intake().items() if value is not None}
        if intake:
            document.add(tomlkit.nl())
            document.add("intake", intake)
        return tomlkit.dumps(document)


class IntakeForm(Came):
    """The whole intake, with what identifies the set."""

    line = forms.ChoiceField(label="Line", required=False)
    place = forms.CharField(label="Place", required=False, max_length=500)
    by = forms.CharField(label="Taken in by", required=False, max_length=200)
    missing = Lines(label="What is missing", help_text="One thing a line.")
    came_with = Lines(label="What came with it", help_text="One thing a line: papers, spare tubes, the box.")
    provenance = forms.CharField(
        label="What is known of its past",
        required=False,
        max_length=50_000,
        widget=forms.Textarea(attrs={"rows": 6}),
    )

    field_order = ("name", "serial", "line", "on", "from_whom", "place", "price", "by")

    def __init__(self, data: Any = None, *, family: Family, file: SetFile) -> None:
        super().__init__(data, initial=_present(file))
        self.fields["name"].required = False
        if len(family.lines) < 2:
            del self.fields["line"]
            return
        field = self.fields["line"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "not known"), *((line, line_words(line)) for line in family.line_ids)]

    def top(self) -> dict[str, object]:
        """The keys at the top of the file; None where one is left out."""
        names = [name for name in ("name", "serial", "line") if name in self.fields]
        return {name: self.cleaned_data[name] or None for name in names}

    def intake(self) -> dict[str, object]:
        """All keys of the intake."""
        names = ("place", "by", "provenance", "missing", "came_with")
        return {**super().intake(), **{name: self.cleaned_data[name] or None for name in names}}


def _present(file: SetFile) -> dict[str, object]:
    """What stands in the fields now."""
    intake = file.case.intake
    return {
        "name": file.case.name,
        "serial": file.set.serial or "",
        "line": file.set.line or "",
        "on": "" if intake.on is None else intake.on.text,
        "from_whom": intake.from_whom,
        "place": intake.place,
        "price": intake.price,
        "by": intake.by,
        "provenance": intake.provenance,
        "missing": "\n".join(intake.missing),
        "came_with": "\n".join(intake.came_with),
    }


def key_from(name: str, taken: Callable[[str], bool]) -> str:
    """An id made from a name: small letters, digits and hyphens; with a number behind it where it is taken.

    >>> key_from("The one from Évora, № 2!", lambda key: False)
    'the-one-from-evora-no-2'
    >>> key_from("mill", {"mill", "mill-2"}.__contains__)
    'mill-3'
    >>> key_from("…", lambda key: False)
    'set'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    key = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:LONGEST_KEY].strip("-") or "set"
    if not taken(key):
        return key
    number = 2
    while taken(f"{key}-{number}"):
        number += 1
    return f"{key}-{number}"
