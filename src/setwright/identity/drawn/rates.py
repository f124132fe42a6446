"""What survivors say of the rates of alteration: every set's likelihood at other rates, over its own unknowns."""

from __future__ import annotations

import numpy as np

from setwright.identity.answer import RateEvidence
from setwright.identity.assumptions import Assumptions
from setwright.identity.drawn.bench import mixes_at
from setwright.identity.drawn.engine import Drawing, Weighed
from setwright.identity.drawn.marginal import Latents, Marginal, draw_latents
from setwright.identity.learning import RATES
from setwright.identity.likelihood import table_for
from setwright.identity.model import LOOKS_SERVICED, PERMANENCES, SURENESSES

HISTORIES = 32
MOST_SETS = 400


def rate_evidence(drawing: Drawing, weighed: Weighed, family: str) -> RateEvidence:
    """Log-likelihoods of the survivors at other rates of each permanence, the others left as assumed.

    A set's likelihood at another rate, relative to that at the rate assumed, is the mean of the ratio over its
    condition, place and factory states as they are given the assumed rate. The set on the bench does not count.
    """
    register, rng = drawing.register, drawing.rng
    marginal = register.marginal(weighed.resampled(HISTORIES, rng))
    log_likelihood = {permanence: np.zeros(len(RATES)) for permanence in PERMANENCES}
    items = dict.fromkeys(PERMANENCES, 0)
    by_rate = np.array([register.assumptions.rates_by_condition(float(rate)) for rate in RATES])
    rows = np.arange(register.bench)
    if len(rows) > MOST_SETS:
        rows = rows[np.linspace(0, len(rows) - 1, MOST_SETS).astype(int)]
    for row in rows:
        latents = draw_latents(marginal, int(row), rng)
        for permanence in PERMANENCES:
            looked = [
                number
                for number, feature in enumerate(register.features)
                if feature.permanence == permanence
                and feature.altered is None
                and (register.sets.codes[row, number] >= 0 or register.sets.codes[row, number] == LOOKS_SERVICED)
            ]
            if looked:
                items[permanence] += len(looked)
                ratio = _ratio(marginal, int(row), latents, looked, by_rate, register.assumptions)
                log_likelihood[permanence] += np.log(ratio.mean(axis=0))
    return RateEvidence(family, log_likelihood, items)


def _ratio(
    marginal: Marginal, row: int, latents: Latents, looked: list[int], by_rate: np.ndarray, assumptions: Assumptions
) -> np.ndarray:
    """(histories, RATES) likelihood of a set's items of one permanence at each rate, over that at the assumed one."""
    features, codes = marginal.tables.features, marginal.sets.codes[row]
    count = len(latents.condition)
    rates = by_rate[:, latents.condition].T  # (histories, RATES)
    log_ratio = np.zeros((count, len(RATES)))
    groups = {f: g for g, group in enumerate(marginal.groups) for f in group.features}
    for number in looked:
        feature = features[number]
        assumed = np.array(assumptions.rates_by_condition(assumptions.alteration_rate(feature)))[latents.condition]
        if codes[number] == LOOKS_SERVICED:
            log_ratio += np.log(rates) - np.log(assumed)[:, None]
            continue
        state, sure = divmod(int(codes[number]), len(SURENESSES))
        altered = table_for(feature, SURENESSES[sure], 1.0, assumptions)[state]
        as_built = table_for(feature, SURENESSES[sure], 0.0, assumptions)[state]
        away = latents.group == groups.get(number, -2)
        line = np.where(away, latents.other_line, latents.line)
        position = np.where(away, latents.other_position, latents.position)
        mix = np.zeros((count, len(feature.all_states)))
        for one in np.unique(line):
            here = np.flatnonzero(line == one)
            mix[here] = mixes_at(marginal.events[one], number, here, position[here])
        gone, kept = (mix @ altered)[:, None], (mix @ as_built)[:, None]
        at_assumed = assumed[:, None] * gone + (1.0 - assumed[:, None]) * kept
        log_ratio += np.log(rates * gone + (1.0 - rates) * kept) - np.log(at_assumed)
    ratio: np.ndarray = np.exp(log_ratio)
    return ratio
