"""Django's name for this folder."""

from django.apps import AppConfig


class LiteratureConfig(AppConfig):
    """The literature shelf."""

    name = "setwright.workbench.literature"
    label = "literature"

    def ready(self) -> None:
        """Makes known how its records are read."""
        from setwright.workbench.literature.kind import LiteratureKind
        from setwright.workbench.records.kinds import register

        register(LiteratureKind())
