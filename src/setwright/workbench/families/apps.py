"""Django's name for this folder."""

from django.apps import AppConfig


class FamiliesConfig(AppConfig):
    """The families part of the site."""

    name = "setwright.workbench.families"
    label = "families"

    def ready(self) -> None:
        """Makes known how its records are read."""
        from setwright.workbench.families.kind import FamilyKind
        from setwright.workbench.records.kinds import register

        register(FamilyKind())
