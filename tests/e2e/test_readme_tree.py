"""The tree in DEVELOPERS.md is that of the package, in the modules' own words.

``.venv/bin/python tests/e2e/test_readme_tree.py`` lays it anew.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "DEVELOPERS.md"
BLOCK = re.compile(r"(?<=^```text\n)loopsolver/\n.*?(?=^```$)", flags=re.M | re.S)

# As in the import contract of pyproject.toml, the lowest first.
ORDER = (
    "cutting",
    "drafting",
    "geometry",
    "tube",
    "shelf",
    "scene",
    "clearance",
    "routing",
    "effort",
    "square",
    "angled",
    "diagnosis",
    "loop",
    "plan",
    "fitup",
    "report",
    "workshop",
    "jigs",
    "view",
    "page",
    "cli",
)


def first_line(module: Path) -> str:
    """Return what a module says of itself, in one line."""
    words = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8")))
    assert words, f"{module} has no docstring"
    return words.splitlines()[0].replace("`", "").rstrip(".")


def place(folder: Path) -> tuple[int, str]:
    """Return where a package stands among its neighbours; those unknown come last."""
    known = folder.name in ORDER
    return (ORDER.index(folder.name) if known else len(ORDER), folder.name)


def lines(folder: Path, depth: int = 1) -> Iterator[str]:
    """Yield a line for every module and package below a folder."""
    indent = "  " * depth
    for module in sorted(folder.glob("*.py")):
        if module.name != "__init__.py":
            yield f"{indent + module.name:<24} {first_line(module)}"
    packages = (path.parent for path in folder.glob("*/__init__.py"))
    for package in sorted(packages, key=place):
        name = f"{indent}{package.name}/"
        yield f"{name:<24} {first_line(package / '__init__.py')}"
        yield from lines(package, depth + 1)


def tree() -> str:
    """Return the tree as it should stand in DEVELOPERS.md."""
    return "\n".join(["loopsolver/", *lines(ROOT / "loopsolver"), ""])


def test_developers_tree_is_that_of_the_package() -> None:
    found = BLOCK.search(PAGE.read_text(encoding="utf-8"))
    assert found is not None
    assert found[0].splitlines() == tree().splitlines(), (
        "run `.venv/bin/python tests/e2e/test_readme_tree.py`, which lays it anew"
    )


if __name__ == "__main__":
    page = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(BLOCK.sub(lambda _: tree(), page), encoding="utf-8")
