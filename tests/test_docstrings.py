"""The examples in docstrings are true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import setwright

MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(setwright.__path__, "setwright.")
    if not module.ispkg and ".migrations." not in module.name
)


def examples_of(name: str) -> list[doctest.DocTest]:
    module = importlib.import_module(name)
    return [test for test in doctest.DocTestFinder(exclude_empty=True).find(module, name) if test.examples]


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    for test in examples_of(name):
        runner.run(test)
    assert runner.summarize(verbose=False).failed == 0


def test_there_are_examples() -> None:
    assert sum(len(examples_of(name)) for name in MODULES) > 30
