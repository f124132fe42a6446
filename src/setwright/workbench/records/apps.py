"""Django's name for this folder."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """The history of all records."""

    name = "setwright.workbench.records"
    label = "records"
