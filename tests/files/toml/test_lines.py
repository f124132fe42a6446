"""The scanner's lines against what the standard parser finds."""

from __future__ import annotations

import tomllib

import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from setwright.files.toml.lines import line_numbers

TEXT = '''\
# comment [not] = a table
title = "a # b [c] \\" ]"   # comment
'quoted key' = 'x'
"esc\\u0061ped" = 1

[owner]
dotted.name = 3
when = 1979-05-27 07:32:00Z
long = """
[not.a.table]
key = "value" \\""" """""
literal = \'\'\'
it's [[fine]]\'\'\'\'

[[feature]]
id = "a"
states = [
  "one", # first
  [ "two",
    "three" ],
]
[feature.sub]
deep = { x = 1, y = [ { z = 2 } ] }

[[feature]]
id = "b"
  [[feature.inner]]
  n = 1
  [[feature.inner]]
  n = 2
'''


def test_lines_of_everything():
    tomllib.loads(TEXT)
    lines = line_numbers(TEXT)
    expected = {
        ("title",): 2,
        ("quoted key",): 3,
        ("escaped",): 4,
        ("owner",): 6,
        ("owner", "dotted", "name"): 7,
        ("owner", "when"): 8,
        ("owner", "long"): 9,
        ("owner", "literal"): 12,
        ("feature", 0): 15,
        ("feature", 0, "states", 0): 18,
        ("feature", 0, "states", 1, 1): 20,
        ("feature", 0, "sub", "deep", "y", 0, "z"): 23,
        ("feature", 1, "id"): 26,
        ("feature", 1, "inner", 1, "n"): 30,
    }
    assert {path: lines.get(path) for path in expected} == expected


def paths(value, path=()):
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from paths(inner, (*path, number))


keys = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=6)
scalars = (
    st.integers(-(2**62), 2**62)
    | st.booleans()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12)
    | st.dates()
)
values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3), max_leaves=6
)
tables = st.dictionaries(keys, values, max_size=4)


@given(st.dictionaries(keys, values | st.lists(tables, min_size=1, max_size=3), max_size=5))
def test_every_key_of_any_document_has_a_line_on_which_it_stands(document):
    text = tomlkit.dumps(document)
    data = tomllib.loads(text)
    lines = line_numbers(text)
    assert set(lines) == set(paths(data))
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())
