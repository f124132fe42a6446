"""Findings in a phrase: the words that terminal and pages share."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.identity.answer import FreeAnswer, LearnedRate, Method, Pattern
from setwright.identity.explain import percent

WORTH_NAMING = 0.05
"""A marriage, or another pattern of a free feature, less probable than this is not named."""

_LEAST = 1e-6


def method_phrase(method: Method) -> str:
    """How an answer was computed, in one line.

    >>> method_phrase(Method("weighted", 1200, 870.4, 0, 256))
    'weighted: 1,200 joint histories, 870 effective, seed 0'
    >>> method_phrase(Method("sampled", 4000, 350.0, 7, 256, 1.012))
    'sampled: 4,000 joint histories in several chains, 350 effective, R-hat 1.01, seed 7'
    >>> method_phrase(Method("exact", None, None, 0, 256))
    'exact: every documented history summed, seed 0'
    """
    if method.kind == "exact":
        parts = ["every documented history summed"]
    else:
        chains = " in several chains" if method.kind == "sampled" else ""
        parts = [f"{method.draws or 0:,} joint histories{chains}"]
    if method.effective_draws is not None:
        parts.append(f"{method.effective_draws:,.0f} effective")
    if method.r_hat is not None:
        parts.append(f"R-hat {method.r_hat:.2f}")
    return f"{method.kind}: {', '.join(parts)}, seed {method.seed}"


def hedged(probability: float, method: Method) -> float:
    """A probability for showing: where histories were drawn, none or all of them is not quite nought or one.

    >>> hedged(0.0, Method("weighted", 1200, 870.4, 0, 256)) > 0.0, hedged(0.0, Method("exact", None, None, 0, 256))
    (True, 0.0)
    """
    return probability if method.kind == "exact" else min(max(probability, _LEAST), 1.0 - _LEAST)


def pattern_phrase(pattern: Pattern, shares: Mapping[str, float]) -> str:
    """How a feature that no document mentions may have run through production.

    >>> pattern_phrase(Pattern("changes", ("brass", "painted"), 0.8), {})
    'changed from brass to painted'
    >>> pattern_phrase(Pattern("throughout", ("brass",), 0.8), {})
    'brass from first to last'
    >>> pattern_phrase(Pattern("mixed", (), 0.8), {"brass": 0.4, "painted": 0.6})
    'side by side from first to last (painted 60 %, brass 40 %)'
    """
    if pattern.kind == "changes":
        first, *rest = pattern.order
        return f"changed from {first} to {', then to '.join(rest)}"
    if pattern.kind == "throughout":
        return f"{pattern.order[0]} from first to last"
    ordered = sorted(shares.items(), key=lambda item: -item[1])
    words = ", ".join(f"{state} {percent(share)}" for state, share in ordered)
    return f"side by side from first to last{f' ({words})' if words else ''}"


def other_patterns(free: FreeAnswer) -> str:
    """The patterns after the most probable one, with their probabilities; "" where none is worth naming."""
    kinds = {"changes": "changed", "throughout": "one state throughout", "mixed": "side by side"}
    words = []
    for pattern in free.patterns[1:]:
        if pattern.probability >= WORTH_NAMING:
            name = kinds[pattern.kind] if pattern.kind == "mixed" else pattern_phrase(pattern, free.shares)
            words.append(f"{name} {percent(pattern.probability)}")
    return ", ".join(words)


def rate_phrase(rate: LearnedRate) -> str:
    """A learnt rate with its range and the default beside it.

    >>> rate_phrase(LearnedRate("riveted", 0.011, 0.002, 0.034, 0.02, 48))
    '1.1 % (0.2 to 3.4 %, from 48 items); default 2.0 %'
    """
    default = "" if rate.default != rate.default else f"; default {_figure(rate.default)} %"  # a NaN is not itself
    items = f", from {rate.items:,} {'item' if rate.items == 1 else 'items'}" if rate.items else ""
    return f"{_figure(rate.value)} % ({_figure(rate.low)} to {_figure(rate.high)} %{items}){default}"


def apart_phrase(apart: float) -> str:
    """How many changes lie between two sets.

    >>> apart_phrase(0.4), apart_phrase(1.02), apart_phrase(0.01)
    ('0.4 changes apart', '1 change apart', 'no change apart')
    """
    if apart < 0.05:
        return "no change apart"
    shown = f"{apart:.1f}".removesuffix(".0")
    return f"{shown} {'change' if shown == '1' else 'changes'} apart"


def _figure(rate: float) -> str:
    return f"{100 * rate:.1f}"
