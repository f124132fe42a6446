"""A small family, its set and its survivors as texts, and the problems a text has."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from setwright.files import FileProblems, read_family, read_set, read_survivors
from setwright.identity import Family

FAMILY = """\
format = "setwright-family/1"
id = "heron-7"
name = "Heron 7 table radio"
kind = "radio"
first_serial = 1
last_serial = 60000

[[source]]
id = "notes-1"
title = "Service notes, first printing"
page = "3"

[[feature]]
id = "converter"
label = "Converter tube"
access = "back off"
permanence = "plugged"
states = ["6SB7Y", "6BE6"]

[[feature]]
id = "tone-capacitor"
label = "Tone control capacitor"
access = "underside"
permanence = "consumable"
part = "C40"
unit = "F"
tolerance = 0.2
states = ["0.02 uF", "0.0047 uF", "absent"]

[[feature]]
id = "finish"
label = "Cabinet finish"
role = "variant"
access = "outside"
permanence = "stamped"
states = ["walnut", "blond"]

[[version]]
id = "early"
label = "Early production"
sources = ["notes-1"]
states = { converter = "6SB7Y", tone-capacitor = "0.02 uF" }

[[version]]
id = "late"
label = "Late production"
based_on = "early"
states = { converter = "6BE6" }
"""

SET = """\
format = "setwright-set/1"
id = "bench-1"
family = "heron-7"
serial = "41?08"
"""


@pytest.fixture(scope="session")
def family_text() -> str:
    return FAMILY


@pytest.fixture(scope="session")
def set_text() -> str:
    return SET


@pytest.fixture(scope="session")
def family() -> Family:
    return read_family(FAMILY.encode()).family


Lines = list[str]


def _problems(read: Callable[[], object]) -> Lines:
    try:
        read()
    except FileProblems as failure:
        return [str(problem) for problem in failure.problems]
    return []


@pytest.fixture
def family_problems() -> Callable[[str | bytes], Lines]:
    """What is wrong with a family text, one line each; nothing if it can be read."""

    def problems(text: str | bytes) -> Lines:
        data = text if isinstance(text, bytes) else text.encode()
        return _problems(lambda: read_family(data, "heron.toml"))

    return problems


@pytest.fixture
def set_problems(family: Family) -> Callable[..., Lines]:
    def problems(text: str | bytes, of: Family = family) -> Lines:
        data = text if isinstance(text, bytes) else text.encode()
        return _problems(lambda: read_set(data, of, "bench.toml"))

    return problems


@pytest.fixture
def survivors_problems(family: Family) -> Callable[..., Lines]:
    def problems(text: str | bytes, of: Family = family) -> Lines:
        data = text if isinstance(text, bytes) else text.encode()
        return _problems(lambda: read_survivors(data, of, "known.csv"))

    return problems
