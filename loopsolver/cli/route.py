"""``loopsolver route``: candidates for every run of a scene, and the plan of them."""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from loopsolver.cli.options import add_by, add_force, add_json, add_runs, file_path
from loopsolver.cli.output import say, say_json, say_wrapped, tell
from loopsolver.cli.progress import ProgressLine
from loopsolver.cli.status import INTERRUPTED, told_status
from loopsolver.cli.stopping import noted_stop
from loopsolver.cli.subjects import (
    axes_document,
    command_line,
    read_plan,
    read_scene,
    tell_axes_left_out,
    tell_slips,
)
from loopsolver.lengths import lengths_for
from loopsolver.letters import shell_word
from loopsolver.routing.effort import SECONDS
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.routing.problem import Candidate
    from loopsolver.scene.model import Scene


LEAVING: Final = 0.5
"""So much of the time that it took to read is left to write and to print..."""

MOST_LEAVING: Final = 0.05
"""... but no more than this share of all the time there is."""

MOST_JOBS: Final = 64
"""More processes than this are a slip of the pen, or a machine that nobody has."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("scene", metavar="SCENE", type=file_path, help="the scene file")
    parser.add_argument(
        "-o",
        "--output",
        metavar="PLAN",
        type=file_path,
        help="the plan to write (default: the scene's name with .plan.json, here)",
    )
    add_by(parser, default="bends")
    _add_what_is_sought(parser)
    add_json(parser)
    add_force(parser, what="a file that loopsolver did not write")


def _add_what_is_sought(parser: argparse.ArgumentParser) -> None:
    """Add which runs are routed, which candidates are kept, and for how long."""
    add_runs(parser, what="only the runs of these names; the plan holds no others")
    parser.add_argument(
        "--keep",
        metavar="NAME=RANK",
        nargs="+",
        action="extend",
        default=[],
        help=(
            "keep these candidates, ranks as in the plan that stands there, and solve "
            "the rest round them; NAME=built keeps a tube as it was built, also where "
            "the scene has changed since"
        ),
    )
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_jobs,
        default=cores(),
        help=(
            "over how many cores the search goes where that is worth it (default: all, "
            "here %(default)s); what it finds is the same"
        ),
    )
    parser.add_argument(
        "--seconds",
        metavar="S",
        type=_seconds,
        default=SECONDS,
        help=(
            f"the most time for the whole command (default: {SECONDS:g} seconds); "
            "Ctrl-C ends it sooner and keeps the best so far"
        ),
    )


def command(args: argparse.Namespace) -> int:
    """Route, write the plan, print the comparison, and return the exit status."""
    from loopsolver.cli.comparing import plan_document, say_plan
    from loopsolver.plan.file import check_plan_place, scene_named_in
    from loopsolver.report.planning import route_scene
    from loopsolver.routing.control import Control

    path: Path = args.output or Path(f"{args.scene.stem}.plan.json")
    scene = read_scene(args.scene)
    ranks, names = kept_pairs(args.keep)
    keep = kept_candidates(ranks, path) if ranks else {}
    built = kept_tubes(names, path, scene, force=args.force)
    check_plan_place(path, read=(args.scene,), force=args.force)
    scene_named_in(path, args.scene)
    tell_slips(scene)
    deadline = search_ends(args.begun, args.seconds)
    with noted_stop() as stopped, ProgressLine(lengths_for(scene.units)) as line:
        plan = route_scene(
            scene,
            by=args.by,
            runs=args.runs,
            keep=keep,
            built=built,
            seconds=args.seconds,
            control=Control(
                deadline=deadline, stopped=stopped, tell=line.tell, jobs=args.jobs
            ),
        )
    if _is_early(plan) and _is_for_nothing(plan, path):
        return INTERRUPTED
    plan.write(path, scene_path=args.scene, force=args.force)
    if args.json:
        case = axes_document(scene)
        say_json(plan_document(plan, plan.runs, path, case=case))
    else:
        say_plan(plan, plan.runs)
        _say_together(plan, path, deadline)
    _tell_what_next(plan, path)
    return told_status(plan.runs)


def _is_for_nothing(plan: Plan, path: Path) -> bool:
    """Say, and return, whether a stopped search found nothing worth a file."""
    if path.exists():
        tell(f"loopsolver: stopped before all runs were routed; {path} stays as it was")
        return True
    if not any(run.candidates for run in plan.runs):
        tell("loopsolver: stopped")
        return True
    return False


def search_ends(begun: float, seconds: float) -> float:
    """Return when a search must be over for its command to take so many seconds.

    On the clock of `time.monotonic`. To end, to write and to print takes less than half
    of what it took to begin and to read; of little time less is left for it.
    """
    read = time.monotonic() - begun
    return begun + seconds - min(LEAVING * read, MOST_LEAVING * seconds)


def _say_together(plan: Plan, path: Path, deadline: float) -> None:
    """Say whether the loop goes together, where the scene says what may be moved.

    Not where there is no time left to look into it.
    """
    if plan.scene.assembly is None or not any(run.tube_in_place for run in plan.runs):
        return
    from loopsolver.assembly.order import assembly
    from loopsolver.report.assembling import together_words
    from loopsolver.routing.control import Control

    more = command_line("assemble", path)
    lengths = lengths_for(plan.scene.units)
    with noted_stop() as stopped, ProgressLine(lengths) as line:
        control = Control(deadline=deadline, stopped=stopped, tell=line.tell)
        of = None if control.is_over() else assembly(plan, control=control)
    if of is None or of.ended == "time":
        say()
        say_wrapped(
            [f"No time was left to see whether it goes together: `{more}` does."]
        )
        return
    say()
    say_wrapped([f"{together_words(of)}; `{more}` tells how."])


def kept_pairs(pairs: Sequence[str]) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return what ``--keep`` names: ranks by run, and runs whose built tubes stay.

    Raises
    ------
    LoopsolverError
        If a pair is neither NAME=RANK nor NAME=built, or if a run is named twice.
    """
    from loopsolver.errors import LoopsolverError

    ranks: dict[str, int] = {}
    built: list[str] = []
    for pair in pairs:
        name, sign, rank = pair.rpartition("=")
        if not sign or not (rank == "built" or (rank.isascii() and rank.isdigit())):
            msg = (
                f"--keep: found {pair!r}; wanted NAME=RANK or NAME=built, as in 'pump to "
                "card=2'"
            )
            raise LoopsolverError(msg)
        if name in ranks or name in built:
            msg = f"--keep: found run {name!r} twice; a run keeps one tube"
            raise LoopsolverError(msg)
        if rank == "built":
            built.append(name)
        else:
            ranks[name] = int(rank)
    return ranks, tuple(built)


