"""Addresses of pictures to save, under those of sets, families and survivors."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.pictures import views

app_name = "pictures"

_NAMED = "pictures/<slug:name>.<slug:kind>"

urlpatterns = [
    path(f"sets/<key:key>/{_NAMED}", views.of_set, name="of-set"),
    path(f"families/<key:key>/{_NAMED}", views.of_family, name="of-family"),
    path(f"families/<key:family>/survivors/of/<path:survivor>/{_NAMED}", views.of_survivor, name="of-survivor"),
]
