"""How date codes on parts are made up, and which figures are taken for one another."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class PartCodeScheme:
    """One make-up of a date code: its fields joined by dashes, in the order in which they are printed.

    first_year : no part has such a code from before. share : how common it is among codes whose make-up nobody stated,
    against the others of the same length; 0 where it is read only if named.
    """

    scheme: str
    first_year: int
    share: float
    meaning: str
    source: str
    checked: str


@cache
def part_code_schemes() -> Mapping[str, PartCodeScheme]:
    """The schemes of data/part_code_schemes.csv by name, in file order.

    >>> part_code_schemes()["maker-year-week"].first_year
    1945
    """
    return MappingProxyType(
        {
            row["scheme"]: PartCodeScheme(
                row["scheme"],
                int(row["first_year"]),
                float(row["share"]),
                row["meaning"],
                row["source"],
                row["checked"],
            )
            for row in _rows("part_code_schemes.csv")
        }
    )


@cache
def misread_figures() -> Mapping[str, str]:
    """For each figure those it is commonly misread as (data/misread_figures.csv, both ways round).

    >>> misread_figures()["8"]
    '036'
    """
    pairs = [(row["figure"], row["misread_as"]) for row in _rows("misread_figures.csv")]
    both = [*pairs, *((b, a) for a, b in pairs)]
    return MappingProxyType({figure: "".join(b for a, b in both if a == figure) for figure in "0123456789"})


def _rows(name: str) -> list[dict[str, str]]:
    text = files("setwright.reference").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
