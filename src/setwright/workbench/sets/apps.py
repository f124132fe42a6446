"""Django's name for this folder."""

from django.apps import AppConfig


class SetsConfig(AppConfig):
    """The sets part of the site."""

    name = "setwright.workbench.sets"
    label = "sets"

    def ready(self) -> None:
        """Makes known how its records are read."""
        from setwright.workbench.records.kinds import register
        from setwright.workbench.sets.kind import SetKind

        register(SetKind())
