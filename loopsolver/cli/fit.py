"""``loopsolver fit``: how likely tubes go in at once, and what decides it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from loopsolver.cli.options import (
    add_candidate,
    add_json,
    add_picture,
    add_runs,
    file_path,
)
from loopsolver.cli.output import say, say_json, say_wrapped
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import asked_candidates, asked_runs, read_plan

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.report.fit import Fits


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("plan", metavar="PLAN", type=file_path, help="the plan file")
    add_runs(parser)
    add_candidate(parser)
    add_picture(parser, what="draw where the far ends of 200 such tubes come in")
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print how likely tubes go in, and return the exit status."""
    from loopsolver.cli.comparing import say_unchosen
    from loopsolver.report.fit import built_rooms, built_words, fits

    plan = read_plan(args.plan, used=asked_candidates(args.runs, args.candidate))
    runs = asked_runs(plan, args.runs, args.candidate)
    ranks = {
        run.name: rank
        for run in runs
        if (rank := args.candidate or _open_rank(run)) and run.candidate(rank)
    }
    built = {} if args.candidate else built_rooms(plan.scene, runs)
    found = fits(plan, {name: (rank,) for name, rank in ranks.items()})
    if args.picture is not None:
        _draw(plan, found, args.picture, force=args.force)
    if args.json:
        say_json({**_document(plan, ranks, found, args.plan), "built": built})
        return told_status(runs)
    _say(plan, ranks, found)
    say_wrapped(built_words(name, room) for name, room in built.items())
    say_unchosen([run for run in runs if run.tube_in_place is None])
    if args.picture is not None:
        say(f"Picture written to {args.picture}")
    return told_status(runs)


def _open_rank(run: PlannedRun) -> int | None:
    """Return the rank of the tube that is still to be bent, or None."""
    return None if run.built is not None else run.chosen


def _draw(plan: Plan, found: Fits, path: Path, *, force: bool) -> None:
    from loopsolver.report.fit_picture import write_fit_picture

    write_fit_picture(plan, [*found.chances], path, force=force)


def _say(plan: Plan, ranks: Mapping[str, int], found: Fits) -> None:
    from loopsolver.lengths import lengths_for
    from loopsolver.report import fit as words

    if plan.scene.title:
        say(plan.scene.title)
        say()
    for name, rank in ranks.items():
        chance = found.of(name).get(rank)
        say(f"{name}, candidate {rank}:")
        if chance is None:
            say_wrapped([f"no chance is told: {found.reasons[name]}"])
            continue
        candidate = plan.run(name).candidate(rank)
        told = [
            words.fit_words(chance),
            words.decides_words(plan.scene, candidate, chance),
        ]
        for cause in chance.causes[:1]:
            advice = words.advice_words(plan.scene, candidate, cause)
            told.append(f"best of all: {advice}")
        say_wrapped(told)
    say()
    say_wrapped(words.fit_basis(plan.scene, lengths_for(plan.scene.units)), mark="")


def _document(
    plan: Plan, ranks: Mapping[str, int], found: Fits, path: Path
) -> dict[str, Any]:
    """Return how likely tubes go in as plain JSON values."""
    from loopsolver.lengths import MILLIMETRES
    from loopsolver.report.fit import fit_basis

    return {
        "plan": str(path),
        "title": plan.scene.title,
        "units": "mm",
        "runs": [_run_document(plan, found, *one) for one in ranks.items()],
        "basis": list(fit_basis(plan.scene, MILLIMETRES)),
    }


def _run_document(plan: Plan, found: Fits, name: str, rank: int) -> dict[str, Any]:
    from loopsolver.report.fit import causes_document, chance_document

    told: dict[str, Any] = {"name": name, "candidate": rank}
    chance = found.of(name).get(rank)
    if chance is None:
        return {**told, "fit": None, "why": found.reasons[name]}
    candidate = plan.run(name).candidate(rank)
    decided = causes_document(plan.scene, candidate, chance)
    return {**told, "fit": chance_document(chance), "decided_by": decided}
