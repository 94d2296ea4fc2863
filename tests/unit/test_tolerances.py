"""Tolerances have a name and a reason, and stand in one module alone."""

import ast
from collections.abc import Iterator
from pathlib import Path

import loopsolver
from loopsolver import tolerances

PACKAGE = Path(loopsolver.__file__).parent
SMALL = 1e-3
"""No figure of a page, a picture or a case is as small as this: it is a tolerance."""
FINE = 4
"""Nobody reads so many decimals: to round to them is to say what counts as equal."""
ELSEWHERE = ("tolerances.py", "routing/effort/")
"""The tolerances, and how hard the search tries: springs and steps of its numerics."""


def bare(tree: ast.AST) -> Iterator[int]:
    """Lines with a number below `SMALL`, or with one rounded to `FINE` decimals."""
    for node in ast.walk(tree):
        match node:
            case ast.Constant(value=float(value)) if 0.0 < value <= SMALL:
                yield node.lineno
            case ast.BinOp(
                left=ast.Constant(), op=ast.Pow(), right=ast.UnaryOp(op=ast.USub())
            ):
                yield node.lineno
            case ast.Call(
                func=ast.Name(id="round") | ast.Attribute(attr="round" | "around"),
                args=[_, ast.Constant(value=int(decimals))],
            ) if decimals >= FINE:
                yield node.lineno
            case ast.keyword(
                arg="decimals", value=ast.Constant(value=int(decimals))
            ) if decimals >= FINE:
                yield node.lineno


def test_no_tolerance_is_bare() -> None:
    modules = {
        path.relative_to(PACKAGE).as_posix(): path for path in PACKAGE.rglob("*.py")
    }
    found = [
        f"{name}:{line}"
        for name, path in sorted(modules.items())
        if not name.startswith(ELSEWHERE)
        for line in bare(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert found == []


def test_bare_tolerances_are_seen() -> None:
    seen = (
        "a < 1e-9",
        "a - 1E-6 > b",
        "0.0005",
        "10 ** -7",
        "round(a, 6)",
        "np.round(a, 9)",
        "a.round(decimals=5)",
        "-1e-3",
    )
    passed = (
        "a < 0.05",
        "round(a, 3)",
        "round(a)",
        "2 ** 3",
        "round(a, DIGITS)",
        "0.0",
    )
    assert all(list(bare(ast.parse(line))) == [1] for line in seen)
    assert not any(list(bare(ast.parse(line))) for line in passed)


def test_every_tolerance_says_why() -> None:
    """A string right after each, as the module's own habit is."""
    path = Path(tolerances.__file__)
    body = ast.parse(path.read_text(encoding="utf-8")).body
    names = [
        (node.target.id, after)
        for node, after in zip(body, [*body[1:], None], strict=True)
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name)
    ]
    assert len(names) > 40
    for name, after in names:
        assert isinstance(after, ast.Expr), name
        assert isinstance(after.value, ast.Constant), name
        assert isinstance(after.value.value, str), name


def test_every_tolerance_is_used() -> None:
    named = {name for name in vars(tolerances) if name.isupper()}
    used = {
        node.id if isinstance(node, ast.Name) else node.attr
        for path in PACKAGE.rglob("*.py")
        if path.name != "tolerances.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Name | ast.Attribute)
    }
    assert named - used == set()
