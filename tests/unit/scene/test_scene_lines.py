"""Lines of keys: every key that tomllib reads is found, on the line it was put on."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopsolver.scene.lines import KeyPath, key_lines, line_of, written_path


def every_path(data: Any, path: KeyPath = ()) -> set[KeyPath]:
    """Return the path of every key and array element in parsed data."""
    children: Any = ()
    if isinstance(data, dict):
        children = data.items()
    elif isinstance(data, list):
        children = enumerate(data)
    paths = {path} if path else set()
    return paths.union(*(every_path(child, (*path, key)) for key, child in children))


TRICKY = {
    "comments and blank lines": "# a\n\na = 1 # b = 2\n\n# c = 3\nd = 4",
    "strings that look like TOML": 'a = "b = 1\\n[c]"\nd = \'[e] # "\'\nf = 2',
    "long strings": 'a = """\nb = 1\n\\""" [c]\n""""\nd = \'\'\'\n[e]\n\'\'\'\'\'\nf = 1',
    "empty strings": "a = \"\"\nb = ''\nc = \"\"\"\"\"\"\nd = ''''''\ne = 1",
    "arrays over lines": "a = [ # one\n  1, # two\n  [2,\n   3],\n]\nb = [[], {}]\nc = 1",
    "inline tables": 'a = { b = 1, c = { d = [1, { e = 2 }] }, "f g" = "}" }\nh = 1',
    "dotted and quoted keys": "a.b.c = 1\na . 'd e' = 2\n\"f.g\".h = 3\n3.14 = 4",
    "arrays of tables": (
        "[[a]]\nb = 1\n[[a]]\nb = 2\n[a.c]\nd = 3\n[[a.e]]\nf = 4\n[[a.e]]\n[a.e.g]\nh = 5"
    ),
    "headers out of order": "[a.b.c]\nd = 1\n[a]\ne = 2\n[ a . b ]\nf = 3",
    "dates and numbers": "a = 1979-05-27 07:32:00Z\nb = 07:32:00\nc = +1_000\nd = -inf",
    "carriage returns": "a = 1\r\n[b]\r\nc = [\r\n1,\r\n2]\r\nd = 3\r\n",
    "escaped keys": '"\\u0061 \\"b\\"" = 1\n"\\U0001F41F" = 2\n"" = 3',
}


@pytest.mark.parametrize("name", TRICKY)
def test_finds_the_same_keys_as_tomllib(name):
    text = TRICKY[name]
    assert set(key_lines(text)) == every_path(tomllib.loads(text))


writable = st.characters(codec="utf-8", exclude_characters="\x7f")
keys = st.one_of(
    st.text("ab-_9", min_size=1, max_size=3),
    st.text(writable, max_size=4),
)
scalars = st.one_of(
    st.integers(-99, 99),
    st.booleans(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(writable, max_size=8),
)
values = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(keys, inner, max_size=3)
    ),
    max_leaves=8,
)


def toml_value(value: Any) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return json.dumps(value, ensure_ascii=False)
        case list():
            return f"[{', '.join(toml_value(each) for each in value)}]"
        case dict():
            pairs = (f"{toml_key(key)} = {toml_value(v)}" for key, v in value.items())
            return f"{{ {', '.join(pairs)} }}"
    return repr(value)


def toml_key(key: str) -> str:
    return json.dumps(key, ensure_ascii=False)


@settings(derandomize=True, deadline=None, max_examples=150)
@given(st.dictionaries(keys, values, max_size=6), st.integers(0, 3))
def test_every_key_is_found_on_its_own_line(table, blanks):
    text = "\n" * blanks
    wanted = {}
    for number, (key, value) in enumerate(table.items(), start=blanks + 1):
        text += f"{toml_key(key)} = {toml_value(value)} # x = 1\n"
        wanted[key] = number
    data = tomllib.loads(text)
    lines = key_lines(text)
    assert set(lines) == every_path(data)
    assert {path: line for path, line in lines.items() if len(path) == 1} == {
        (key,): number for key, number in wanted.items()
    }


def test_lines_of_headers_and_elements():
    text = (
        "[a.b]\n"  # 1
        "c = [10,\n"  # 2
        "  20, [30,\n"  # 3
        "  40]]\n"  # 4
        "[[d]]\n"  # 5
        "[[d]]\n"  # 6
        "e = { f = 1 }\n"  # 7
        "[a]\n"  # 8
        "g = 1\n"  # 9
    )
    lines = key_lines(text)
    assert lines == {
        ("a",): 8,
        ("a", "b"): 1,
        ("a", "b", "c"): 2,
        ("a", "b", "c", 0): 2,
        ("a", "b", "c", 1): 3,
        ("a", "b", "c", 2): 3,
        ("a", "b", "c", 2, 0): 3,
        ("a", "b", "c", 2, 1): 4,
        ("d",): 5,
        ("d", 0): 5,
        ("d", 1): 6,
        ("d", 1, "e"): 7,
        ("d", 1, "e", "f"): 7,
        ("a", "g"): 9,
    }


def test_a_missing_key_is_on_the_line_of_its_table():
    lines = key_lines("[a]\nb = 1\n[a.c]\nd = 1\n")
    assert line_of(lines, ("a", "c", "missing")) == 3
    assert line_of(lines, ("a", "missing")) == 1
    assert line_of(lines, ("missing",)) is None


@pytest.mark.parametrize(
    "text", ["a = [1", "a = {", 'a = "b', "[a", "= 1", "a 1", "[" * 999]
)
def test_what_is_no_toml_gives_no_more_lines(text):
    assert set(key_lines(f"z = 1\n{text}")) >= {("z",)}


@pytest.mark.parametrize(
    ("path", "written"),
    [
        ((), ""),
        (("components", "pump", "ports", "out", "direction"),
         "components.pump.ports.out.direction"),
        (("runs", 1, "from"), "runs[2].from"),
        (("components", "top tank", "bodies", 0, "centre", 2, 0),
         'components."top tank".bodies[1].centre[3][1]'),
        (("a.b",), '"a.b"'),
        (("gr\N{LATIN SMALL LETTER U WITH DIAERESIS}n",),
         '"gr\N{LATIN SMALL LETTER U WITH DIAERESIS}n"'),
    ],
)  # fmt: skip
def test_paths_are_written_as_in_the_file(path, written):
    assert written_path(path) == written
