"""Do the tests see faults? Sixty are put in, one at a time, and the module's tests run.

``.venv/bin/python -m tests.mutation.run --seed 1`` draws twenty modules, one of every
package and the rest of all, and three faults in each (`tests.mutation.mutations`). Each is
put into a copy of the project in a temporary folder, and the module's own tests run there
until one fails. Those are the module's doctests, the tests named after it and the tests
that import it, the nearest ones first; a module that no test names or imports has the
tests of those modules that import it. What survives and makes no difference, or none that
a test should hold, is in ``equivalent.toml`` with its reason. Run by hand; it takes long,
and the project is to be left alone meanwhile.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import multiprocessing
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Final

import pytest

from tests.mutation.mutations import SLACK, Mutation, count_of, drawn

ROOT: Final = Path(__file__).parents[2]
PACKAGE: Final = "loopsolver"
LIBRARIES: Final = ("hypothesis", "scipy.optimize", "scipy.spatial", "scipy.sparse")
"""Slow to import, and wanted by many tests."""

ROOMS: Final = ("unit", "contract", "property", "published", "e2e")
"""Folders of tests that may be a module's own, the quickest first."""

COMMAND_ROOMS: Final = ("contract", "e2e")
"""Folders of tests that run commands."""

MODULES, EACH = 20, 3
FILES: Final = 4
"""How many files of tests are a module's own at most: the nearest."""

PATIENCE: Final = 6
"""How many times longer than when they pass tests may take. Longer is killed, too."""

AT_FIRST: Final = 240.0
"""How long they may take before that is known, until it is measured [s]."""

TOO_LONG: Final = "take too long"


def main() -> int:
    """Draw, run, tell; return 1 where fewer than 95 % are killed."""
    parser = argparse.ArgumentParser(description=str(__doc__).splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--only", help="numbers of mutations, as in 3,7-9")
    parser.add_argument("--list", action="store_true", help="only say what is drawn")
    args = parser.parse_args()
    numbers = _numbers(args.only) if args.only else None
    chosen = [
        (number, module, mutation)
        for number, (module, mutation) in enumerate(all_drawn(args.seed), start=1)
        if numbers is None or number in numbers
    ]
    if args.list:
        for number, module, mutation in chosen:
            _say(number, module, mutation, "drawn")
        return 0
    # Tests send it to what they start; in the background it would be ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        tree = _copied(Path(folder))
        _move_to(tree)
        return _tell(list(_run(chosen, tree)))


def _numbers(text: str) -> set[int]:
    """Return the numbers of ``3,7-9``."""
    ends = [part.split("-") for part in text.split(",")]
    return {
        number for pair in ends for number in range(int(pair[0]), int(pair[-1]) + 1)
    }


def all_drawn(seed: int) -> list[tuple[str, Mutation]]:
    """Return sixty faults with the modules they are in: always the same for a seed."""
    rng = random.Random(seed)
    found = []
    for module in _modules_drawn(rng):
        text, slack = source(module), is_slack(module)
        found += [
            (module, one) for one in drawn(text, slack=slack, count=EACH, rng=rng)
        ]
    return found


def _modules_drawn(rng: random.Random) -> list[str]:
    """Return twenty modules that can be mutated: one a package, the rest of all."""
    able = [
        module
        for module in modules()
        if count_of(source(module), slack=is_slack(module)) >= EACH
    ]
    packages: dict[str, list[str]] = {}
    for module in able:
        packages.setdefault(module.rpartition(".")[0], []).append(module)
    first = [rng.choice(packages[package]) for package in sorted(packages)][:MODULES]
    rest = [module for module in able if module not in first]
    return sorted([*first, *rng.sample(rest, MODULES - len(first))])


def is_slack(module: str) -> bool:
    """Return whether the numbers of a module are slack."""
    return bool(set(module.split(".")) & set(SLACK))


@cache
def modules() -> tuple[str, ...]:
    """Return the modules of the package by their dotted names, packages left out."""
    paths = sorted((ROOT / PACKAGE).rglob("*.py"))
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in paths]
    return tuple(name for name in names if not name.endswith("__"))


def path_of(module: str) -> Path:
    """Return where a module is, seen from the project."""
    return Path(*module.split(".")).with_suffix(".py")


def source(module: str) -> str:
    """Return the text of a module."""
    return (ROOT / path_of(module)).read_text(encoding="utf-8")


@cache
def imports(path: Path) -> tuple[str, ...]:
    """Return the modules of ours that a file imports, one for every name it takes."""
    known = set(_files())
    found = []
    for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            for name in node.names:
                inner = f"{node.module}.{name.name}"
                whole = _given_on(node.module).get(name.name, node.module)
                found.append(inner if inner in known else whole)
        elif isinstance(node, ast.Import):
            found += [name.name for name in node.names]
    return tuple(name for name in found if name in known)


@cache
def _given_on(package: str) -> dict[str, str]:
    """Return the modules of the names that a package takes in to give them on."""
    path = ROOT / Path(*package.split(".")) / "__init__.py"
    if not path.is_file():
        return {}
    return {
        name.name: node.module
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module
        for name in node.names
    }


