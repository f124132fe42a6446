"""What the survivors of one family teach another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from setwright.identity import NothingLearnt, identify, no_survivors, rates_of
from setwright.identity.identify import NOT_LEARNT
from setwright.identity.model import CutInBound, Survivors


def repeated(survivors: Survivors, count: int) -> Survivors:
    rows = np.zeros(count, dtype=int)
    return Survivors(
        ids=tuple(f"r{row}" for row in range(count)),
        line=survivors.line[rows],
        position=survivors.position[rows],
        seen={feature: codes[rows] for feature, codes in survivors.seen.items()},
    )


def test_the_evidence_is_that_of_the_survivors_alone(plover):
    family, bench, survivors = plover
    evidence = rates_of(family, survivors)
    assert evidence.family == family.id
    own = identify(family, bench, survivors).rate_evidence
    assert evidence.items == own.items
    assert sum(evidence.items.values()) > 0
    again = rates_of(family, survivors)
    for permanence, log in evidence.log_likelihood.items():
        assert np.array_equal(log, again.log_likelihood[permanence])


def test_the_seed_reaches_the_draws(plover):
    family, _, survivors = plover
    one, other = rates_of(family, survivors, seed=1), rates_of(family, survivors, seed=2)
    assert not np.array_equal(one.log_likelihood["soldered"], other.log_likelihood["soldered"])


def test_it_takes_part_in_learning(plover):
    family, bench, survivors = plover
    # The same survivors under another name: they say twice what they said.
    other = rates_of(replace(family, id="other"), survivors)
    alone = identify(family, bench, survivors, draws=400)
    beside = identify(family, bench, survivors, draws=400, other_families=[other])
    assert [e.probability for e in alone.verdict] == [e.probability for e in beside.verdict]
    assert alone.learned != beside.learned
    assert not beside.method.learned_rates


def test_why_nothing_is_taught(plover):
    family, _, survivors = plover
    with pytest.raises(NothingLearnt, match=r"^Plover .* teaches nothing .*: it has no survivors\.$"):
        rates_of(family, no_survivors())
    with pytest.raises(NothingLearnt, match=r"it has 20,001 survivors, and condition is looked into for up to 20,000"):
        rates_of(family, repeated(survivors, 20_001))


def test_documents_that_contradict_each_other_teach_nothing(plover):
    family, _, survivors = plover
    bounds = (
        CutInBound("detector", "12SQ7", "12AV6", after=3000),
        CutInBound("detector", "12SQ7", "12AV6", before=100),
    )
    with pytest.raises(NothingLearnt, match=r"about rates of alteration: .*in no set up to 3000 but"):
        rates_of(replace(family, cut_in_bounds=bounds), survivors)


def test_shares_of_both_passes_run_through_the_whole(plover):
    family, bench, survivors = plover
    shares = []
    identify(family, bench, survivors, draws=200, learned=True, progress=lambda text, share: shares.append(share))
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert 0.5 in shares
    assert any(0.5 < share < 1.0 for share in shares)


@pytest.mark.parametrize("exact", [False, True])
def test_an_answer_without_learnt_rates_says_so_where_they_were_asked_for(plover, exact):
    family, bench, survivors = plover
    known = survivors if exact else None
    answer = identify(family, bench, known, draws=200, exact=exact, learned=True)
    assert not answer.method.learned_rates
    assert NOT_LEARNT in answer.warnings
    assert NOT_LEARNT not in identify(family, bench, known, draws=200, exact=exact).warnings
