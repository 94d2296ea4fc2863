"""How far off a bent tube usually is at its fittings, and what has which part of it.

First order: every error moves the tube's far end by its column of the chain's Jacobian, or
a fitting by what is known of its port; together they have the covariance ``G S G'``. Their
sizes are stated in the scene and taken as normal. A tube is bent at its marks, so that a
bend that is bent too far shortens the straight after it; the turn before the first bend is
free, so that it is no error.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from loopsolver.errors import LoopsolverError
from loopsolver.fitup.placement import FAR_ROWS, FIRST_ROWS, READINGS, ROLL_ROW, Seating
from loopsolver.geometry.vectors import Array
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.port_spreads import PortSpreads, SpreadBetween, direction_spread
from loopsolver.tube.chain import chain_of, end_jacobian

Kind = Literal["straight", "turn", "angle", "bias", "place", "direction"]

_BENDING = frozenset({"turn", "angle", "bias"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where errors come from.

    Attributes
    ----------
    kind : Kind
        A straight, a turn, a bend's angle, what all bends have in common; the place of
        the far port from the first, or a port's direction.
    number : int
        Of the straight or bend, from 1, of a turn that of the bend after it; of a place
        its axis, 0 to 2; of a direction its end, 0 or 1; of the bias 0.
    """

    kind: Kind
    number: int = 0


@dataclass(frozen=True, kw_only=True)
class Errors:
    """All errors of a tube and its ports, as its fittings meet them.

    Attributes
    ----------
    sources : tuple of Source
        One for each error; several have the same.
    covariance : ndarray, (errors, errors)
        Of their amounts [mm, rad].
    effects : ndarray, (11, errors)
        What each changes of what `Seating.readings` returns.
    """

    sources: tuple[Source, ...]
    covariance: Array
    effects: Array

    @cached_property
    def spread(self) -> Array:
        """The covariance of the readings, (11, 11)."""
        spread: Array = self.effects @ self.covariance @ self.effects.T
        return spread

    def bent(self, *, worse: float) -> Errors:
        """Return the same where bends and turns lie off by so many times as much."""
        by = np.array([worse if one.kind in _BENDING else 1.0 for one in self.sources])
        return replace(self, covariance=by[:, None] * self.covariance * by)

    def measured_by(self, factors: Array) -> Errors:
        """Return the same as parts of other limits: each reading so many times as much."""
        return replace(self, effects=factors[:, None] * self.effects)

    def parts(self, pulls: Array) -> dict[Source, Array]:
        """Return what part each source has in the variance of some sums of readings.

        Of what two errors share each has half.

        Parameters
        ----------
        pulls : ndarray, (sums, 11)
            The weights of the readings in each.
        """
        pulled = pulls @ self.effects
        parts = pulled * (pulled @ self.covariance)
        whole = parts.sum(axis=1, keepdims=True)
        parts /= np.where(whole > 0.0, whole, 1.0)
        found: dict[Source, Array] = {}
        for source, part in zip(self.sources, parts.T, strict=True):
            found[source] = found.get(source, 0.0) + part
        return found


def errors_of(
    scene: Scene, candidate: Candidate, seating: Seating, ports: PortSpreads | None
) -> Errors:
    """Return all errors of a candidate's tube and of its ports.

    Parameters
    ----------
    scene : Scene
    candidate : Candidate
    seating : Seating
        The candidate's.
    ports : PortSpreads or None
        The scene's; None: every coordinate of a port lies off as much as a reading does.

    Raises
    ------
    LoopsolverError
        If the place of a port is held by nothing.
    """
    first, far = candidate.ends
    between = (
        _as_stated(scene, first.port, far.port)
        if ports is None
        else ports.between(first.port, far.port)
    )
    if not np.isfinite(between.position).all():
        msg = (
            f"nothing says where {far.port} is from {first.port}; `loopsolver measure` "
            "says what to measure"
        )
        raise LoopsolverError(msg)
    return _joined(
        [*_of_tube(scene, candidate, seating), *_of_ports(scene, seating, between)]
    )


