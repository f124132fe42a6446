"""Cells placed where the joint posterior lies, and lines far apart in evidence."""

import numpy as np
import pytest

from setwright.identity import BenchSet, Family, Observation, identify
from setwright.identity.model import Feature, Line, Version
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

PERMANENCES = ("stamped", "riveted", "soldered", "plugged", "consumable")


def family(blocks, changes, last):
    """`blocks` steps of `changes` changes each."""
    features = tuple(
        Feature(f"f{b}-{i}", f"Detail {b} {i}", ("old", "new"), permanence=PERMANENCES[(b + i) % 5])
        for b in range(blocks)
        for i in range(changes)
    )
    versions = tuple(
        Version(f"v{j}", f"Version {j}", states={f.id: "new" if int(f.id[1]) < j else "old" for f in features})
        for j in range(blocks + 1)
    )
    return Family("f", "Family", features, versions, last_serial=last)


def probabilities(answer):
    """Every probability of the verdict, the changes, the observations and the condition, in a fixed order."""
    verdict = {(e.line, e.label): e.probability for e in answer.verdict}
    seen = {o.feature: (o.altered_probability, o.misread_probability) for o in answer.observations}
    return np.concatenate(
        [
            [verdict[key] for key in sorted(verdict)],
            [change.applied_probability for change in answer.changes],
            np.array([seen[key] for key in sorted(seen)]).ravel(),
            list(answer.condition.values()),
        ]
    )


@pytest.mark.parametrize(
    ("blocks", "changes", "last", "survivors", "seed"),
    [(2, 12, 60000, 40, 116), (4, 8, 480, 600, 114), (4, 8, 480, 150, 129), (8, 3, 60000, 600, 122)],
)
def test_a_set_without_serial_gets_cells_where_it_may_stand(blocks, changes, last, survivors, seed):
    """A set between two versions whose changes lie close together needs narrow cells just there.

    Cells placed by the survivors' evidence alone moved these probabilities by up to 0.04.
    """
    rng = np.random.default_rng(seed)
    made = family(blocks, changes, last)
    production = draw_production(made, rng)
    others = survivors_of(draw_sets(production, survivors, rng))
    held_out = draw_sets(production, 2, rng)
    for row in range(2):
        bench = bench_set_of(held_out, row, with_serial=False)
        answer = identify(made, bench, others, exact=True)
        finer = identify(made, bench, others, exact=True, cells=2 * answer.method.cells)
        assert np.abs(probabilities(answer) - probabilities(finer)).max() <= 0.005


def test_a_line_that_everything_speaks_against_still_has_its_changes():
    """Its share of the probability is below what floating point holds; what is said given the line is not."""
    features = tuple(Feature(f"f{i}", f"F{i}", ("a", "b"), permanence="stamped") for i in range(300))
    early = dict.fromkeys((f.id for f in features), "b")
    made = Family(
        "f",
        "Family",
        features,
        (
            Version("main", "Main", "main", dict.fromkeys((f.id for f in features), "a")),
            Version("early", "Early", "export", early),
            Version("late", "Late", "export", {**early, "f0": "a"}),
        ),
        lines=(Line("main"), Line("export")),
        last_serial=100,
    )
    bench = BenchSet("b", "f", observations=tuple(Observation(f.id, "a") for f in features))
    answer = identify(made, bench)
    assert answer.verdict[0].version == "main"
    (change,) = answer.changes
    assert 0.9 < change.applied_probability <= 1.0
    assert answer.axes[1].position_mass.sum() == pytest.approx(1.0)
