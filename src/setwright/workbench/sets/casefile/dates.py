"""What dates a set: the form of a stamp, a dated part or a document, and its words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from django import forms

from setwright.chronology.model import Evidence
from setwright.files.dates import check_code, check_scheme
from setwright.notation import NotationError
from setwright.reference import part_code_schemes
from setwright.workbench.sets.casefile.fields import DateText, perhaps
from setwright.workbench.sets.casefile.forms import EntryForm

KINDS = {
    "stamp": "A stamp or a pencilled date: when the set was finished",
    "part": "A part with a date or a date code",
    "document": "A document: the set was there by then at the latest",
}
OWN = "own"
"""Choice of a make-up that is written down field by field."""


class DateEvidenceForm(EntryForm):
    """A stamp, a dated part or a document."""

    start: ClassVar[Mapping[str, object]] = {"kind": "part"}

    kind = forms.ChoiceField(label="What carries the date", choices=list(KINDS.items()), widget=forms.RadioSelect)
    part = forms.CharField(
        label="Which part, if it is one",
        required=False,
        max_length=100,
        help_text="Such as speaker, volume control, power transformer: in the words of the register of survivors.",
    )
    date = DateText(label="The date, where it stands there plainly", help_text="1949, 1949-08, 1949-W33, 1949-08-17.")
    code = forms.CharField(
        label="Or the part's date code, as it reads",
        required=False,
        max_length=40,
        help_text="With the maker's figures, if they are there. A question mark stands for what is illegible.",
        widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"}),
    )
    scheme = forms.ChoiceField(label="How the code is made up", required=False)
    own_scheme = forms.CharField(
        label="Made up otherwise",
        required=False,
        max_length=40,
        help_text="Its fields in their order, joined by dashes: other2-month-year2 is two signs that are no date, then "
        "month, then two figures of the year. Fields: maker, year, month, week, day, quarter, other.",
    )

    def prepare(self) -> None:
        """The make-ups of codes that are known."""
        known = [(name, f"{name}: {scheme.meaning}") for name, scheme in part_code_schemes().items()]
        field = self.fields["scheme"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "not known: every usual one counts"), *known, (OWN, "otherwise, as written below")]

    def present(self, entry: Evidence) -> dict[str, object]:
        """The entry's fields."""
        own = entry.scheme is not None and entry.scheme not in part_code_schemes()
        return {
            "kind": entry.kind,
            "part": entry.part or "",
            "code": entry.code or "",
            "date": "" if entry.date is None else entry.date.text,
            "scheme": OWN if own else entry.scheme or "",
            "own_scheme": entry.scheme if own else "",
        }

    def clean_part(self) -> str:
        """The part as files name it."""
        return "-".join(str(self.cleaned_data["part"]).lower().replace(".", " ").split())

    def clean(self) -> dict[str, Any]:
        """Whether what is given goes together."""
        given = super().clean() or {}
        if self.errors:
            return given
        if given["kind"] == "part":
            self._clean_dated_part(given)
        else:
            for name in ("part", "code"):
                if given[name]:
                    self.add_error(name, "This goes with a dated part only; leave it out, or say that it is a part.")
            if not given["date"]:
                self.add_error("date", "Write down the date, as far as it can be read.")
        return given

    def _clean_dated_part(self, given: Mapping[str, Any]) -> None:
        # What is refused vanishes from the values given, so they are taken first.
        part, code, date, chosen, own = (given[name] for name in ("part", "code", "date", "scheme", "own_scheme"))
        self.made_up = own if chosen in ("", OWN) else chosen
        if not part:
            self.add_error("part", "Say which part carries the date.")
        if bool(code) == bool(date):
            self.add_error("code", "Give the code as it reads, or else the date: one of the two.")
        if chosen == OWN and not own:
            self.add_error("own_scheme", "Write down how the code is made up.")
        if self.made_up and not code:
            self.add_error("scheme", "This goes with a code only.")
        for name, text, check in (("code", code, check_code), ("own_scheme", self.made_up, check_scheme)):
            if text:
                self._check(name, text, check)

    def _check(self, name: str, text: str, check: Callable[[str], str]) -> None:
        try:
            check(text)
        except NotationError as error:
            self.add_error(name, f"{error.message}{perhaps(error)}")

    def table(self) -> dict[str, object]:
        """The keys of the file."""
        given = self.cleaned_data
        scheme = self.made_up if given["kind"] == "part" else None
        kept = {name: given[name] or None for name in ("kind", "part", "code", "date")}
        return {**kept, "scheme": scheme or None}


def date_evidence_words(entry: Evidence) -> tuple[str, str]:
    """What carries the date, and how a code is made up.

    >>> date_evidence_words(Evidence("part", None, "933", "year-week", "speaker"))
    ('Speaker: code 933', 'last figure of the year, week')
    """
    if entry.kind != "part":
        return f"{entry.kind.capitalize()}: {entry.written}", ""
    name = (entry.part or "part").replace("-", " ")
    meaning = ""
    if entry.scheme is not None:
        known = part_code_schemes().get(entry.scheme)
        meaning = known.meaning.split(";")[0] if known else f"made up as {entry.scheme}"
    code = "" if entry.code is None else "code "
    return f"{name[:1].upper()}{name[1:]}: {code}{entry.written}", meaning


def date_evidence_sentence(table: Mapping[str, object]) -> str:
    """The same of a table that is to be written, for the history."""
    what = str(table["part"]).replace("-", " ") if table.get("part") else str(table["kind"])
    return f"{what}, {table.get('code') or table.get('date')}"