@cache
def test_files() -> tuple[Path, ...]:
    """Return the files of tests that may be a module's own."""
    return tuple(
        path.relative_to(ROOT)
        for room in ROOMS
        for path in sorted((ROOT / "tests" / room).rglob("test_*.py"))
        if not _only_measures(path)
    )


def _only_measures(path: Path) -> bool:
    """Return whether all tests of a file are marked as such that measure times."""
    text = path.read_text(encoding="utf-8")
    return text.count("\ndef test_") <= text.count("@pytest.mark.bench")


def own_tests(module: str) -> list[Path]:
    """Return a module's own tests, the nearest first, its doctests before them."""
    near = {path: nearness(path, module) for path in test_files()}
    found = sorted(
        (path for path in near if near[path] > 0.0),
        key=lambda path: (-int(near[path]), _room(path), -near[path]),
    )[:FILES]
    if not found:
        above = [one for one in modules() if module in imports(path_of(one))]
        found = [path for one in above for path in own_tests(one)[1:]]
    return [path_of(module), *dict.fromkeys(found)][: FILES + 1]


def _room(path: Path) -> int:
    return ROOMS.index(path.parts[1])


def nearness(path: Path, module: str) -> float:
    """Return how near a file of tests is to a module.

    The share that the module has in what the file imports; of a command, the share that
    it has in the commands that the file names. Two more where the file has the module's
    name, one more where its name begins so, one more where it lies in a folder of the
    same package.
    """
    *packages, name = module.split(".")
    words, wanted = path.stem.split("_")[1:], name.split("_")
    taken = commands(path) if module in commands_there_are() else imports(path)
    share = taken.count(module) / len(taken) if taken else 0.0
    is_near = packages[-1] in (*path.parts, *words) or name in words
    while words and words != wanted and words[0] in packages:
        words = words[1:]
    if words == wanted:
        return 2.0 + is_near + share
    begins = words[: len(wanted)] == wanted
    if (share and (is_near or path.parts[1] != "e2e")) or (
        begins and path.parts[1] in COMMAND_ROOMS
    ):
        return begins + is_near + share
    return 0.0


@cache
def commands_there_are() -> frozenset[str]:
    """Return the modules that are commands: those that can be put on the line."""
    return frozenset(
        module
        for module in modules()
        if any(
            isinstance(node, ast.FunctionDef) and node.name == "command"
            for node in ast.parse(source(module)).body
        )
    )


@cache
def commands(path: Path) -> tuple[str, ...]:
    """Return the commands that a file of tests runs, once for every time it names one."""
    by_name = {module.rpartition(".")[2]: module for module in commands_there_are()}
    if path.parts[1] not in COMMAND_ROOMS:
        return ()
    return tuple(
        by_name[word.value]
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8")))
        for word in _first_words(node)
        if isinstance(word, ast.Constant) and word.value in by_name
    )


def _first_words(node: ast.AST) -> Sequence[ast.expr]:
    """Return where a command's name stands: first in a row, or in what a call takes."""
    match node:
        case ast.List(elts=words) | ast.Tuple(elts=words):
            return words[:1]
        case ast.Call(args=words):
            return words[:2]
    return ()


def _copied(folder: Path) -> Path:
    """Return a copy of the project, as far as tests need it."""
    tree = folder / "tree"
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    for name in listed.stdout.splitlines():
        if (ROOT / name).is_file():
            (tree / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, tree / name)
    return tree


def _run(
    chosen: Sequence[tuple[int, str, Mutation]], tree: Path
) -> Iterator[tuple[str, str]]:
    """Yield what became of each mutation, with its reason where it makes no difference."""
    limits: dict[tuple[str, ...], float] = {}
    reasons = _reasons()
    for number, module, mutation in chosen:
        reason = reasons.get((module, mutation.before, mutation.after), "")
        failure = "" if reason else _first_failure(tree, module, mutation, limits)
        outcome = "killed" if failure else "equivalent" if reason else "SURVIVED"
        _say(number, module, mutation, outcome, failure or reason)
        yield outcome, reason


def _first_failure(
    tree: Path, module: str, mutation: Mutation, limits: dict[tuple[str, ...], float]
) -> str:
    """Return how the nearest of a module's own tests that fails does so, or nothing.

    `limits` holds how long files may take [s]; what is new is added.
    """
    doctests, *files = own_tests(module)
    path = tree / path_of(module)
    # The doctests are run with the nearest file: by themselves they may be none.
    for tests in [(doctests, *files[:1]), *((path,) for path in files[1:])]:
        names = tuple(str(one) for one in tests)
        path.write_text(mutation.text, encoding="utf-8")
        begun = time.monotonic()
        failure = _failure(tree, module, names, limit=limits.get(names, AT_FIRST))
        taken = time.monotonic() - begun
        shutil.copy2(ROOT / path_of(module), path)
        if not failure:
            limits[names] = PATIENCE * taken
            continue
        # That it is the fault which fails them, they show by passing without it.
        again = _failed(failure) or names
        begun = time.monotonic()
        if without := _failure(tree, module, again, limit=None):
            _write(f"{module}: without a fault, too: {without}")
            continue
        if failure == TOO_LONG and names not in limits:
            limits[names] = PATIENCE * (time.monotonic() - begun)
            if limits[names] >= taken:
                return _first_failure(tree, module, mutation, limits)
        return failure
    return ""


