"""The map of the site. Every address is stable: others may keep it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import include, path
from django.views.generic import RedirectView

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.accounts.rules import anyone, reads
from setwright.workbench.sets.casefile.intake_views import came_in


@anyone
def healthz(request: HttpRequest) -> HttpResponse:
    """Answers while the server runs."""
    return HttpResponse("ok", content_type="text/plain")


urlpatterns = [
    path("", reads()(RedirectView.as_view(pattern_name="sets:shelf")), name="home"),
    path("healthz", healthz, name="healthz"),
    path("accounts/", include("setwright.workbench.accounts.urls")),
    path("", include("setwright.workbench.records.urls")),
    path("intake/", came_in, name="came-in"),
    path("", include("setwright.workbench.photos.urls")),
    path("", include("setwright.workbench.pictures.urls")),
    path("", include("setwright.workbench.dating.urls")),
    path("", include("setwright.workbench.circuits.urls")),
    path("casebook/", include("setwright.workbench.casebook.urls")),
    path("literature/", include("setwright.workbench.literature.urls")),
    path("search/", include("setwright.workbench.search.urls")),
    path("sets/", include("setwright.workbench.sets.urls")),
    path("families/", include("setwright.workbench.families.urls")),
    path("new-family/", include("setwright.workbench.families.making.urls")),
    path("families/<key:family>/survivors/", include("setwright.workbench.survivors.urls")),
]

handler400 = "setwright.workbench.site.views.not_understood"
handler403 = "setwright.workbench.accounts.views.not_allowed"
handler404 = "setwright.workbench.site.views.not_found"
handler500 = "setwright.workbench.site.views.failed"
