"""A circuit of the first cast's family, with the chart that was printed with it."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client

CAST = Path(__file__).parent.parent.parent / "cast"


@pytest.fixture
def circuit_text() -> str:
    return (CAST / "heron-circuit.toml").read_text(encoding="utf-8")


@pytest.fixture
def drawn(shelf: None, settings, tmp_path: Path) -> Client:
    """A client of the site with the cast, its circuit and its printed chart."""
    from setwright.workbench.services.imports import import_files

    settings.DATA_DIR = tmp_path
    import_files([CAST / "heron-circuit.toml", CAST / "heron-output.chart.csv"])
    return Client()
