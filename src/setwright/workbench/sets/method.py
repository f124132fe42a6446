"""How an answer was computed, for the quiet end of its page."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer, LearnedRate
from setwright.identity.phrases import method_phrase
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.site.words import KEEP, count, listing, percent

AGREE = 1.05
"""R-hat from which chains are not said to agree; common practice, no source."""


MOST_TEACHERS_NAMED = 3


@dataclass(frozen=True, slots=True)
class RateRow:
    """A rate of alteration as the survivors teach it, beside the usual one."""

    what: str
    learnt: str
    span: str
    default: str
    items: str


@dataclass(frozen=True, slots=True)
class MethodNotes:
    """One line, the sentences behind it, and the learnt rates. rates_used : these were used for the answer."""

    phrase: str
    sentences: tuple[str, ...]
    learned: tuple[RateRow, ...]
    rates_used: bool


def method_notes(answer: Answer) -> MethodNotes:
    """What the page says of the computation."""
    phrase = method_phrase(answer.method)
    return MethodNotes(
        phrase=phrase[0].upper() + phrase[1:],
        sentences=tuple(_sentences(answer)),
        learned=tuple(_rate_row(rate) for rate in answer.learned),
        rates_used=answer.method.learned_rates,
    )


def rates_sentence(case: IdentityCase) -> str:
    """Which rates of alteration an answer used that was asked with learnt ones; "" for any other."""
    if not case.learned:
        return ""
    if not case.answer.method.learned_rates:
        return "Worked out with the usual rates of alteration, because none could be learnt."
    others = case.teachers
    if len(others) > MOST_TEACHERS_NAMED:
        others = (count(len(others), "other family", "other families"),)
    of = listing(["this family", *others])
    return f"Worked out with rates of alteration learnt from survivors of {of}, not with the usual ones."


def _sentences(answer: Answer) -> list[str]:
    method = answer.method
    kinds = {
        "exact": "Every probability above is summed exactly; nothing was drawn at random for it.",
        "weighted": (
            "What is not known of the survivors (condition, serial, line) and what no document settles was drawn at "
            "random, and each draw weighted by how well it fits. Effective draws are how many unweighted ones they "
            "are worth."
        ),
        "sampled": (
            "What is not known of the survivors and what no document settles was drawn at random in several chains, "
            "because too few weighted draws would have counted."
        ),
    }
    lines = [kinds[method.kind]]
    if method.r_hat is not None:
        agree = "they do" if method.r_hat < AGREE else "they do not quite: take the last digits with care"
        lines.append(f"R-hat is near 1 where the chains agree; here {agree}.")
    lines.append(f"The run was cut into at most {count(method.cells, 'cell')} for each line.")
    lines.append(
        f"Misfit check: {percent(answer.misfit_p_value)} of sets drawn from the answer look at least as odd as "
        "this one."
    )
    often = "How often parts are altered or misread"
    if method.learned_rates:
        lines.append(
            "How often parts are altered was learnt from survivors, unless the family file says it of a feature."
        )
        often = "How often parts are misread"
    lines.append(
        f"{often}, how often several changes came at one stroke and how often cabinets "
        "and chassis were exchanged is common practice without a source. Weights of evidence are in decibans: ten "
        "times the logarithm of the factor by which one observation, added to all the others, changes the odds of "
        "the leading verdict."
    )
    return lines


def _rate_row(rate: LearnedRate) -> RateRow:
    known = rate.default == rate.default  # a rate without a default has NaN there
    return RateRow(
        what=rate.what,
        learnt=_figure(rate.value),
        span=f"{100 * rate.low:.1f} to {_figure(rate.high)}",
        default=_figure(rate.default) if known else "none",
        items=count(rate.items, "item"),
    )


def _figure(rate: float) -> str:
    """A rate with one decimal, because most are small."""
    return f"{100 * rate:.1f}{KEEP}%"
