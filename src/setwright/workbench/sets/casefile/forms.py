"""The forms of a case: their fields, what stands in them at first, and the keys of the file that they become."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms

from setwright.files.case import AREAS, Condition, Note, Reading, Want
from setwright.identity.model import Family, Observation
from setwright.notation import NotationError
from setwright.workbench.literature.citing import offered
from setwright.workbench.sets.bench.forms import HOW_CHOICES, NOTHING_CHOSEN, SURE_CHOICES, moment
from setwright.workbench.sets.casefile.fields import DateText, Offering, measured
from setwright.workbench.sets.casefile.words import QUANTITIES, date_words

LONG = forms.Textarea(attrs={"rows": 4})


class EntryForm(forms.Form):
    """One entry of a list in a set's file.

    family : what the set belongs to. entry : what stands there now, None for a new one. by : who writes.
    """

    start: ClassVar[Mapping[str, object]] = {}

    def __init__(self, data: Any = None, *, family: Family, entry: Any = None, by: str = "") -> None:
        self.family, self.entry, self.by = family, entry, by
        super().__init__(data, initial=dict(self.start) if entry is None else self.present(entry))
        self.prepare()

    def prepare(self) -> None:
        """Fits the fields to the family."""

    def present(self, entry: Any) -> dict[str, object]:
        """What stands in the fields for an entry that is there."""
        raise NotImplementedError

    def table(self) -> dict[str, object]:
        """All keys that the form decides; None where a key is left out."""
        return {name: value or None for name, value in self.cleaned_data.items()}


class ConditionForm(EntryForm):
    """The condition of one area."""

    area = forms.ChoiceField(label="Where", choices=[(area, area[0].upper() + area[1:]) for area in AREAS])
    text = forms.CharField(label="What was found", widget=LONG, max_length=5000)
    on = DateText(label="When")

    def present(self, entry: Condition) -> dict[str, object]:
        """The entry's fields."""
        return {"area": entry.area, "text": entry.text, "on": date_words(entry.on)}


class WantForm(EntryForm):
    """Something looked for."""

    what = forms.CharField(label="What is looked for", max_length=500)
    part = forms.CharField(
        label="Its reference in parts lists", required=False, max_length=60, help_text="Such as T1 or C40."
    )
    note = forms.CharField(label="Note", required=False, max_length=5000)
    found = forms.BooleanField(label="It was found", required=False)

    def present(self, entry: Want) -> dict[str, object]:
        """The entry's fields."""
        return {"what": entry.what, "part": entry.part, "note": entry.note, "found": entry.found}


class NoteForm(EntryForm):
    """A note on the set, or on one feature."""

    text = forms.CharField(label="Note", widget=forms.Textarea(attrs={"rows": 6}), max_length=50_000)
    about = forms.ChoiceField(label="About", required=False)

    def prepare(self) -> None:
        """The features it may be about."""
        features = [(feature.id, feature.label) for feature in self.family.features]
        field = self.fields["about"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "the whole set"), *features]

    def present(self, entry: Note) -> dict[str, object]:
        """The entry's fields."""
        return {"text": entry.text, "about": entry.about or ""}

    def table(self) -> dict[str, object]:
        """A new note has the moment and the writer; one that is changed keeps its own."""
        written = {} if self.entry is not None else {"at": moment(), "by": self.by or None}
        return {**super().table(), **written}


class ReadingForm(EntryForm):
    """One measurement."""

    start: ClassVar[Mapping[str, object]] = {"quantity": "volts", "condition": "on"}

    point = forms.CharField(
        label="Point", max_length=500, help_text="A node or an electrode, as the circuit names it: V3.plate, B+."
    )
    quantity = forms.ChoiceField(label="What was read", choices=list(QUANTITIES.items()))
    value = forms.CharField(label="Value", max_length=60, help_text="Such as 87.5, −7.5 V, 18 mA or 470k.")
    meter = forms.CharField(
        label="Meter",
        required=False,
        max_length=60,
        help_text="Its input resistance, 10M, or ohms per volt at the range it was on, 20k/V@250.",
    )
    condition = forms.ChoiceField(
        label="The set was",
        choices=[("on", "switched on"), ("off", "switched off, unplugged, tubes cold")],
        widget=forms.RadioSelect,
    )
    reference = forms.CharField(
        label="Against", required=False, max_length=500, help_text="Only where it was not read against the chassis."
    )
    line_volts = forms.FloatField(label="Line voltage then, in volts", required=False, min_value=0.1, max_value=1000)
    on = DateText(label="When")

    def present(self, entry: Reading) -> dict[str, object]:
        """The entry's fields."""
        same = {name: getattr(entry, name) for name in ("point", "quantity", "meter", "condition", "reference")}
        value = f"{entry.value:g} {entry.unit}"
        return {**same, "value": value, "line_volts": entry.line_volts, "on": date_words(entry.on)}

    def clean(self) -> dict[str, Any]:
        """The value with its unit."""
        cleaned = super().clean() or {}
        if "value" in cleaned and "quantity" in cleaned:
            try:
                self.figure = measured(cleaned["value"], cleaned["quantity"])
            except NotationError as error:
                self.add_error("value", error.message)
            else:
                if cleaned["quantity"] == "ohms" and self.figure[0] < 0:
                    self.add_error("value", f"A resistance is not negative; “{cleaned['value']}” was written.")
        return cleaned

    def table(self) -> dict[str, object]:
        """The value is written as figure and unit."""
        return {**super().table(), "value": self.figure[0], "unit": self.figure[1]}


