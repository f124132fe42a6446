"""Fields of the forms: text that the notation reads."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from setwright.files.case import UNIT_OF
from setwright.notation import NotationError, parse_date, parse_quantity
from setwright.notation.units import UNIT_WORDS, plain_word

_NUMBER_AND_UNIT = re.compile(r"([-+−]?\d*\.?\d+(?:[eE][-+]?\d+)?)\s*([^\d\s]*)")


class Offering(forms.TextInput):
    """A line of text that offers what may stand in it; anything else may be written too."""

    def __init__(self, offered: Sequence[tuple[str, str]]) -> None:
        super().__init__(attrs={"autocomplete": "off", "maxlength": "500"})
        self.offered = offered

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        """The field, and the list of what it offers: what is written and what that is called."""
        field = super().render(name, value, {**(attrs or {}), "list": f"offered-{name}"}, renderer)
        options = format_html_join("", '<option value="{}">{}</option>', self.offered)
        return format_html('{}<datalist id="offered-{}">{}</datalist>', field, name, options)


class DateText(forms.CharField):
    """A date in any precision: 1999, 1999-05, 1999-W20, 1999-05-02."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        options.setdefault("widget", forms.TextInput(attrs={"class": "short", "autocomplete": "off"}))
        options.setdefault("help_text", "As far as it is known: 1999, 1999-05 or 1999-05-02.")
        super().__init__(max_length=20, **options)

    def clean(self, value: Any) -> Any:
        """The date as it was written, once it is one."""
        text = super().clean(value)
        if text:
            try:
                parse_date(text)
            except NotationError as error:
                raise forms.ValidationError(f"{error.message}{perhaps(error)}") from error
        return text


class Lines(forms.CharField):
    """Things, one a line."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.Textarea(attrs={"rows": 3}))
        super().__init__(required=False, max_length=20_000, **options)

    def clean(self, value: Any) -> Any:
        """The lines that hold something."""
        lines = [line.strip() for line in super().clean(value).splitlines()]
        lines = [line for line in lines if line]
        for line in lines:
            if len(line) > 500:
                raise forms.ValidationError(f"“{line[:40]} …” is too long for one thing; 500 letters fit.")
        if len(lines) > 200:
            raise forms.ValidationError(f"There are {len(lines)} lines; 200 fit.")
        return lines


def measured(text: str, quantity: str) -> tuple[float, str]:
    """A reading as it was written: its figure and its unit, by the quantity where none is written.

    Raises NotationError where it is no such value.

    >>> measured("-7.5", "volts"), measured("18 mA", "amps"), measured("470k", "ohms")
    ((-7.5, 'V'), (18.0, 'mA'), (470.0, 'k'))
    """
    unit = UNIT_OF[quantity]
    match = _NUMBER_AND_UNIT.fullmatch(text.strip())
    if match:
        figure, word = float(match[1].replace("−", "-")), match[2]
        if not word:
            return figure, unit
        known = UNIT_WORDS.get(plain_word(word))
        if known is not None and known[0] == unit:
            return figure, word
    return parse_quantity(text, unit).value, unit


def perhaps(error: NotationError) -> str:
    """What an error thinks was meant, as a question behind it; "" where it has no idea."""
    suggestion = getattr(error, "suggestion", None)
    return f"; perhaps {suggestion}?" if suggestion else ""