def kept_candidates(ranks: Mapping[str, int], path: Path) -> dict[str, Candidate]:
    """Return candidates of the plan that stands there, by run.

    Raises
    ------
    LoopsolverError
        If there is no such plan, run or candidate.
    """
    _check_there(path)

    def used(run: PlannedRun) -> Collection[int]:
        rank = ranks.get(run.name, 0)
        return (rank,) if 1 <= rank <= len(run.candidates) else ()

    plan = read_plan(path, used=used)
    return {name: plan.run(name).candidate(rank) for name, rank in ranks.items()}


def kept_tubes(
    names: Sequence[str], path: Path, scene: Scene, *, force: bool
) -> Mapping[str, Candidate]:
    """Return tubes as built of the plan that stands there, by run.

    Raises
    ------
    LoopsolverError
        If there is no such plan or tube, or if the plan holds one that is not named:
        it would be lost (unless `force`).
    """
    from loopsolver.errors import LoopsolverError
    from loopsolver.plan.built import built_runs, built_tubes

    lost = set(built_runs(path)).difference(names) if path.exists() else set()
    if lost and not force:
        keep = " ".join(shell_word(f"{name}=built") for name in sorted(lost))
        msg = (
            f"{path}: holds tubes as built, which would be lost: keep them with --keep "
            f"{keep}, choose another name with -o, or give them up with --force"
        )
        raise LoopsolverError(msg)
    if not names:
        return {}
    _check_there(path)
    return built_tubes(path, scene, names)


def _check_there(path: Path) -> None:
    from loopsolver.errors import LoopsolverError

    if not path.exists():
        msg = (
            f"--keep counts candidates as in the plan {path}, which is not there; route "
            "without --keep first, or name the plan with -o"
        )
        raise LoopsolverError(msg)


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 3600.0:
        msg = f"found {text!r}; wanted a number of seconds from 0 to 3600"
        raise argparse.ArgumentTypeError(msg)
    return value


def _jobs(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= MOST_JOBS):
        msg = f"found {text!r}; wanted a whole number from 1 to {MOST_JOBS}"
        raise argparse.ArgumentTypeError(msg)
    return int(text)


def cores() -> int:
    """Return how many cores this process may use, at most MOST_JOBS."""
    ours = getattr(os, "sched_getaffinity", None)
    count = len(ours(0)) if ours else os.cpu_count() or 1
    return min(count, MOST_JOBS)


def _is_early(plan: Plan) -> bool:
    """Return whether the search was stopped before all runs were routed.

    Who stops it at once has often started it by mistake, and a plan that stands there
    may hold the runs that this one lacks.
    """
    return plan.loop is not None and plan.loop.ended == "stopped early"


def _tell_what_next(plan: Plan, path: Path) -> None:
    """Tell where the plan is and what can be done with it."""
    from loopsolver.report.lacking import missing_words

    routed = sum(1 for run in plan.runs if run.candidates)
    refused = sum(run.refused for run in plan.runs)
    tell("")
    not_chosen = sum(1 for run in plan.runs if run.candidates and not run.chosen)
    beside = f", {not_chosen} of them left out" if not_chosen else ""
    tell(
        f"Plan written to {path}: {routed} of {counted(len(plan.runs), 'run')} with "
        f"a route{beside}."
    )
    tell_axes_left_out(plan.scene)
    if plan.loop is not None and plan.loop.ended.startswith("stopped"):
        tell("You stopped the search: the plan holds the best that was found by then.")
    for words in missing_words(plan):
        tell(f"It {words}.")
    if refused:
        tell(
            f"Dropped, because the check after the search failed: "
            f"{counted(refused, 'route')}. That is a fault of loopsolver: please "
            "report it."
        )
    if routed:
        tell(f"Next: `{command_line('compare', path)}` for the candidates again,")
        tell(f"      `{command_line('view', path)}` to look at them,")
        tell(f"      `{command_line('bends', path)}` for the bend tables,")
        tell(f"      `{command_line('sheets', path)} -o sheets` to print templates.")
