"""The cast on the shelf, and somebody who works with it."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client


@pytest.fixture
def client(shelf: None) -> Client:
    return Client(raise_request_exception=True)


@pytest.fixture
def bench_1(shelf: None) -> Any:
    from setwright.workbench.sets.models import SetRecord

    return lambda: SetRecord.objects.select_related("family__register").get(key="bench-1")
