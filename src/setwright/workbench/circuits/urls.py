"""Addresses of circuits under their family, and of what to measure under the set."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.circuits import printed_views, record_views, volts_views, walk_views

app_name = "circuits"

_CIRCUIT = "families/<key:family>/circuits/<key:key>"
_PRINTED = f"{_CIRCUIT}/printed"
_VOLTS = "sets/<key:key>/volts"
_SOCKET = f"{_VOLTS}/socket/<path:ref>"

urlpatterns = [
    path("families/<key:family>/add-circuit/", record_views.add, name="add"),
    path(f"{_CIRCUIT}/", record_views.circuit, name="circuit"),
    path(f"{_CIRCUIT}/edit/", record_views.edit, name="edit"),
    path(f"{_CIRCUIT}/remove/", record_views.remove, name="remove"),
    path(f"{_CIRCUIT}/circuit.toml", record_views.file, name="file"),
    path(f"{_CIRCUIT}/expect.json", volts_views.circuit_json, name="circuit-json"),
    path(f"{_CIRCUIT}/history/", record_views.history, name="history"),
    path(f"{_CIRCUIT}/history/<int:number>/", record_views.history_entry, name="history-entry"),
    path(f"{_PRINTED}/", printed_views.printed, name="printed"),
    path(f"{_PRINTED}/edit/", printed_views.edit, name="printed-edit"),
    path(f"{_PRINTED}/remove/", printed_views.remove, name="printed-remove"),
    path(f"{_PRINTED}/chart.csv", printed_views.file, name="printed-file"),
    path(f"{_PRINTED}/history/", printed_views.history, name="printed-history"),
    path(f"{_PRINTED}/history/<int:number>/", printed_views.history_entry, name="printed-history-entry"),
    path(f"{_VOLTS}/", volts_views.volts, name="volts"),
    path(f"{_VOLTS}/stop/", volts_views.stop, name="stop"),
    path(f"{_VOLTS}/start/", volts_views.start, name="start"),
    path(f"{_VOLTS}/printed/", volts_views.printed_of_set, name="printed-of-set"),
    path(f"{_SOCKET}/pin/<int:step>/", walk_views.pin, name="pin"),
    path(f"{_SOCKET}/picture.<slug:kind>", walk_views.picture, name="picture"),
    path(f"{_SOCKET}/", walk_views.socket, name="socket"),
    path("sets/<key:key>/expect.json", volts_views.set_json, name="json"),
]
