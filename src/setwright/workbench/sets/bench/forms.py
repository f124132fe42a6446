"""What is sent from the bench, turned into a table of the set's file."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django import forms

from setwright.identity.model import SURENESSES, Feature

SURE_CHOICES = [(sure, {"certain": "Certain", "likely": "Likely", "guess": "A guess"}[sure]) for sure in SURENESSES]
HOW_CHOICES = [("marked", "As marked"), ("measured", "Measured")]

NOTHING_CHOSEN = "Press what is seen, or write it down; “cannot tell” is an answer too."


class ObservationForm(forms.Form):
    """What was seen of one feature. `state` is a button that was pressed, `written` what stands in the field instead.

    do : another button: "written" keeps the field's text, "insist" keeps it although it nearly names a listed state,
        "cannot-tell", and "serviced" for what looks serviced and tells no more.
    """

    state = forms.CharField(required=False, max_length=500)
    written = forms.CharField(required=False, max_length=490)
    do = forms.CharField(required=False, max_length=20)
    how = forms.ChoiceField(required=False, choices=[("", ""), *HOW_CHOICES])
    sure = forms.ChoiceField(required=False, choices=[("", ""), *SURE_CHOICES])
    serviced = forms.BooleanField(required=False)
    note = forms.CharField(required=False, max_length=5000)
    source = forms.CharField(required=False, max_length=500)

    def clean(self) -> dict[str, Any]:
        """Asks for an answer where there is none."""
        cleaned = super().clean() or {}
        if not self.errors and not (cleaned["do"] in {"cannot-tell", "serviced"} or self._state(cleaned)):
            raise forms.ValidationError(NOTHING_CHOSEN)
        return cleaned

    @staticmethod
    def _state(cleaned: dict[str, Any]) -> str:
        """The state that is meant, as the file writes it; "" where there is none."""
        if cleaned["do"] == "insist" and cleaned["written"]:
            return f"other: {cleaned['written']}"
        return str(cleaned["state"] or cleaned["written"])

    def changes(self, feature: Feature) -> dict[str, object]:
        """All keys of the observation that the form decides; None where a key is to be left out."""
        given = self.cleaned_data
        cannot_tell = given["do"] == "cannot-tell"
        state = None if cannot_tell or given["do"] == "serviced" else self._state(given)
        return {
            "state": state,
            "how": "measured" if state and feature.unit and given["how"] == "measured" else None,
            "sure": given["sure"] if state and given["sure"] not in {"", "certain"} else None,
            "serviced": True if given["serviced"] or given["do"] == "serviced" else None,
            "cannot_tell": True if cannot_tell else None,
            "note": given["note"] or None,
            "source": given["source"] or None,
        }

    def table(self, feature: Feature, by: str) -> dict[str, object]:
        """A new observation. by : who saw it."""
        return {"feature": feature.id, **self.changes(feature), "seen_at": moment(), "seen_by": by}


def moment() -> str:
    """Now, as a file writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
