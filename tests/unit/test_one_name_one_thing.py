"""One name, one thing: what a class or a type is called stands for nothing else.

Read from the source, so that a class within a function counts, too. Packages that may
not import from each other may each write down the same alias.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

import loopsolver

PACKAGE = Path(loopsolver.__file__).parent


def definitions(source: str) -> Iterator[tuple[str, str]]:
    """Yield the name of each class and type alias of a module, and what it stands for.

    An alias is what a module assigns to a name in CapWords; a class stands for itself.
    """
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            yield node.name, f"class at line {node.lineno}"
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            name = node.targets[0].id
            if name.lstrip("_")[:1].isupper() and not name.isupper():
                yield name, ast.unparse(node.value)


def double(sources: dict[str, str]) -> dict[str, list[str]]:
    """Return the names that stand for more than one thing, and where they do."""
    things: defaultdict[str, dict[str, str]] = defaultdict(dict)
    for module, source in sources.items():
        for name, thing in definitions(source):
            is_class = thing.startswith("class ")
            things[name].setdefault(f"{module}: {thing}" if is_class else thing, module)
    return {
        name: sorted(meant.values()) for name, meant in things.items() if len(meant) > 1
    }


def test_no_class_or_alias_of_the_package_stands_for_two_things() -> None:
    files = sorted(PACKAGE.rglob("*.py"))
    assert len(files) > 200
    sources = {
        file.relative_to(PACKAGE).as_posix(): file.read_text(encoding="utf-8")
        for file in files
    }
    assert double(sources) == {}


@pytest.mark.parametrize(
    ("first", "second", "names"),
    [
        ("class Arc: ...", "class Arc: ...", {"Arc"}),
        ("Key = tuple[int, int]", "class Key: ...", {"Key"}),
        ("Key = tuple[int, int]", "Key = tuple[float, float]", {"Key"}),
        ("Key = tuple[int, int]", "Key = tuple[int, int]", set()),
        ("def f():\n    class _Way: ...", "class _Way: ...", {"_Way"}),
        ("MOST = 1", "MOST = 2", set()),
        ("class Arc: ...", "class Line: ...", set()),
    ],
)
def test_what_counts_as_two_things(first: str, second: str, names: set[str]) -> None:
    assert set(double({"a.py": first, "b.py": second})) == names
