"""``loopsolver check``: what is wrong or doubtful in a scene."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopsolver.cli.options import add_json, file_path
from loopsolver.cli.output import say, say_json, say_wrapped, tell
from loopsolver.cli.subjects import axes_document, command_line, read_scene
from loopsolver.errors import SceneError
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.scene.doubts import Doubt
    from loopsolver.scene.model import Scene


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("scene", metavar="SCENE", type=file_path, help="the scene file")
    add_json(parser)


def command(args: argparse.Namespace) -> int:
    """Print the scene's summary and doubts, and return the exit status."""
    from loopsolver.report.scene_summary import scene_summary
    from loopsolver.scene.doubts import doubts

    path: Path = args.scene
    try:
        scene = read_scene(path)
    except SceneError as error:
        if args.json:
            faults = [asdict(fault) for fault in error.faults]
            told = {"scene": str(path), "usable": False, "faults": faults, "doubts": []}
            say_json(told)
        raise
    found = doubts(scene)
    if args.json:
        say_json(_document(path, scene, found))
        return 0
    say(f"{path}: {scene.title}" if scene.title else str(path))
    for label, words in scene_summary(scene):
        say_wrapped([words], mark=f"  {label:<12}")
    say()
    if found:
        say(f"{counted(len(found), 'thing')} to look at again:")
        say_wrapped(f"{doubt.where}: {doubt.message}" for doubt in found)
    else:
        say("Nothing wrong or doubtful found.")
    tell(f"Next: `{command_line('route', path)}`.")
    return 0


def _document(path: Path, scene: Scene, found: Sequence[Doubt]) -> dict[str, Any]:
    return {
        "scene": str(path),
        "title": scene.title,
        "usable": True,
        "units": "mm",
        "case": {
            "inner": scene.case_inner,
            **axes_document(scene),
        },
        "tube": asdict(scene.tube),
        "rules": {  # by their keys in a scene file
            name.removesuffix("_deg"): value
            for name, value in asdict(scene.rules).items()
        },
        "components": [
            {
                "name": part.name,
                "bodies": len(part.bodies),
                "ports": [port.name for port in part.ports],
            }
            for part in scene.components
        ],
        "keep_outs": [body.name for body in scene.keep_outs],
        "runs": [
            {"name": run.name, "from": list(run.from_ports), "to": list(run.to_ports)}
            for run in scene.runs
        ],
        "loop": None if scene.loop is None else {"order": scene.loop.order},
        "circuit": _circuit_document(scene),
        "known": _known_document(scene),
        "faults": [],
        "doubts": [asdict(doubt) for doubt in found],
    }


def _circuit_document(scene: Scene) -> dict[str, Any]:
    from loopsolver.report.scene_summary import circuit_sentences
    from loopsolver.scene.circuit import circuit

    found = circuit(scene)
    return {
        "is_closed": found.is_closed,
        **asdict(found),
        "sentences": list(circuit_sentences(scene, found)),
    }


def _known_document(scene: Scene) -> dict[str, Any] | None:
    """Return how well ports are known, and the readings beside what they come to."""
    from loopsolver.scene.port_spreads import port_spreads
    from loopsolver.survey.reliability import checks

    spreads = port_spreads(scene)
    if spreads is None or scene.measures is None:
        return None
    return {
        "spread": asdict(scene.spread),
        "ports": [
            {
                **asdict(spreads.of(port.name)),
                "at": port.position,
                "towards": port.direction,
            }
            for part in scene.components
            for port in part.ports
        ],
        "runs": [
            {"name": run.name, **asdict(spreads.between(start, goal))}
            for run in scene.runs
            for start in run.from_ports
            for goal in run.to_ports
            if start != goal
        ],
        "readings": [
            {
                "name": one.observation.name,
                "read": one.observation.length,
                "adjusted": one.observation.length + one.residual,
                "spread": one.observation.spread,
                "redundancy": one.redundancy,
                "score": one.score,
                "least_seen": one.least_seen if one.redundancy else None,
            }
            for one in checks(spreads.adjustment)
            if one.observation in scene.measures.readings
        ],
    }
