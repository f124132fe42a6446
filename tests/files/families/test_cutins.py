"""Documented bounds: which change they mean, and whether a production history is left."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems, read_family

LAST = 9


def cutin(feature: str = "converter", **keys: object) -> str:
    lines = "".join(
        f"{key.rstrip('_')} = {value if isinstance(value, int) else chr(34) + value + chr(34)}\n"
        for key, value in keys.items()
    )
    return f'[[cutin]]\nfeature = "{feature}"\n{lines}'


BACK_AGAIN = '[[version]]\nid = "third"\nbased_on = "late"\nstates = { converter = "6SB7Y" }\n'

REFUSALS = {
    "neither bound": (cutin(), 'cutin 1 (feature "converter"): says nothing; give after, before or both'),
    "upside down": (cutin(after=9000, before=4000), "key before: the change cannot be in every set from 4000 on and in no"),
    "equal": (cutin(after=4000, before=4000), "before must be larger than after"),
    "unknown feature": (cutin("convertr", after=1), 'key feature: there is no feature "convertr" in the family. Did you mean "converter"?'),
    "a variant": (cutin("finish", after=1), '"finish" is a variant and has no cut-in'),
    "unknown source": (cutin(after=1, source="notes"), 'there is no source "notes"; the sources are notes-1'),
    "unknown line": (cutin(after=1, line="export"), 'there is no line "export"; known: main'),
    "state not listed": (cutin(after=1, from_="6BE-6"), 'key from: "6BE-6" is not among the states of converter'),
    "no change": (cutin(after=1, from_="6BE6", to="6BE6"), 'from and to are both "6BE6"'),
    "not documented": (cutin(after=1, from_="6BE6"), 'documents this change of "converter"; documented are "6SB7Y" to "6BE6"'),
    "never changes": (cutin("tone-capacitor", after=1), 'documents this change of "tone-capacitor", nor any other'),
    "beyond the end": (cutin(after=60000), 'line "main" ends at 60000, so a change that is in no set up to 60000'),
    "before the beginning": (cutin(before=0), 'line "main" begins at 1'),
    "contradicts another": (cutin(after=5000) + cutin(before=5000), "cutin 2 (feature \"converter\"), key before: contradicts the bound on line 49"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSALS)
def test_refused(case, family_text, family_problems):
    text, expected = REFUSALS[case]
    problems = family_problems(family_text + text)
    assert len(problems) == 1, problems
    assert expected in problems[0]
    assert problems[0].startswith("heron.toml, line ")


def test_a_change_back_must_say_which_way(family_text, family_problems):
    (problem,) = family_problems(family_text + BACK_AGAIN + cutin(after=4000))
    assert "does not say which change is meant" in problem
    assert family_problems(family_text + BACK_AGAIN + cutin(after=4000, to="6SB7Y")) == []


def test_a_change_made_twice_in_a_line_cannot_be_meant(family_text, family_problems):
    again = '[[version]]\nid = "fourth"\nbased_on = "late"\n'
    (problem,) = family_problems(family_text + BACK_AGAIN + again + cutin(after=4000, to="6BE6"))
    assert "happens more than once" in problem


def test_a_change_in_two_lines_must_say_which(family_text, family_problems):
    export = '[[version]]\nid = "x1"\nline = "export"\nbased_on = "early"\n[[version]]\nid = "x2"\nline = "export"\nbased_on = "late"\n'
    (problem,) = family_problems(family_text + export + cutin(after=4000))
    assert "give from, to and line" in problem
    assert family_problems(family_text + export + cutin(after=4000, line="export")) == []


def test_a_bound_is_judged_on_its_own_lines_axis(family_text, family_problems):
    block = '[[serial_block]]\nprefix = "Q"\nfirst = 1\nlast = 500\n'
    (problem,) = family_problems(family_text + block + cutin(after=4000))
    assert 'line "main" ends at 500' in problem


def test_a_refused_version_does_not_make_its_bounds_look_wrong(family_text, family_problems):
    text = family_text.replace('{ converter = "6BE6" }', '{ converter = "6BE-6" }') + cutin(after=4000, to="6BE6")
    assert len(family_problems(text)) == 1


def test_a_change_of_an_earlier_gap_after_one_of_a_later_gap(family_text, family_problems):
    third = '[[version]]\nid = "third"\nbased_on = "late"\nstates = { tone-capacitor = "0.0047 uF" }\n'
    bounds = cutin(after=9000) + cutin("tone-capacitor", before=5000)
    (problem,) = family_problems(family_text + third + bounds)
    assert (
        'cutin 2 (feature "tone-capacitor"), key before: "tone-capacitor" would be changed by 5000, but "converter"'
        in problem
    )
    assert 'changed in an earlier step (from "early" to "late", this one from "late" to "third")' in problem
    assert "is documented on line 53 as in no set up to 9000" in problem


HEAD = f'format = "setwright-family/1"\nid = "f"\nname = "F"\nkind = "other"\nfirst_serial = 1\nlast_serial = {LAST}\n'
FEATURES = "".join(
    f'[[feature]]\nid = "{name}"\naccess = "outside"\npermanence = "stamped"\nstates = ["old", "new"]\n'
    for name in "abc"
)


@st.composite
def histories(draw):
    """Four versions; each feature old up to one of them and new from a later one on, some silent in between; bounds."""
    told = {}
    bounds = {}
    for name in "abc":
        last_old = draw(st.integers(0, 2))
        first_new = draw(st.integers(last_old + 1, 3))
        told[name] = (last_old, first_new)
        after = draw(st.none() | st.integers(0, LAST - 1))
        before = draw(st.none() | st.integers(1, LAST))
        if after is not None and before is not None and after >= before:
            after, before = None, before
        bounds[name] = (after, before)
    return told, bounds


def text_of(told, bounds):
    text = HEAD + FEATURES
    for version in range(4):
        states = {n: "old" if version <= a else "new" for n, (a, b) in told.items() if version <= a or version >= b}
        inside = ", ".join(f'{name} = "{state}"' for name, state in states.items())
        text += f'[[version]]\nid = "v{version}"\nstates = {{ {inside} }}\n'
    for name, (after, before) in bounds.items():
        if after is not None or before is not None:
            text += f'[[cutin]]\nfeature = "{name}"\n'
            text += "" if after is None else f"after = {after}\n"
            text += "" if before is None else f"before = {before}\n"
    return text


def is_possible(told, bounds):
    """By enumeration: cut-ins within their bounds, and a gap for each change such that the gaps stand in order."""
    for cut_ins in product(range(1, LAST + 1), repeat=3):
        fits = all(
            (after is None or cut_in > after) and (before is None or cut_in <= before)
            for cut_in, (after, before) in zip(cut_ins, bounds.values(), strict=True)
        )
        if not fits:
            continue
        for gaps in product(*(range(a, b) for a, b in told.values())):
            pairs = [(gaps[i], cut_ins[i], gaps[j], cut_ins[j]) for i in range(3) for j in range(3)]
            if all(one <= other for gap, one, later, other in pairs if gap < later):
                return True
    return False


@given(histories())
def test_refused_exactly_where_no_history_is_possible(history):
    told, bounds = history
    text = text_of(told, bounds)
    try:
        read_family(text.encode())
        accepted = True
    except FileProblems:
        accepted = False
    assert accepted == is_possible(told, bounds), text