def _joined(parts: Sequence[Errors]) -> Errors:
    """Return errors of which those of different parts do not depend on each other."""
    sizes = [len(one.sources) for one in parts]
    covariance = np.zeros((sum(sizes), sum(sizes)))
    for begin, size, one in zip(np.cumsum([0, *sizes]), sizes, parts, strict=False):
        covariance[begin : begin + size, begin : begin + size] = one.covariance
    return Errors(
        sources=tuple(source for one in parts for source in one.sources),
        covariance=covariance,
        effects=np.concatenate([one.effects for one in parts], axis=1),
    )


def _of_tube(scene: Scene, candidate: Candidate, seating: Seating) -> Iterator[Errors]:
    """Yield the errors of straights, turns and bends, and what the bends share."""
    spread, table = scene.spread, candidate.table
    jacobian = end_jacobian(chain_of(table))
    _, far = seating.as_drawn
    turned = np.kron(np.eye(2), seating.drawn.rotation)
    by_twist = _rows(far.changes(far.socket.seat)[0] @ turned, FAR_ROWS)
    bends = len(table.bends)
    kinds: tuple[tuple[Kind, Array, int, float], ...] = (
        ("straight", jacobian.straights, 1, spread.straight),
        ("turn", jacobian.turns[:, 1:], 2, spread.turn),
        ("angle", jacobian.angles_to_marks, 1, spread.angle),
    )
    for kind, columns, first, off in kinds:
        count = columns.shape[1]
        yield Errors(
            sources=tuple(Source(kind=kind, number=first + at) for at in range(count)),
            covariance=off**2 * np.eye(count),
            effects=by_twist @ columns,
        )
    angles_deg = [bend.angle_deg for bend in table.bends]
    shared = np.stack([np.ones(bends), angles_deg], axis=1)
    yield Errors(
        sources=(Source(kind="bias"),) * 2,
        covariance=_shared_by_bends(scene),
        effects=by_twist @ jacobian.angles_to_marks @ shared,
    )


def _shared_by_bends(scene: Scene) -> Array:
    """Return the covariance of what all bends are off by, and by what for each degree.

    As stated; where test bends were made, as well as these tell it [rad].
    """
    springback = scene.tube.springback
    if springback is None:
        return np.diag([scene.spread.bias**2, 0.0])
    constant, both, share = springback.variances
    return math.radians(1.0) ** 2 * np.array([[constant, both], [both, share]])


def _of_ports(
    scene: Scene, seating: Seating, between: SpreadBetween
) -> Iterator[Errors]:
    """Yield the errors of where the far port is, and where both point."""
    start, goal = (scene.port(name).position for name in (between.start, between.goal))
    first, far = seating.as_drawn
    of_far = -_rows(far.changes(goal)[0], FAR_ROWS)
    yield Errors(
        sources=tuple(Source(kind="place", number=axis) for axis in range(3)),
        covariance=np.array(between.position),
        effects=of_far[:, 3:],
    )
    of_first = -_rows(first.changes(start)[0], FIRST_ROWS)
    of_first[ROLL_ROW, :3] = np.negative(first.socket.axis)
    for number, covariance, effects in (
        (0, between.start_direction, of_first[:, :3]),
        (1, between.goal_direction, of_far[:, :3]),
    ):
        yield Errors(
            sources=(Source(kind="direction", number=number),) * 3,
            covariance=np.array(covariance),
            effects=effects,
        )


def _rows(changes: Array, rows: Sequence[int]) -> Array:
    """Return changes of one fitting's readings among those of both."""
    effects = np.zeros((READINGS, changes.shape[1]))
    effects[list(rows)] = changes
    return effects


def _as_stated(scene: Scene, start: str, goal: str) -> SpreadBetween:
    """Return how well ports are known whose every coordinate was read once."""
    either = scene.spread.reading**2
    return SpreadBetween(
        start=start,
        goal=goal,
        position=(
            (2.0 * either, 0.0, 0.0),
            (0.0, 2.0 * either, 0.0),
            (0.0, 0.0, 2.0 * either),
        ),
        start_direction=direction_spread(scene, start),
        goal_direction=direction_spread(scene, goal),
    )