class SeenForm(EntryForm):
    """An observation made before."""

    state = forms.ChoiceField(label="What is seen", required=False, widget=forms.RadioSelect)
    written = forms.CharField(label="Something else, as it reads", required=False, max_length=490)
    how = forms.ChoiceField(
        label="How the value was got", required=False, choices=HOW_CHOICES, widget=forms.RadioSelect
    )
    sure = forms.ChoiceField(label="How sure", choices=SURE_CHOICES, widget=forms.RadioSelect)
    serviced = forms.BooleanField(label="It looks serviced", required=False)
    note = forms.CharField(label="Note", required=False, max_length=5000, widget=forms.Textarea(attrs={"rows": 2}))
    source = forms.CharField(
        label="Source", required=False, max_length=500, help_text="A source of the family, or a document on the shelf."
    )

    CANNOT_TELL, ONLY_SERVICED, ELSE = "cannot-tell:", "serviced:", "else:"
    """Choices that are no states; a colon at the end keeps them apart from any."""

    def prepare(self) -> None:
        """The states of the feature, and the answers that are none."""
        observation: Observation = self.entry[0]
        feature = self.family.feature(observation.feature)
        states = [(state, state) for state in feature.all_states]
        always = [(self.ELSE, "Something else, written below"), (self.CANNOT_TELL, "Cannot tell")]
        field = self.fields["state"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*states, *always, (self.ONLY_SERVICED, "Looks serviced, and tells no more")]
        if feature.unit is None:
            del self.fields["how"]
        self.fields["source"].widget = Offering(offered(self.family))

    def present(self, entry: tuple[Observation, str]) -> dict[str, object]:
        """The observation's fields; beside it stands how its value was got."""
        seen, how = entry
        states = self.family.feature(seen.feature).all_states
        choice, written = self.ELSE, seen.written.removeprefix("other: ")
        if seen.cannot_tell:
            choice, written = self.CANNOT_TELL, ""
        elif not seen.written:
            choice = self.ONLY_SERVICED
        elif seen.written in states:
            choice, written = seen.written, ""
        return {
            "state": choice,
            "written": written,
            "how": how,
            "sure": seen.sure,
            "serviced": seen.serviced,
            "note": seen.note,
            "source": seen.source,
        }

    def clean(self) -> dict[str, Any]:
        """Asks for an answer where there is none."""
        cleaned = super().clean() or {}
        if not self.errors and not (cleaned["state"] or cleaned["written"]):
            self.add_error("state", NOTHING_CHOSEN)
        if not self.errors and cleaned["state"] == self.ELSE and not cleaned["written"]:
            self.add_error("written", "Write down what is seen.")
        return cleaned

    def table(self) -> dict[str, object]:
        """The keys of the observation; its feature, and when and by whom it was made, stay."""
        given = self.cleaned_data
        choice = given["state"]
        written = given["written"] if choice in {"", self.ELSE} else ""
        no_state = choice in {self.CANNOT_TELL, self.ONLY_SERVICED}
        state = None if no_state else written or choice
        same = state is not None and state == self.entry[0].written.removeprefix("other: ")
        return {
            # What was insisted on once needs no insisting again.
            "state": self.entry[0].written if same else state,
            "how": "measured" if state and given.get("how") == "measured" else None,
            "sure": given["sure"] if state and given["sure"] != "certain" else None,
            "serviced": True if given["serviced"] or choice == self.ONLY_SERVICED else None,
            "cannot_tell": True if choice == self.CANNOT_TELL else None,
            "note": given["note"] or None,
            "source": given["source"] or None,
        }
