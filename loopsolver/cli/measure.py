"""``loopsolver measure``: what to measure, in which order, and how well."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from loopsolver.cli.options import (
    add_force,
    add_json,
    add_paper,
    add_runs,
    file_path,
)
from loopsolver.cli.output import say, say_json, say_table, say_wrapped, tell
from loopsolver.cli.subjects import read_either

if TYPE_CHECKING:
    from loopsolver.report.measuring import Measuring


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "subject",
        metavar="SCENE_OR_PLAN",
        type=file_path,
        help="the scene or plan file",
    )
    add_runs(parser)
    parser.add_argument(
        "-o",
        "--output",
        metavar="PDF",
        type=file_path,
        help="write a form to print: a sketch of each length, and blanks for the readings",
    )
    parser.add_argument(
        "--empty",
        metavar="TOML",
        type=file_path,
        help="write a [[readings]] table for each length, to fill in and put in the scene",
    )
    add_paper(parser)
    add_json(parser)
    add_force(parser, what="files that are not as loopsolver wrote them")


def command(args: argparse.Namespace) -> int:
    """Print what to measure, write what is asked for, and return the exit status."""
    from loopsolver.plan import Plan
    from loopsolver.report.measuring import ends_of, measuring
    from loopsolver.report.measuring_words import choice_words, measuring_document

    subject = read_either(args.subject)
    is_plan = isinstance(subject, Plan)
    scene = subject.scene if isinstance(subject, Plan) else subject
    told = measuring(scene, ends_of(subject, args.runs))
    read = subject.files if isinstance(subject, Plan) else (args.subject,)
    written = _written(told, args, read)
    if args.json:
        say_json(
            {"plan" if is_plan else "scene": str(args.subject)}
            | measuring_document(told)
        )
    else:
        _say(told, args.subject)
    for words in (*choice_words(subject), *written):
        tell(words)
    return 0


def _say(told: Measuring, path: Path) -> None:
    from loopsolver.lengths import on_a_rule
    from loopsolver.report.measuring_words import (
        HINTS,
        best_words,
        empty_words,
        other_table,
        run_table,
        run_words,
        spread_words,
    )

    lengths = on_a_rule(told.scene.units)
    say(f"{path}: what to measure")
    say_wrapped([f"{spread_words(told.scene)}."], mark="")
    for run in told.runs:
        say()
        say_wrapped([run_words(run, lengths)], mark=f"{run.ends.name}: ")
        if run.lengths:
            say_table(run_table(run, told.scene))
    if told.other is not None:
        say()
        say("Besides:")
        say_table(other_table(told.other, told.scene))
    say()
    say_wrapped([best_words(told)], mark="")
    say_wrapped(filter(None, [empty_words(told)]), mark="")
    say()
    say_wrapped(HINTS)


def _written(
    told: Measuring, args: argparse.Namespace, read: tuple[Path, ...]
) -> tuple[str, ...]:
    """Write the form and the empty readings that are asked for; return what to tell.

    Both places are looked at before either is written.
    """
    from loopsolver.files import check_own, sealed, write_whole

    form: Path | None = args.output
    empty: Path | None = args.empty
    for path, ending in ((form, ".pdf"), (empty, ".toml")):
        if path is not None:
            check_own(path, ending=ending, read=read, force=args.force)
    words: list[str] = []
    if form is not None:
        from loopsolver.workshop.measuring_form import measuring_form
        from loopsolver.workshop.sheets import paper_named

        pages, content = measuring_form(told, paper=paper_named(args.paper))
        write_whole(form, sealed(content, ending=".pdf"))
        words.append(f"Form of {pages} pages written to {form}: print at 100 %.")
    if empty is not None:
        from loopsolver.report.measuring_words import empty_readings

        write_whole(empty, sealed(empty_readings(told).encode(), ending=".toml"))
        words.append(
            f"Empty readings written to {empty}: fill them in and put them in the scene."
        )
    return tuple(words)
