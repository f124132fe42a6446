"""Where in a picture a feature is: what a form sends, turned into a region of the set's file."""

from __future__ import annotations

from typing import Any

from django import forms

from setwright.files.case import Photo, Region
from setwright.files.case_reading import region_of
from setwright.identity.model import Family
from setwright.notation import NotationError

THIRDS = {
    f"{row}-{column}": (f"{rows} {columns}".strip().capitalize(), (x / 3, y / 3, 1 / 3, 1 / 3))
    for y, (row, rows) in enumerate([("top", "top"), ("middle", "middle"), ("bottom", "bottom")])
    for x, (column, columns) in enumerate([("left", "left"), ("centre", ""), ("right", "right")])
}
"""Nine parts of a picture by name, for whoever points with words: label, then left, top, width, height as shares."""

SIDES = ("left", "top", "width", "height")
_SMALLEST_SHARE = 0.002


def _percentage() -> forms.CharField:
    """Text, so that what cannot be read as a number is told in our words and kept in its field."""
    written = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "maxlength": "20"})
    return forms.CharField(required=False, max_length=20, widget=written)


class PinForm(forms.Form):
    """What a photo shows, and where in it. The four sides are percentages; a part of the picture may stand instead."""

    feature = forms.ChoiceField(required=False)
    caption = forms.CharField(required=False, max_length=500)
    part = forms.ChoiceField(required=False, choices=[("", ""), *((key, label) for key, (label, _) in THIRDS.items())])
    left = _percentage()
    top = _percentage()
    width = _percentage()
    height = _percentage()

    def __init__(self, family: Family, *values: Any, **options: Any) -> None:
        super().__init__(*values, **options)
        choices = [("", "Nothing in particular"), *((feature.id, feature.label) for feature in family.features)]
        field = self.fields["feature"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices
        field.error_messages["invalid_choice"] = "Choose one of the features of this family."

    @property
    def sides(self) -> list[forms.BoundField]:
        """The four percentages, for the template."""
        return [self[side] for side in SIDES]

    def clean_caption(self) -> str:
        """One line, as the set's file keeps it."""
        caption = " ".join(str(self.cleaned_data["caption"]).split())
        if not caption.isprintable():
            raise forms.ValidationError(
                "A caption is one line of plain text; there is a control character in this one."
            )
        return caption

    def clean(self) -> dict[str, Any]:
        """Adds `region`: four shares, or None for the whole picture."""
        given = super().clean() or {}
        sides = [given.get(side, "").strip() for side in SIDES]
        if any(sides):
            given["region"] = self._from_sides(sides)
        else:
            given["region"] = list(THIRDS[given["part"]][1]) if given.get("part") else None
        return given

    def _from_sides(self, sides: list[str]) -> list[float] | None:
        shares = []
        for side, text in zip(SIDES, sides, strict=True):
            try:
                share = float(text.rstrip("% ").replace(",", ".")) / 100
            except ValueError:
                share = -1.0
            if not 0.0 <= share <= 1.0:
                self.add_error(side, f"Write a percentage of the picture from 0 to 100, not “{text}”." if text else
                               "All four belong together: left, top, width and height, in percent.")  # fmt: skip
            shares.append(round(share, 5))
        if self.errors:
            return None
        if min(shares[2], shares[3]) < _SMALLEST_SHARE:
            self.add_error(
                "width", "The marked place is too small to be seen; make it at least 0.2 percent wide and high."
            )
            return None
        try:
            region_of(shares)
        except NotationError:
            self.add_error("width", "The marked place reaches beyond the picture: left and width, and top and height, "
                           "add up to 100 at most.")  # fmt: skip
            return None
        return shares

    def table(self) -> dict[str, object]:
        """The keys of the photo's table that the form decides; None leaves a key out."""
        given = self.cleaned_data
        return {
            "caption": given["caption"] or None,
            "feature": given["feature"] or None,
            "region": given["region"],
        }


def values_of(photo: Photo) -> dict[str, str]:
    """What the form shows for a photo as it stands in the file."""
    values = {"feature": photo.feature or "", "caption": photo.caption}
    return values if photo.region is None else values | sides_of(photo.region)


def sides_of(region: Region) -> dict[str, str]:
    """A region's four sides in percent, as the form writes them.

    >>> sides_of(Region(0.1, 0.2, 1 / 3, 0.25))
    {'left': '10', 'top': '20', 'width': '33.333', 'height': '25'}
    """
    shares = (region.x, region.y, region.width, region.height)
    return {side: f"{100 * share:.3f}".rstrip("0").rstrip(".") for side, share in zip(SIDES, shares, strict=True)}
