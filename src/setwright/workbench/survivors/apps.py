"""Django's name for this folder."""

from django.apps import AppConfig


class SurvivorsConfig(AppConfig):
    """The survivors part of the site."""

    name = "setwright.workbench.survivors"
    label = "survivors"

    def ready(self) -> None:
        """Makes known how its records are read."""
        from setwright.workbench.records.kinds import register
        from setwright.workbench.survivors.kind import SurvivorsKind

        register(SurvivorsKind())
