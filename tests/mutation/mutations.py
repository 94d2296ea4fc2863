"""Small faults that can be put into a module: where, of which kind, one at a time.

Left alone is what no test should hold: docstrings and the text of messages, annotations,
decorators, ``__all__``, ``strict=`` of `zip`, type checkers' branches, and the numbers of
modules that say how much slack there is or how hard a search tries.
"""

from __future__ import annotations

import ast
import copy
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

SLACK: Final = ("tolerances", "effort")
"""Modules, or packages, whose numbers are slack: a little more is as good."""

_UNTOUCHED_FIELDS: Final = {"annotation", "returns", "decorator_list", "type_comment"}

_COMPARISONS: Final[dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_ARITHMETIC: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
_OTHER_NAMES: Final = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "minimum": "maximum",
    "maximum": "minimum",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutation:
    """One fault: the kind of it, the line it is in, and the module's text with it.

    Attributes
    ----------
    kind : str
        What was done.
    line : int
        Where, in the module as it is written.
    before, after : str
        The lines that differ, as `ast.unparse` writes them.
    text : str
        The whole module with the fault.
    """

    kind: str
    line: int
    before: str
    after: str
    text: str


_Change = tuple[str, Callable[[ast.AST], ast.AST]]
"""A kind of fault, and what makes a node one."""


@dataclass(frozen=True, slots=True)
class _Site:
    """A node that can be made another: the number of the node, and how."""

    number: int
    kind: str
    change: Callable[[ast.AST], ast.AST]


def drawn(
    source: str, *, slack: bool, count: int, rng: random.Random
) -> list[Mutation]:
    """Return some faults of a module, of as many kinds as may be; fewer if it has fewer.

    First a kind is drawn, then a place: otherwise nearly all would be of numbers.
    """
    tree = ast.parse(source)
    by_kind = _by_kind(tree, slack=slack)
    found: list[Mutation] = []
    while len(found) < count and by_kind:
        kinds = sorted(set(by_kind) - {one.kind for one in found}) or sorted(by_kind)
        kind = rng.choice(kinds)
        sites = by_kind[kind]
        mutation = _mutated(tree, sites.pop(rng.randrange(len(sites))))
        if not sites:
            del by_kind[kind]
        if mutation.before != mutation.after:
            found.append(mutation)
    return found


def count_of(source: str, *, slack: bool) -> int:
    """Return how many faults there are that can be put into a module."""
    return sum(map(len, _by_kind(ast.parse(source), slack=slack).values()))


def _by_kind(tree: ast.Module, *, slack: bool) -> dict[str, list[_Site]]:
    """Return the sites of a module, those of numbers left out where they are slack."""
    found: dict[str, list[_Site]] = {}
    for site in _sites(tree):
        if not (slack and site.kind == "number"):
            found.setdefault(site.kind, []).append(site)
    return found


def _mutated(tree: ast.Module, site: _Site) -> Mutation:
    """Return a module with one node made another."""
    faulty = copy.deepcopy(tree)
    node = list(ast.walk(faulty))[site.number]
    line = _line(faulty, node)
    _replace(faulty, node, site.change(node))
    text = ast.unparse(ast.fix_missing_locations(faulty))
    before, after = _differing(ast.unparse(tree).splitlines(), text.splitlines())
    return Mutation(kind=site.kind, line=line, before=before, after=after, text=text)


def _differing(old: Sequence[str], new: Sequence[str]) -> tuple[str, str]:
    """Return the lines in which two texts differ, all between the first and the last."""
    head = 0
    while head < min(len(old), len(new)) and old[head] == new[head]:
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    return (
        " ".join(line.strip() for line in old[head : len(old) - tail]),
        " ".join(line.strip() for line in new[head : len(new) - tail]),
    )


def _line(tree: ast.Module, node: ast.AST) -> int:
    """Return the line of a node; inside a string that is put together, its statement's."""
    holding = [
        one.lineno
        for one in ast.walk(tree)
        if isinstance(one, ast.stmt) and any(part is node for part in ast.walk(one))
    ]
    return max(holding)


def _replace(tree: ast.Module, old: ast.AST, new: ast.AST) -> None:
    for parent in ast.walk(tree):
        for name, value in ast.iter_fields(parent):
            if value is old:
                setattr(parent, name, new)
            elif isinstance(value, list):
                value[:] = [new if one is old else one for one in value]


def _sites(tree: ast.Module) -> Iterator[_Site]:
    """Yield every node that can be made another, in the order of the tree."""
    wanted = {id(node) for node in _touchable(tree)}
    for number, node in enumerate(ast.walk(tree)):
        if id(node) in wanted:
            for kind, change in _changes(node):
                yield _Site(number, kind, change)


def _touchable(node: ast.AST) -> Iterator[ast.AST]:
    """Yield a node and what is below it, less what is left alone."""
    if _is_left_alone(node):
        return
    yield node
    for name, value in ast.iter_fields(node):
        if name in _UNTOUCHED_FIELDS:
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _touchable(child)


def _is_left_alone(node: ast.AST) -> bool:
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Import() | ast.ImportFrom():
            return True
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
        case ast.Assign(targets=[ast.Name(id="__all__")]):
            return True
        case ast.keyword(arg="strict") | ast.FormattedValue(value=ast.Constant()):
            return True
    return False


def _changes(node: ast.AST) -> Iterator[_Change]:
    """Yield what a node can be made, with the kind of fault that is."""
    yield from _of_operators(node)
    match node:
        case ast.Constant(value=bool()):
            yield "number", _with(value=not node.value)
        case ast.Constant(value=int() | float() as number):
            yield "number", _with(value=number + 1)
            if number:
                yield "number", _with(value=-number)
        case ast.Call():
            yield from _of_calls(node)
        case ast.Slice():
            yield from _of_slices(node)
        case ast.Return(value=ast.expr() as value):
            if not (isinstance(value, ast.Constant) and value.value is None):
                yield "returned None", _with(value=ast.Constant(value=None))
        case ast.Expr() | ast.Raise() | ast.Continue() | ast.Break():
            yield "statement dropped", lambda _node: ast.Pass()


def _of_operators(node: ast.AST) -> Iterator[_Change]:
    match node:
        case ast.Compare(ops=[operator]):
            for other in _COMPARISONS[type(operator)]:
                yield "comparison", _with(ops=[other()])
        case ast.BinOp(op=operator) | ast.AugAssign(op=operator):
            if type(operator) in _ARITHMETIC:
                yield "arithmetic", _with(op=_ARITHMETIC[type(operator)]())
        case ast.BoolOp(op=operator):
            other_word = ast.Or() if isinstance(operator, ast.And) else ast.And()
            yield "and, or", _with(op=other_word)
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield "not or minus dropped", _operand


def _operand(node: ast.AST) -> ast.AST:
    """Return what a sign or a ``not`` stands before."""
    assert isinstance(node, ast.UnaryOp)
    return node.operand


def _of_calls(node: ast.Call) -> Iterator[_Change]:
    match node.func:
        case ast.Name(id=name) if name in _OTHER_NAMES:
            other: ast.expr = ast.Name(id=_OTHER_NAMES[name], ctx=ast.Load())
            yield "min, max, any, all", _with(func=other)
        case ast.Attribute(value=value, attr=name) if name in _OTHER_NAMES:
            other = ast.Attribute(value=value, attr=_OTHER_NAMES[name], ctx=ast.Load())
            yield "min, max, any, all", _with(func=other)
        case ast.Name(id="sorted"):
            if all(one.arg != "reverse" for one in node.keywords):
                turned = ast.keyword(arg="reverse", value=ast.Constant(value=True))
                yield "order turned", _with(keywords=[*node.keywords, turned])
        case ast.Name(id="range") if node.args:
            where = min(1, len(node.args) - 1)
            args = list(node.args)
            one_less = ast.BinOp(args[where], ast.Sub(), ast.Constant(value=1))
            args[where] = one_less
            yield "off by one", _with(args=args)


def _of_slices(node: ast.Slice) -> Iterator[_Change]:
    if node.lower:
        yield "slice", _with(lower=None)
    if node.upper:
        yield "slice", _with(upper=None)


def _with(**fields: object) -> Callable[[ast.AST], ast.AST]:
    """Return what makes a copy of a node with other fields."""

    def change(node: ast.AST) -> ast.AST:
        changed = copy.copy(node)
        for name, value in fields.items():
            setattr(changed, name, copy.deepcopy(value))
        return changed

    return change
