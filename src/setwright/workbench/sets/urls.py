"""Addresses under /sets/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.sets import views
from setwright.workbench.sets.bench import views as bench
from setwright.workbench.sets.casefile import intake_views
from setwright.workbench.sets.casefile import views as casefile
from setwright.workbench.sets.casefile.kinds import KINDS

app_name = "sets"

urlpatterns = [
    path("", views.shelf, name="shelf"),
    path("<key:key>/", views.set_page, name="set"),
    path("<key:key>/identity/", views.identity, name="identity"),
    path("<key:key>/looks/", views.look_sheet_page, name="looks"),
    path("<key:key>/sisters/", views.sisters, name="sisters"),
    path("<key:key>/sisters/of/<path:name>/", views.sister, name="sister"),
    path("<key:key>/ask/", views.ask, name="ask"),
    path("<key:key>/ask/of/<path:name>/letter.txt", views.letter_file, name="letter-file"),
    path("<key:key>/ask/of/<path:name>/", views.letter, name="letter"),
    path("<key:key>/stop/", views.stop, name="stop"),
    path("<key:key>/start/", views.start, name="start"),
    path("<key:key>/identity.json", views.identity_json, name="identity-json"),
    path("<key:key>/set.toml", views.set_file, name="file"),
    path("<key:key>/tables/<slug:name>.csv", views.table, name="table"),
    path("<key:key>/bench/", bench.bench, name="bench"),
    path("<key:key>/bench/at/<slug:slug>/", bench.bench, name="bench-at"),
    path("<key:key>/bench/see/<key:feature>/", bench.see, name="see"),
    path("<key:key>/bench/opened/", bench.opened, name="opened"),
    path("<key:key>/bench/take-back/<int:number>/", bench.take_back, name="take-back"),
    path("<key:key>/bench/verdict/", bench.verdict, name="verdict"),
    path("<key:key>/intake/", intake_views.intake, name="intake"),
]

for kind in KINDS:
    here, given = f"<key:key>/{kind.slug}/", {"kind": kind}
    urlpatterns += [
        path(here, casefile.entries, given, name=kind.slug),
        path(f"{here}<int:number>/", casefile.entry, given, name=f"{kind.slug}-entry"),
        path(f"{here}<int:number>/remove/", casefile.remove, given, name=f"{kind.slug}-remove"),
    ]
