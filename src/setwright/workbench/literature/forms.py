"""What the forms of the shelf hold."""

from __future__ import annotations

from typing import Any

from django import forms

from setwright.files.literature import KINDS
from setwright.files.literature.shapes import EARLIEST_YEAR, LATEST_YEAR, MOST_PAGES

KIND_CHOICES = [(kind, kind.capitalize()) for kind in KINDS]
WORDS, LONG = 500, 5000


def _short() -> forms.TextInput:
    """A field for a few characters."""
    return forms.TextInput(attrs={"class": "short"})


def _one_message(message: str) -> dict[str, str]:
    """One answer to whatever is wrong with a number."""
    return dict.fromkeys(("invalid", "min_value", "max_value"), message)


class EntryForm(forms.Form):
    """A document, in the keys of its file."""

    title = forms.CharField(
        max_length=WORDS, label="Title", help_text="As it is printed, or as you call it.",
        error_messages={"required": "Every document needs one."},
    )  # fmt: skip
    kind = forms.ChoiceField(choices=KIND_CHOICES, label="What it is")
    maker = forms.CharField(max_length=WORDS, required=False, label="Maker of the set")
    model = forms.CharField(max_length=WORDS, required=False, label="Model", widget=_short())
    chassis = forms.CharField(max_length=WORDS, required=False, label="Chassis", widget=_short())
    volume = forms.CharField(max_length=WORDS, required=False, label="Volume", widget=_short())
    page = forms.CharField(max_length=WORDS, required=False, label="Page, as printed", widget=_short())
    pages = forms.IntegerField(
        min_value=1, max_value=MOST_PAGES, required=False, label="How many pages",
        error_messages=_one_message(f"A whole number from 1 to {MOST_PAGES:,}."),
    )  # fmt: skip
    year = forms.IntegerField(
        min_value=EARLIEST_YEAR, max_value=LATEST_YEAR, required=False, label="Year",
        error_messages=_one_message(f"A year in digits, from {EARLIEST_YEAR} to {LATEST_YEAR}."),
    )  # fmt: skip
    owned = forms.BooleanField(required=False, label="I own a copy")
    where = forms.CharField(
        max_length=LONG, required=False, label="Where a copy is",
        help_text="A shelf, a binder, or who has it.",
    )  # fmt: skip
    note = forms.CharField(max_length=LONG, required=False, label="Note", widget=forms.Textarea(attrs={"rows": 4}))

    def keys(self) -> dict[str, Any]:
        """The keys of the file, "" and None for those that say nothing; `owned` only where it is true."""
        cleaned = {key: value for key, value in self.cleaned_data.items() if key in self.fields}
        note = cleaned.get("note") or ""
        return {**cleaned, "note": note.replace("\r\n", "\n"), "owned": cleaned["owned"] or None}


class ScanForm(forms.Form):
    """What the shelf says of a scan."""

    name = forms.CharField(max_length=WORDS)
    opens_at = forms.IntegerField(min_value=1, max_value=MOST_PAGES)
