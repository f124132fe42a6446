"""Where a picture can be saved."""

from __future__ import annotations

from urllib.parse import urlencode

from django import template
from django.urls import reverse

register = template.Library()


@register.inclusion_tag("pictures/save_as.html")
def save_as(address: str, *parts: str, line: str = "", learned: object = False) -> dict[str, object]:
    """Links that save the picture above them. parts : what its address names, the picture's own name last.

    line : the line it draws, where that is not the only one. learned : the page shows the answer with learnt rates.
    """
    asked = {key: value for key, value in (("line", line), ("learned", "1" if learned else "")) if value}
    query = f"?{urlencode(asked)}" if asked else ""
    return {"kinds": [(kind.upper(), reverse(address, args=[*parts, kind]) + query) for kind in ("svg", "png")]}
