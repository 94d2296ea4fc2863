"""Scenes and plans from the files that a command was given, and how they are faced."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.cli.output import tell
from loopsolver.errors import LoopsolverError, PlanError
from loopsolver.files import pasteable
from loopsolver.words import quoted

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.plan.judging import Used
    from loopsolver.scene.model import Scene


def read_scene(path: Path) -> Scene:
    """Return the scene in a file.

    Raises
    ------
    LoopsolverError
        If it cannot be used, or if the file is a plan.
    """
    from loopsolver.scene.reader import load_scene

    if _is_json(path):
        msg = f"{path}: found JSON, as plans are; wanted a scene, which is TOML"
        raise LoopsolverError(msg)
    return load_scene(path)


def read_plan(path: Path, *, used: Used | None = None) -> Plan:
    """Return the plan in a file; tell what it lacks and what is not shown of it.

    Parameters
    ----------
    path : Path
    used : Used, optional
        Which candidates the command uses: those are judged; all of them if None.

    Raises
    ------
    LoopsolverError
        If it cannot be used, or if the file is a scene.
    """
    from loopsolver.plan import Plan
    from loopsolver.report.lacking import missing_words, not_shown_words

    if path.suffix.lower() == ".toml" and path.is_file() and not _is_json(path):
        msg = (
            f"{path}: found a scene; wanted a plan: run "
            f"`loopsolver route {pasteable(path)}` first"
        )
        raise LoopsolverError(msg)
    plan = Plan.read(path, used=used)
    if plan.is_edited:
        tell(f"{path}: {not_shown_words()}")
    for words in missing_words(plan):
        tell(f"{path}: {words}")
    return plan


def asked_candidates(names: Sequence[str] | None, candidate: int | None) -> Used:
    """Return which candidates are used, for the runs of some names or all.

    The chosen ones, and those of a rank that is asked for.
    """
    from loopsolver.plan.judging import chosen_candidate

    def used(run: PlannedRun) -> Collection[int]:
        if names is not None and run.name not in names:
            return ()
        is_there = candidate is not None and candidate <= len(run.candidates)
        return {*chosen_candidate(run), *((candidate,) if is_there else ())}

    return used


def asked_runs(
    plan: Plan, names: Sequence[str] | None, candidate: int | None
) -> tuple[PlannedRun, ...]:
    """Return the runs that are asked for.

    Raises
    ------
    PlanError
        If there is no such run, or a candidate is asked for and not of which run.
    """
    if names is not None:
        return tuple(plan.run(name) for name in dict.fromkeys(names))
    if candidate is not None and len(plan.runs) > 1:
        held = quoted(run.name for run in plan.runs)
        msg = f"candidate {candidate} of which run? Say --run with one of {held}"
        raise PlanError(msg)
    return plan.runs


def read_either(path: Path) -> Scene | Plan:
    """Return the plan in a file that holds JSON, the scene in any other."""
    return read_plan(path) if _is_json(path) else read_scene(path)


def _is_json(path: Path) -> bool:
    """Tell whether a file's first mark is one that opens JSON and no TOML file."""
    try:
        with path.open("rb") as file:
            return file.read(4096).lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")
    except OSError:
        return False  # whoever reads the file for good says what is wrong with it


def command_line(command: str, path: Path) -> str:
    """Return a command on a file, as it can be pasted into a shell."""
    return f"loopsolver {command} {pasteable(path)}"


def axes_document(scene: Scene) -> dict[str, Any]:
    """Return where x, y and z point; null where they lie askew to a leaning up."""
    from loopsolver.scene.doubts import axes_doubts

    taken = scene.axes_taken
    return {
        "axes": None if taken is None else list(taken),
        "axes_stated": scene.axes is not None,
        "axes_doubt": next((doubt.message for doubt in axes_doubts(scene)), None),
        "right": list(scene.sides.right),
        "away": list(scene.sides.away),
        "up": list(scene.sides.up),
    }


def tell_axes_left_out(scene: Scene) -> None:
    """Tell which way the axes are taken where the scene does not say."""
    from loopsolver.scene.doubts import axes_doubts

    for doubt in axes_doubts(scene):
        tell(f"{doubt}.")


def tell_slips(scene: Scene) -> None:
    """Tell what is probably a slip in the scene and would make its tubes wrong."""
    from loopsolver.scene.doubts import slips

    found = slips(scene)
    if found:
        tell("Look at this again before a tube is bent; `loopsolver check` tells more:")
    for doubt in found:
        tell(f"- {doubt}")
