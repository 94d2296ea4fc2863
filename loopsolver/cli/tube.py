"""``loopsolver tube``: one tube from port face to port face, told in words."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from loopsolver.cli.options import add_force, add_json, file_path
from loopsolver.cli.output import say, say_json, say_wrapped, tell
from loopsolver.cli.status import told_status
from loopsolver.cli.subjects import command_line, tell_slips
from loopsolver.errors import LoopsolverError, SceneError
from loopsolver.units import WANTED_LENGTH, LengthError

if TYPE_CHECKING:
    from loopsolver.plan import Plan, PlannedRun
    from loopsolver.scene.axes import Side
    from loopsolver.scene.model import Scene
    from loopsolver.scene.side_words import WrittenLength

T = TypeVar("T")

_OPTIONS: Final = {
    "components.second": "--to",
    "tube.material": "--material",
    "tube.outer_diameter": "--outer",
    "tube.inner_diameter": "--inner",
    "tube.bend_radius": "--bend-radius",
    "rules.bend_angles": "--bend-angles",
}
"""The options that say what stands at these keys of the tube's scene."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "--to",
        metavar="WORDS",
        type=_offsets,
        required=True,
        help="how far the second port's face is from the first's, middle to middle: "
        '"83 right, 112 up"',
    )
    parser.add_argument(
        "--leaves",
        metavar="WAY",
        type=_side,
        required=True,
        help="which way the tube leaves the first port: right, left, away, near, up or "
        "down",
    )
    parser.add_argument(
        "--enters",
        metavar="WAY",
        type=_side,
        required=True,
        help="which way the tube enters the second port; one in a lid is entered down",
    )
    parser.add_argument(
        "--scene",
        metavar="SCENE",
        type=file_path,
        help="a scene that lends its unit, stock, rules and fittings",
    )
    _add_stock(parser)
    parser.add_argument(
        "-o",
        "--output",
        metavar="SCENE",
        type=file_path,
        help="write the tube as a scene to go on with",
    )
    add_json(parser)
    add_force(parser, what="a file that stands there already")


def _add_stock(parser: argparse.ArgumentParser) -> None:
    """Add what else there is to say of the tube, in place of what is lent or usual."""
    lengths = {
        "--outer": "the tube's outer diameter (default: 14 mm)",
        "--inner": "the tube's inner diameter (default: 10 mm)",
        "--bend-radius": "of the former, to the tube's centre line (default: twice the "
        "outer diameter)",
    }
    parser.add_argument(
        "--material", metavar="M", help="acrylic (default), petg or copper"
    )
    for name, told in lengths.items():
        parser.add_argument(name, metavar="LENGTH", type=_length, help=told)
    parser.add_argument(
        "--bend-angles",
        metavar="A",
        nargs="+",
        type=_angle,
        help='degrees, such as 45 90, or "any" (default: 90)',
    )


def command(args: argparse.Namespace) -> int:
    """Route the tube, print it, write its scene and return the exit status."""
    from loopsolver.files import check_free, check_not_read, write_whole
    from loopsolver.report.planning import route_scene

    path: Path | None = args.output
    if path is not None:
        check_not_read(path, [] if args.scene is None else [args.scene])
        check_free(path, force=args.force)
    text = _text(args)
    scene = _scene(text, args)
    tell_slips(scene)
    plan = route_scene(scene)
    if path is not None:
        write_whole(path, text.encode())
    _say(plan, plan.runs[0], path, args)
    if path is not None:
        tell(f"Scene written to {path}.")
        tell(
            f"Next: give its parts their bodies, then `{command_line('check', path)}`."
        )
    return told_status(plan.runs)