def _failed(failure: str) -> tuple[str, ...]:
    """Return what failed, by the name that pytest gives it in its summary, if any."""
    how, _, what = failure.partition(" ")
    return (what.partition(" - ")[0],) if how in {"FAILED", "ERROR"} else ()


def _failure(
    tree: Path, module: str, tests: Sequence[str], *, limit: float | None
) -> str:
    """Return how tests fail in a copy of the project, or nothing.

    In a process that is forked off this one, which has imported all that there is: only
    the module and what stands on it is imported again.
    """
    log = tree.parent / "log"
    process = multiprocessing.get_context("fork").Process(
        target=_test_there, args=(module, tests, log)
    )
    process.start()
    process.join(limit)
    if process.exitcode is None:
        process.kill()
        process.join()
        return TOO_LONG
    # 5: none collected, as of a module without doctests and without tests.
    if process.exitcode in (0, 5):
        return ""
    lines = log.read_text(encoding="utf-8", errors="replace").splitlines() or ["?"]
    failed = [line for line in lines if line.startswith(("FAILED", "ERROR"))]
    return (failed or lines[-1:])[0]


def _test_there(module: str, tests: Sequence[str], log: Path) -> None:
    """Run tests here, what they say going to a file, and end."""
    stale = _standing_on(module)
    for name in list(sys.modules):
        if name in stale or name.partition(".")[0] == "tests":
            del sys.modules[name]
    with log.open("wb") as file:
        os.dup2(file.fileno(), 1)
        os.dup2(file.fileno(), 2)
    importlib.import_module(module)  # or pytest may load a second one for its doctests
    options = ["-x", "-q", "-n", "0", "--tb=no", "-p", "no:cacheprovider"]
    quiet = ["-W", "ignore::pytest.PytestAssertRewriteWarning", "-m", "not bench"]
    sys.exit(int(pytest.main([*options, *quiet, *tests])))


def _move_to(tree: Path) -> None:
    """Take a copy of the project for the project, and import all of it."""
    os.chdir(tree)
    os.environ.update(PYTHONPATH=str(tree), LOOPSOLVER_FULL="")
    sys.path[:] = [str(tree), *(one for one in sys.path if Path(one) != ROOT and one)]
    for name in (*LIBRARIES, *modules()):
        importlib.import_module(name)
    there = Path(str(sys.modules[PACKAGE].__file__))
    if there.parents[1].resolve() != tree.resolve():
        sys.exit(f"{PACKAGE} was imported from {there}")
    # A fault is as old as the file it is put into, to the second: no bytecode of it.
    sys.dont_write_bytecode = True
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"


def _standing_on(module: str) -> set[str]:
    """Return a module, those that import it, those that import these, and so on."""
    found, new = {module}, {module}
    while new:
        new = {
            name
            for name, path in _files().items()
            if name not in found and (new & set(imports(path)) or _is_within(name, new))
        }
        found |= new
    return found


def _is_within(name: str, packages: set[str]) -> bool:
    return any(name.startswith(f"{package}.") for package in packages)


@cache
def _files() -> dict[str, Path]:
    """Return the files of the package by their dotted names, packages by theirs."""
    paths = sorted((ROOT / PACKAGE).rglob("*.py"))
    found = {}
    for path in paths:
        inner = path.relative_to(ROOT)
        place = inner.parent if path.stem == "__init__" else inner.with_suffix("")
        found[".".join(place.parts)] = inner
    del found[PACKAGE]  # its own names are looked for when they are asked for
    return found


def _reasons() -> dict[tuple[str, str, str], str]:
    """Return what a person said of mutations that make no difference."""
    text = (Path(__file__).parent / "equivalent.toml").read_text(encoding="utf-8")
    return {
        (one["module"], one["before"], one["after"]): one["reason"]
        for one in tomllib.loads(text).get("mutation", [])
    }


def _say(
    number: int, module: str, mutation: Mutation, outcome: str, why: str = ""
) -> None:
    _write(f"{number:3} {outcome}: {module}:{mutation.line}, {mutation.kind}")
    _write(f"      - {mutation.before[:300]}\n      + {mutation.after[:300]}")
    if why:
        _write(f"      {why[:300]}")


def _write(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _tell(outcomes: Sequence[tuple[str, str]]) -> int:
    """Print how many were killed and return the exit status."""
    killed = sum(outcome == "killed" for outcome, _reason in outcomes)
    meant = sum(outcome != "equivalent" for outcome, _reason in outcomes)
    _write(
        f"{killed} of {len(outcomes)} killed, {len(outcomes) - meant} equivalent; "
        f"{100 * killed / max(meant, 1):.1f} % of those that make a difference"
    )
    return int(killed < 0.95 * meant)


if __name__ == "__main__":
    sys.exit(main())
