"""Tubes as they were built, taken from a plan whose scene may have changed since."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from loopsolver.errors import PlanError
from loopsolver.files import pasteable
from loopsolver.lengths import lengths_for
from loopsolver.plan.checking import faults_inside, raise_any, requests_of
from loopsolver.plan.document import PlanDocument
from loopsolver.plan.file import Plan, document_in
from loopsolver.plan.judging import built_afresh
from loopsolver.plan.record import planned_run
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.tolerances import WRITTEN
from loopsolver.words import quoted


def built_runs(path: Path) -> tuple[str, ...]:
    """Return the names of the runs whose built tubes a plan file holds, if it is one."""
    try:
        document, _ = document_in(path)
    except PlanError:
        return ()
    return tuple(run.name for run in document.runs if run.built is not None)


def built_tubes(
    path: Path, scene: Scene, names: Iterable[str]
) -> Mapping[str, Candidate]:
    """Return built tubes of a plan, by run, measured afresh against a scene.

    The plan may be of an older state of the scene: what was built stays what it is.

    Raises
    ------
    PlanError
        If the file is no plan, has no such run or no built tube of it; if the tube is
        not the scene's, or its ports and fittings are not there any more.
    """
    file = str(path)
    document, _ = document_in(path)
    raise_any(faults_inside(document, lengths_for(scene.units)), file=file)
    wanted = list(names)
    _check_held(document, wanted, path)
    _check_tube(document, scene, file)
    requests = requests_of(scene)
    found: dict[str, Candidate] = {}
    for place, told in enumerate(document.runs):
        if told.name not in wanted:
            continue
        if told.name not in requests:
            msg = (
                f"{file}: the scene has no run {told.name!r} any more; there are "
                f"{quoted(requests) or 'none'}"
            )
            raise PlanError(msg)
        run, at = planned_run(told), ("runs", place, "built")
        if run.built is not None:
            built = built_afresh(run, run.built, scene, file=file, path=at)
            found[told.name] = built
    return found


def with_built(plan: Plan, name: str, tube: Candidate) -> Plan:
    """Return a plan in which a run has a tube as built, in place of any before.

    Where the others were chosen round the one before, how is said no longer.
    """
    runs = tuple(
        replace(run, built=tube) if run.name == name else run for run in plan.runs
    )
    is_round_it = plan.loop is not None and name in plan.loop.kept
    return replace(plan, runs=runs, loop=None if is_round_it else plan.loop)


def _check_held(document: PlanDocument, names: Iterable[str], path: Path) -> None:
    """Refuse names of which a plan holds no built tube."""
    held = [run.name for run in document.runs if run.built is not None]
    for name in names:
        if name not in held:
            msg = (
                f"{path}: holds no built tube of run {name!r}; there are "
                f"{quoted(held) or 'none'}: `loopsolver correct {pasteable(path)} --run "
                "NAME ... --built` keeps one"
            )
            raise PlanError(msg)


def _check_tube(document: PlanDocument, scene: Scene, file: str) -> None:
    """Refuse tubes of another diameter than the scene has now."""
    before, now = document.tube.outer_diameter, scene.tube.outer_diameter
    if not math.isclose(before, now, rel_tol=0.0, abs_tol=WRITTEN):
        exact = lengths_for(scene.units).exact
        msg = (
            f"{file}: its tubes are built of tube of {exact(before)}, and the scene now "
            f"has tube of {exact(now)}: a built tube can be kept beside its own kind only"
        )
        raise PlanError(msg)
