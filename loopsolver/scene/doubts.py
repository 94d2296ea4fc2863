"""What is doubtful in a scene that can be read: probably not meant so, but possible."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loopsolver.geometry.vectors import Array, point
from loopsolver.lengths import on_a_rule
from loopsolver.scene.bending_doubts import bending_doubts
from loopsolver.scene.body_doubts import along, body_doubts
from loopsolver.scene.circuit_doubts import circuit_doubts
from loopsolver.scene.doubt import Doubt, DoubtKind
from loopsolver.scene.filling_doubts import filling_doubts
from loopsolver.scene.model import Port, Scene
from loopsolver.scene.port_contests import port_contests
from loopsolver.scene.port_doubts import port_doubts
from loopsolver.scene.size_doubts import size_doubts
from loopsolver.scene.survey_doubts import survey_doubts
from loopsolver.scene.water_doubts import water_doubts
from loopsolver.tolerances import (
    ALONG_AXIS,
    CLOSURE,
    NEARLY_IN_LINE,
    READINGS_SPREAD,
)

__all__ = ["Doubt", "DoubtKind", "axes_doubts", "doubts"]


def doubts(scene: Scene) -> tuple[Doubt, ...]:
    """Return all that is doubtful in a scene: axes, slips, bodies, ports, runs, coolant.

    The scene can be routed all the same; a doubt says what probably is wrong with it,
    by how much, and what would help.
    """
    return (
        *axes_doubts(scene),
        *slips(scene),
        *body_doubts(scene),
        *port_doubts(scene),
        *_not_in_line(scene),
        *bending_doubts(scene),
        *_differing_readings(scene),
        *survey_doubts(scene),
        *circuit_doubts(scene),
        *water_doubts(scene),
        *filling_doubts(scene),
    )


def axes_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt where the scene leaves open which way x, y and z point."""
    if scene.axes is not None:
        return
    sides, taken = scene.sides, scene.axes_taken
    if taken is None:
        where = (
            f"right is taken along {along(sides.right)}, away along {along(sides.away)} "
            f"and up along {along(sides.up)}"
        )
        example = '["right", "away", "up"]'
    else:
        x, y, z = taken
        where = f"x is taken to point {x}, y {y} and z {z}"
        example = f'["{x}", "{y}", "{z}"]'
    message = (
        f"left out, so {where}, as seen from before the case's front; if they point "
        "otherwise and are not right-handed like these, every tube in more than one "
        f"plane comes out mirrored; write axes = {example}, or what is true, in [case]"
    )
    yield Doubt(kind="axes left out", where="case.axes", message=message)


def slips(scene: Scene) -> tuple[Doubt, ...]:
    """Return the doubts that, if they hold, make a search useless or its tubes wrong.

    They are found from the scene's values alone, without measuring what is near.
    """
    return (*size_doubts(scene), *_shared_ports(scene))


def _shared_ports(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt wherever more tubes end than there are ports for them."""
    for contest in port_contests(scene):
        where = ", ".join(contest.ports)
        yield Doubt(kind="shared port", where=where, message=contest.sentence)


def _not_in_line(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every run whose ports nearly, but not quite, line up."""
    for run in scene.runs:
        if not len(run.from_ports) == len(run.to_ports) == 1:
            continue
        start, goal = scene.port(run.from_ports[0]), scene.port(run.to_ports[0])
        for direction in _directions_across(start, goal):
            miss = abs(float(np.subtract(goal.position, start.position) @ direction))
            if CLOSURE < miss < NEARLY_IN_LINE:
                amount = on_a_rule(scene.units).plain(miss)
                message = (
                    f"{start.name} and {goal.name} miss being in line by {amount} along "
                    f"{along(point(direction.tolist()))}; if they are meant to be, make "
                    "them equal, else the tube needs more bends, or bend_angles = "
                    '"any"'
                )
                where = f"run {run.name!r}"
                yield Doubt(kind="not in line", where=where, message=message)


def _directions_across(start: Port, goal: Port) -> Iterator[Array]:
    """Return the directions along which two ports have to agree to save bends.

    Those square to both ports' own directions: one, or the two axes of the case if the
    ports are parallel and square to the case, or that of the miss itself if they are
    parallel and not.
    """
    first, second = np.asarray(start.direction), np.asarray(goal.direction)
    across = np.cross(first, second)
    length = float(np.linalg.norm(across))
    if length > ALONG_AXIS:
        yield np.abs(across / length) if _is_square(across) else across / length
    elif _is_square(first):
        yield from (axis for axis in np.eye(3) if abs(axis @ first) < ALONG_AXIS)
    else:
        sideways = np.subtract(goal.position, start.position)
        sideways = sideways - first * (sideways @ first)
        miss = float(np.linalg.norm(sideways))
        if miss > CLOSURE:
            yield sideways / miss


def _is_square(direction: Array) -> bool:
    """Whether a direction lies along an axis of the case."""
    return int(np.sum(np.abs(direction) > ALONG_AXIS)) == 1


def _differing_readings(scene: Scene) -> Iterator[Doubt]:
    for readings in scene.readings:
        spread = max(readings.values) - min(readings.values)
        if spread > READINGS_SPREAD:
            text = on_a_rule(scene.units).plain
            mean = sum(readings.values) / len(readings.values)
            message = (
                f"its {len(readings.values)} readings differ by {text(spread)}, and their "
                f"mean, {text(mean)}, is used; measure again"
            )
            yield Doubt(kind="readings differ", where=readings.where, message=message)