def _text(args: argparse.Namespace) -> str:
    """Return the scene of the tube.

    Raises
    ------
    LoopsolverError
        If one of the two diameters is told without the other, or nothing is lent.
    """
    from loopsolver.scene.two_ports import TwoPorts, lent_tables, two_port_scene

    said = {
        "material": args.material,
        "outer_diameter": args.outer,
        "inner_diameter": args.inner,
        "bend_radius": args.bend_radius,
    }
    tube = {key: value for key, value in said.items() if value is not None}
    if ("outer_diameter" in tube) != ("inner_diameter" in tube):
        alone, other = ("outer", "inner") if args.inner is None else ("inner", "outer")
        msg = f"found --{alone} without --{other}; wanted both, as a tube is bought"
        raise LoopsolverError(msg)
    angles = args.bend_angles
    return two_port_scene(
        TwoPorts(offsets=args.to, leaves=args.leaves, enters=args.enters),
        tube=tube,
        rules={} if angles is None else {"bend_angles": _angles(angles)},
        lent={} if args.scene is None else lent_tables(args.scene),
    )


def _scene(text: str, args: argparse.Namespace) -> Scene:
    """Return the scene in the text.

    Raises
    ------
    LoopsolverError
        If what was said of the tube will not do: by its options.
    """
    from loopsolver.scene.reader import scene_from_text

    try:
        return scene_from_text(text, file=str(args.output or "tube.toml"))
    except SceneError as error:
        told = []
        for fault in error.faults:
            option = next(
                (
                    one
                    for key, one in _OPTIONS.items()
                    if fault.key_path.startswith(key)
                ),
                f"{args.scene}: {fault.key_path}" if args.scene else fault.key_path,
            )
            told.append(f"{option}: found {fault.found}; wanted {fault.wanted}")
        raise LoopsolverError("\n".join(told)) from None


def _say(
    plan: Plan, run: PlannedRun, path: Path | None, args: argparse.Namespace
) -> None:
    """Print which way the ports point, the candidates, and the chosen one's bends."""
    from loopsolver.cli.bending import say_caution, say_setup, setup_document
    from loopsolver.cli.comparing import run_document, say_plan
    from loopsolver.report.bending import Setup
    from loopsolver.report.sides import fitting_sentence, two_port_sentences

    scene = plan.scene
    first, second = scene.port(run.from_port), scene.port(run.to_port)
    sentences = [
        *two_port_sentences(scene, first, second),
        fitting_sentence(scene, first),
    ]
    setup = None
    if run.chosen is not None:
        setup = Setup(run=run, rank=run.chosen, scene=scene)
    if args.json:
        say_json(
            {
                "scene": None if path is None else str(path),
                "units": "mm",
                "sentences": sentences,
                "run": run_document(plan, run),
                "bends": None if setup is None else setup_document(setup),
            }
        )
        return
    say_wrapped(sentences, mark="")
    say()
    say_plan(plan, plan.runs)
    if setup is not None:
        say()
        say_setup(setup)
        say()
        say_caution(scene.tube.material)


def _angle(text: str) -> float | str:
    if text == "any":
        return text
    try:
        return float(text)
    except ValueError:
        msg = f'found {text!r}; wanted degrees, such as 45 90, or "any"'
        raise argparse.ArgumentTypeError(msg) from None


def _angles(said: list[float | str]) -> Any:
    """Return bend angles as a scene file has them: "any" by itself, or a list.

    Raises
    ------
    LoopsolverError
        If "any" stands beside others.
    """
    if "any" not in said:
        return said
    if len(said) > 1:
        msg = '--bend-angles: found "any" beside other angles; wanted the one or the other'
        raise LoopsolverError(msg)
    return "any"


def _offsets(text: str) -> dict[Side, WrittenLength]:
    from loopsolver.scene.side_words import offsets_in_words

    return _read(offsets_in_words, text)


def _side(text: str) -> Side:
    from loopsolver.scene.side_words import side_in_words

    return _read(side_in_words, text)


def _length(text: str) -> WrittenLength:
    from loopsolver.scene.side_words import length_in_words

    return _read(length_in_words, text)


def _read(reader: Callable[[str], T], text: str) -> T:
    """Return an option, read; what is wrong with it is argparse's to tell."""
    try:
        return reader(text)
    except LengthError as error:
        msg = f"found {text!r} ({error.trouble}); wanted {WANTED_LENGTH}"
        raise argparse.ArgumentTypeError(msg) from error
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
