"""The pages in docs/ are true: the example computes as printed, values are the code's, links lead somewhere."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.main import get_command

from setwright.cli import app
from setwright.files import read_family, read_set, read_survivors
from setwright.identity import Answer, Assumptions, identify
from setwright.identity.assumptions import CONDITIONS
from setwright.identity.chain import build_chain
from setwright.identity.evidence import CellEvidence
from setwright.identity.learning import SPREAD
from setwright.identity.looks import OPENING_MINUTES
from setwright.identity.misfit import MISFIT_LIMIT

ROOT = Path(__file__).parents[2]
PAGES = sorted((ROOT / "docs").glob("*.md"))
THINKS = (ROOT / "docs" / "how-it-thinks.md").read_text(encoding="utf-8")
MODEL = (ROOT / "docs" / "the-model.md").read_text(encoding="utf-8")

POINTS, SERIALS, DECIBANS, BITS = 0.04, 150.0, 1.0, 0.08
"""How far the engine may move while it draws better: probabilities, ends of ranges, weights, information."""


def block(name: str) -> str:
    """The file shown under its name."""
    found = re.search(rf"^`{re.escape(name)}`.*?\n\n```\w+\n(.*?)^```", THINKS, re.MULTILINE | re.DOTALL)
    assert found is not None, name
    return found.group(1)


def rows(text: str, heading: str) -> list[list[str]]:
    """The rows of the table whose first line is this."""
    lines = text[text.index(heading) :].splitlines()[2:]
    table = []
    for line in lines:
        if not line.startswith("|"):
            break
        table.append([cell.strip() for cell in line.strip("|").split("|")])
    assert table
    return table


COMPUTED = rows(THINKS, "| files | figure | computed |")
TRIED = rows(THINKS, "| assumption tried | figure | computed |")
ASSUMED = rows(THINKS, "| assumption | value | where it comes from |")

ODD_CABINET = '\n[[observation]]\nfeature = "dial"\nstate = "printed in gold"\n'
ODD_LABEL = '\n[[observation]]\nfeature = "label"\nstate = "form 2"\n'


def same(text: str) -> str:
    return text


def exchanged(*pairs: tuple[str, str]) -> Callable[[str], str]:
    def change(text: str) -> str:
        for old, new in pairs:
            assert text.count(old) == 1
            text = text.replace(old, new)
        return text

    return change


def with_more(text: str) -> Callable[[str], str]:
    return lambda before: before + text


FILES: dict[str, tuple[Callable[[str], str], Callable[[str], str] | None]] = {
    "as above": (same, same),
    "without the survivors": (same, None),
    "serial 3300": (exchanged(('"2310"', '"3300"')), same),
    "stamp B, tone capacitor .005 mfd": (exchanged(('"A"', '"B"'), ('".02 mfd"', '".005 mfd"')), same),
    "without the row s10": (same, lambda text: "".join(x for x in text.splitlines(True) if not x.startswith("s10,"))),
    "dial glass printed in gold as well": (with_more(ODD_CABINET), same),
    "dial glass in gold and label form 2 as well": (with_more(ODD_CABINET + ODD_LABEL), same),
}
"""What is changed in the set's file, and in the survivors' (None: there are none)."""

ALTERED = Assumptions().altered
ASSUMPTIONS = {
    "consumables altered 17.5 %": Assumptions(altered={**ALTERED, "consumable": 0.175}),
    "consumables altered 70 %": Assumptions(altered={**ALTERED, "consumable": 0.7}),
    "altered items listed 40 %": Assumptions(listed_share=0.4),
    "altered items listed 95 %": Assumptions(listed_share=0.95),
    "one stroke weight 0.1": Assumptions(one_stroke=0.1),
    "one stroke weight 0.9": Assumptions(one_stroke=0.9),
    "marriages 0.2 %, gold dial and label form 2": Assumptions(married=0.002),
    "marriages 10 %, gold dial and label form 2": Assumptions(married=0.1),
}


@cache
def answer(files: str, assumptions: str | None = None) -> Answer:
    of_set, of_survivors = FILES[files]
    family = read_family(block("penhollow.toml").encode(), "penhollow.toml").family
    bench = read_set(of_set(block("my-penhollow.toml")).encode(), family, "my-penhollow.toml").set
    survivors = None
    if of_survivors is not None:
        text = of_survivors(block("survivors.csv"))
        survivors = read_survivors(text.encode(), family, "survivors.csv", bench=bench).survivors
    return identify(family, bench, survivors, assumptions=None if assumptions is None else ASSUMPTIONS[assumptions])


def verdict(of: Answer, label: str) -> float:
    return next(entry.probability for entry in of.verdict if entry.label == label)


def observed(of: Answer, feature: str):
    return next(one for one in of.observations if one.feature == feature)


def cut_in(of: Answer, feature: str):
    return next(change.cut_in for change in of.changes if change.feature == feature)


def gone_grey(of: Answer) -> float:
    return next(p.probability for p in of.free[0].patterns if p.order == ("brown", "grey"))


FIGURES: dict[str, tuple[Callable[[Answer], float], float]] = {
    "Second printing": (lambda a: verdict(a, "Second printing"), POINTS),
    "between Second printing and Third printing": (
        lambda a: verdict(a, "between Second printing and Third printing"),
        POINTS,
    ),
    "tone capacitor altered since the factory": (lambda a: observed(a, "tone").altered_probability, POINTS),
    "stamp misread": (lambda a: observed(a, "stamp").misread_probability, POINTS),
    "what the tone capacitor says for the verdict": (lambda a: observed(a, "tone").decibans, DECIBANS),
    "what the stamp says for the verdict": (lambda a: observed(a, "stamp").decibans, DECIBANS),
    "cut-in of the stamp, from": (lambda a: cut_in(a, "stamp").low, SERIALS),
    "cut-in of the stamp, to": (lambda a: cut_in(a, "stamp").high, SERIALS),
    "cut-in of the socket, to": (lambda a: cut_in(a, "socket").high, SERIALS),
    "lamp lead went from brown to grey": (gone_grey, POINTS),
    "cabinet came from another set": (lambda a: a.groups[0].elsewhere_probability, POINTS),
}


def printed(text: str) -> float:
    """A figure of a table: per cent as a share, anything else as it stands."""
    number = float(text.split()[0].replace(",", ""))
    return number / 100.0 if text.endswith("%") else number


@pytest.mark.parametrize(("files", "figure", "computed"), COMPUTED, ids=lambda text: text.replace(" ", "-"))
def test_the_example_computes_as_printed(files: str, figure: str, computed: str) -> None:
    found, tolerance = FIGURES[figure]
    assert found(answer(files)) == pytest.approx(printed(computed), abs=tolerance)


@pytest.mark.parametrize(("tried", "figure", "computed"), TRIED, ids=lambda text: text.replace(" ", "-"))
def test_other_assumptions_do_what_is_printed(tried: str, figure: str, computed: str) -> None:
    files = "dial glass in gold and label form 2 as well" if "gold dial" in tried else "as above"
    found, tolerance = FIGURES[figure]
    assert found(answer(files, tried)) == pytest.approx(printed(computed), abs=tolerance)


def test_the_lamp_lead_is_the_next_look() -> None:
    stated = float(re.search(r"lamp lead comes first \(([\d.]+) bits\)", THINKS).group(1))
    first = answer("as above").next[0]
    assert first.feature == "lamp-lead"
    assert first.bits == pytest.approx(stated, abs=BITS)


def test_the_table_of_assumptions_holds_the_codes_values() -> None:
    assumed = Assumptions()
    values = {row[0]: row[1] for row in ASSUMED}
    for permanence, rate in assumed.altered.items():
        assert printed(values[f"{permanence} items altered"]) == pytest.approx(rate)
    for sure, rate in assumed.misread.items():
        name = "misread when a guess" if sure == "guess" else f"misread when {sure}"
        assert printed(values[name]) == pytest.approx(rate)
    for condition, share, odds in zip(CONDITIONS, assumed.condition_prior, assumed.condition_odds, strict=True):
        assert printed(values[f"sets {condition}"]) == pytest.approx(share)
        if odds != 1.0:
            assert printed(values[f"odds of alteration if {condition}"]) == odds
    assert printed(values["altered items that show a listed state"]) == assumed.listed_share
    assert float(values["a step made at one stroke"].split()[-1]) == assumed.one_stroke
    assert printed(values["marriages"]) == assumed.married
    patterns = ("changed", "one state throughout", "mixed throughout")
    assert tuple(printed(values[f"undocumented feature {p}"]) for p in patterns) == assumed.free_shares
    assert printed(values["ranges hold"]) == assumed.level
    assert printed(values["misfit is called below"]) == MISFIT_LIMIT
    assert printed(values["learnt rates lean on the usual ones within a factor of"]) == pytest.approx(
        math.exp(SPREAD), abs=0.05
    )
    minutes = [float(number) for number in re.findall(r"\d+", values["opening the set"])]
    assert minutes == [OPENING_MINUTES[access] for access in ("back off", "chassis out", "underside", "powered")]


def test_decibans_are_compared_with_the_right_odds() -> None:
    for text, _, like in rows(THINKS, "| decibans | the odds become | like |")[1:4]:
        odds = 10.0 ** (float(text) / 10.0)
        assert printed(re.search(r"to (\d+ %)", like).group(1)) == pytest.approx(odds / (1.0 + odds), abs=0.005)


@pytest.mark.parametrize(
    ("blocks", "stated"), rows(MODEL, "| blocks J | probability that a given block is made at one stroke |")
)
def test_how_often_the_prior_has_a_block_at_one_stroke(blocks: str, stated: str) -> None:
    count, cells = int(blocks), 200
    nothing = CellEvidence(np.arange(cells + 1), np.zeros((2 * count, cells)), np.zeros((count, cells)))
    chain = build_chain(nothing, (2,) * count, Assumptions().one_stroke)
    at_once = np.logaddexp.reduce(chain.before[0] + chain.stroke[0] + chain.after[0]) - chain.total
    assert np.exp(at_once) == pytest.approx(printed(stated), abs=0.006)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_and_named_tests_are_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    links = [link for link in re.findall(r"\]\(([^)#]+)[^)]*\)", text) if "://" not in link]
    assert [link for link in links if not (page.parent / link).exists()] == []
    tests = re.findall(r"`(?:tests/)?((?:\w+/)+test_\w+\.py)`", text)
    assert [name for name in tests if not (ROOT / "tests" / name).is_file()] == []


def all_commands() -> dict[str, Any]:
    """Every command by its words: "identify", "account add"."""
    found: dict[str, Any] = {}
    for name, command in get_command(app).commands.items():
        found |= {f"{name} {inner}": below for inner, below in getattr(command, "commands", {}).items()}
        found[name] = command
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_commands_and_options_exist(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    commands = all_commands()
    for line in re.findall(r"^(?:\w+=\S+ )*setwright (\w.*)$", text, re.MULTILINE):
        words = line.split()
        command = commands.get(" ".join(words[:2])) or commands[words[0]]
        options = {option for parameter in command.params for option in parameter.opts}
        assert set(re.findall(r"--[\w-]+", line)) <= options
    known = {option for command in commands.values() for parameter in command.params for option in parameter.opts}
    assert set(re.findall(r"`(--[\w-]+)", text)) <= known


def test_the_modules_named_exist() -> None:
    section = MODEL.split("## 6.")[0]
    named = {name for group in re.findall(r"\(`([\w/]+)`(?:, `([\w/]+)`)?\)", section) for name in group if name}
    identity = ROOT / "src" / "setwright" / "identity"
    assert named
    assert sorted(name for name in named if not (identity / f"{name}.py").is_file()) == []
