"""One name, one thing: a class, type or constant shares its name with no other.

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
    """Yield the name of each class, type alias and constant, and what it stands for.

    An alias or a constant is what a module assigns to a name that begins with a capital
    letter; a class stands for itself. Constants of one module alone, which begin with an
    underscore, may be called as others are.
    """
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            yield node.name, f"class at line {node.lineno}"
    for node in tree.body:
        if isinstance(node, ast.Assign):
            target, value = node.targets[0], ast.unparse(node.value)
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            target, value = node.target, ast.unparse(node.value)
        else:
            continue
        if isinstance(target, ast.Name) and is_shared(target.id):
            yield target.id, value


def is_shared(name: str) -> bool:
    """Return whether a name is an alias's, or a constant's for other modules."""
    if name.startswith("_") and name.isupper():
        return False
    return name.lstrip("_")[:1].isupper()


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


def test_no_class_alias_or_constant_stands_for_two_things() -> None:
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
        ("MOST: Final = 1", "MOST = 2", {"MOST"}),
        ("MOST: Final = 1", "MOST = 1", set()),
        ("_MOST = 1", "_MOST = 2", set()),
        ("class Arc: ...", "class Line: ...", set()),
    ],
)
def test_what_counts_as_two_things(first: str, second: str, names: set[str]) -> None:
    assert set(double({"a.py": first, "b.py": second})) == names
