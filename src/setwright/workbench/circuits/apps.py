"""Django's name for this folder."""

from django.apps import AppConfig


class CircuitsConfig(AppConfig):
    """The circuits part of the site."""

    name = "setwright.workbench.circuits"
    label = "circuits"

    def ready(self) -> None:
        """Makes known how its records are read."""
        from setwright.workbench.circuits.kind import ChartKind, CircuitKind
        from setwright.workbench.records.kinds import register

        register(CircuitKind())
        register(ChartKind())
