"""Graves of a cemetery find their accepted order again: presence and absence of types, twenty graves known.

An archaeologist's seriation is our problem in other clothes: graves are survivors, types of artefact are features that
come into use and go out of it again, the order of the graves is the production run. Hodson's order of the graves
of Münsingen-Rain (see data/README.md) is known for twenty of them; the other 39 are to be placed.

A grave holds few of the types of its time, so absence says little. Two rough figures go in, without a source and the
same for all types: a type in use lies in a quarter of the graves, one out of use in a hundredth (an heirloom, a stray).
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import kendalltau

from setwright.identity import Assumptions, BenchSet, Family, Observation, Survivors, identify
from setwright.identity.items import cut_ins_from_items
from setwright.identity.model import PERMANENCES, SURENESSES, Feature, seen_code

TABLE = Path(__file__).parent / "data" / "munsingen-rain.csv"
IN_USE, OUT_OF_USE = 0.25, 0.01
GRAVES, TYPES, KNOWN = 59, 70, 20

LEAST_TAU = 0.82
"""Kendall's rank correlation that the places found must have with the accepted order."""


@lru_cache
def finds() -> np.ndarray:
    """(graves, types) 1 where the type lay in the grave, graves in the accepted order."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert [row[0] for row in rows[1:]] == [str(i + 1) for i in range(GRAVES)]
    return np.array([[int(cell) for cell in row[1:]] for row in rows[1:]])


def evenly_spread() -> np.ndarray:
    """Twenty graves from the first to the last."""
    return np.round(np.linspace(0, GRAVES - 1, KNOWN)).astype(int)


def tau(place: np.ndarray, known: np.ndarray) -> float:
    """Kendall's correlation of places found with the accepted order, over graves that were not known."""
    unknown = np.setdiff1d(np.arange(GRAVES), known)
    return float(kendalltau(place[unknown], unknown).statistic)


def test_the_table_is_as_described() -> None:
    table = finds()
    assert table.shape == (GRAVES, TYPES)
    assert set(table.ravel()) == {0, 1}
    assert table.sum() == 273
    # Every grave has something to tell, every type was found.
    assert table.sum(axis=1).min() >= 2
    assert table.sum(axis=0).min() >= 1


def places_by_passes(known: np.ndarray, passes: int = 30) -> np.ndarray:
    """(graves,) expected place of each grave, by passes to and fro between types and graves.

    One pass: when each type was in use, given where the graves stand as far as that is known; then where each
    grave stands, given the types. At first only the twenty count.
    """
    table = finds()
    standing = np.zeros((GRAVES, GRAVES))
    standing[known, known] = 1.0
    unknown = np.setdiff1d(np.arange(GRAVES), known)
    for _ in range(passes):
        in_use = np.stack([type_in_use(present, standing) for present in table.T])
        share = in_use * IN_USE + (1.0 - in_use) * OUT_OF_USE
        log_likelihood = table @ np.log(share) + (1 - table) @ np.log1p(-share)
        weight = np.exp(log_likelihood - log_likelihood.max(axis=1, keepdims=True))
        standing[unknown] = (weight / weight.sum(axis=1, keepdims=True))[unknown]
    places: np.ndarray = standing @ np.arange(GRAVES)
    return places


def type_in_use(present: np.ndarray, standing: np.ndarray) -> np.ndarray:
    """(places,) probability that a type was in use at each place of the order: its two cut-ins, in and out."""
    found, missed = present @ standing, (1 - present) @ standing
    for_use = found * np.log(IN_USE / OUT_OF_USE) + missed * np.log((1.0 - IN_USE) / (1.0 - OUT_OF_USE))
    # A type may last to the end: going out has a place of its own behind the last grave.
    ratios = np.stack([np.append(-for_use, 0.0), np.append(for_use, 0.0)])
    places = np.arange(1, GRAVES + 2)
    cut_ins = cut_ins_from_items(places, ratios, 1, GRAVES + 1, block_sizes=(1, 1), one_stroke=1.0)
    into, out = np.cumsum(cut_ins.mass, axis=1)[:, :GRAVES]
    return into - out


def test_passes_over_the_chain_of_cut_ins_find_the_accepted_order() -> None:
    known = evenly_spread()
    assert tau(places_by_passes(known), known) >= LEAST_TAU


@pytest.mark.parametrize("seed", range(3))
def test_any_twenty_graves_will_do(seed: int) -> None:
    known = np.sort(np.random.default_rng(seed).choice(GRAVES, KNOWN, replace=False))
    assert tau(places_by_passes(known), known) >= LEAST_TAU


FOUND, MISSED = "certain", "guess"
"""How sure one is to see a type in use: where it was found, and where it was not."""

STAGES = ("not yet", "in use", "no longer")


def misread_at(ratio: float) -> float:
    """The rate of misreading at which seeing "in use" is `ratio` times as likely of a type in use as of one not yet
    or no longer: (1 - e) / (e / 2) = ratio."""
    return 2.0 / (ratio + 2.0)


ARCHAEOLOGY = Assumptions(
    altered=dict.fromkeys(PERMANENCES, 1e-9),
    misread={
        FOUND: misread_at(IN_USE / OUT_OF_USE),
        "likely": 0.5,
        MISSED: misread_at((1.0 - IN_USE) / (1.0 - OUT_OF_USE)),
    },
    free_shares=(1.0, 0.0, 0.0),
    married=0.0,
)
"""Nobody alters a grave. A type that is missing is a sighting that is more often wrong than right: it speaks against
the type being in use, and for neither of the other two stages."""


def cemetery() -> Family:
    """A run of 59 graves; no document says when a type came into use or went out of it."""
    features = tuple(Feature(f"type-{t:02}", f"Type {t}", STAGES) for t in range(TYPES))
    return Family("cemetery", "Cemetery", features, (), first_serial=1, last_serial=GRAVES)


def known_graves(known: np.ndarray) -> Survivors:
    """The register: graves whose place is known, with what lay in them."""
    sure = np.where(finds()[known] == 1, SURENESSES.index(FOUND), SURENESSES.index(MISSED))
    codes = seen_code(STAGES.index("in use"), 0) + sure
    seen = {f"type-{t:02}": codes[:, t] for t in range(TYPES)}
    return Survivors(tuple(f"grave-{g}" for g in known), np.zeros(len(known), dtype=np.int64), known + 1, seen)


def unknown_grave(grave: int) -> BenchSet:
    """One grave on the bench, its place left out."""
    observations = tuple(
        Observation(f"type-{t:02}", "in use", sure=FOUND if present else MISSED)
        for t, present in enumerate(finds()[grave])
    )
    return BenchSet(f"grave-{grave}", "cemetery", observations=observations)


@pytest.mark.slow
def test_graves_on_the_bench_find_their_places() -> None:
    """Every third unknown grave asked about by itself, against the twenty: no document mentions any of the types."""
    known = evenly_spread()
    register, family = known_graves(known), cemetery()
    asked = np.setdiff1d(np.arange(GRAVES), known)[::3]
    place = []
    for grave in asked:
        answer = identify(family, unknown_grave(int(grave)), register, assumptions=ARCHAEOLOGY, draws=100)
        axis = answer.axes[0]
        place.append(axis.position_mass @ (axis.edges[:-1] + 1 + axis.edges[1:]) / 2.0)
    assert kendalltau(place, asked).statistic >= LEAST_TAU
