"""Addresses of photos, under those of sets and survivors."""

from __future__ import annotations

from django.urls import path, register_converter

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.photos import views


class SumConverter:
    """The SHA-256 of a picture."""

    regex = r"[0-9a-f]{64}"

    def to_python(self, value: str) -> str:
        """The sum as it stands in the address."""
        return value

    def to_url(self, value: str) -> str:
        """The address part for a sum."""
        return value


register_converter(SumConverter, "sum")

app_name = "photos"

_ONE = "sets/<key:key>/photos/<sum:sha256>/"

urlpatterns = [
    path("sets/<key:key>/photos/", views.of_set, name="of-set"),
    path("sets/<key:key>/photos/add/", views.add, name="add"),
    path("sets/<key:key>/photos/compare/<key:other>/", views.compare, name="compare"),
    path(_ONE, views.photo, name="photo"),
    path(f"{_ONE}pins/", views.add_pin, name="add-pin"),
    path(f"{_ONE}pins/<int:number>/", views.change_pin, name="change-pin"),
    path(f"{_ONE}pins/<int:number>/remove/", views.remove_pin, name="remove-pin"),
    path(f"{_ONE}remove/", views.remove, name="remove"),
    path(f"{_ONE}<slug:size>", views.picture, name="picture"),
    path(
        "families/<key:family>/survivors/of/<path:name>/photos/<sum:sha256>/<slug:size>",
        views.survivor_picture,
        name="survivor-picture",
    ),
]
