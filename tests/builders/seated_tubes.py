"""Random tubes between two fittings, and tubes as they might be bent after them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopsolver.fitup.placement import Seating
from loopsolver.fitup.socket import Guide, Socket
from loopsolver.geometry.frames import Frame
from loopsolver.geometry.vectors import point
from loopsolver.scene.model import Acceptance
from loopsolver.tube.chain import Chain, Poses, end_poses

HOLDS = (
    Acceptance(sideways=0.5, tilt=math.radians(1.0)),
    Guide(play=0.4),
    Guide(play=0.1),
    Acceptance(sideways=1.0, tilt=math.radians(0.4)),
)


@dataclass(frozen=True, kw_only=True)
class Seated:
    """A tube as drawn, and how it sits."""

    chain: Chain
    seating: Seating


def seated(seed: int, *, slides: float = 40.0) -> Seated:
    """Return a tube of two to five square bends with its fittings."""
    random = np.random.default_rng(seed)
    bends = 2 + seed % 4
    chain = Chain(
        straights=tuple(random.uniform(20.0, 150.0, bends + 1)),
        turns=tuple(math.pi / 2 * random.integers(-1, 3, bends)),
        angles=(math.pi / 2,) * bends,
        radius=28.0,
    )
    return seat_chain(chain, holds=(HOLDS[seed % 3], HOLDS[seed % 4]), slides=slides)


def seat_chain(
    chain: Chain,
    *,
    holds: tuple[Guide | Acceptance, Guide | Acceptance],
    slides: float = 40.0,
    frame: Frame | None = None,
) -> Seated:
    """Return a tube with a fitting at either end, in which it sits as drawn."""
    drawn = frame or Frame()
    far = far_ends([chain])
    ends = (
        (drawn.origin, drawn.axes[2]),
        (
            drawn.place(far.positions[0]),
            drawn.turn(point(-far.rotations[0, :, 2])),
        ),
    )
    first, second = (
        Socket(seat=point(seat), axis=axis, depth=12.0, holds=one)
        for (seat, axis), one in zip(ends, holds, strict=True)
    )
    either = (slides, slides)
    return Seated(
        chain=chain,
        seating=Seating(sockets=(first, second), drawn=drawn, slides=(either, either)),
    )


def far_ends(chains: list[Chain]) -> Poses:
    """Return the far ends of tubes of one radius in the frames of their first ends."""
    return end_poses(
        [one.straights for one in chains],
        [one.turns for one in chains],
        [one.angles for one in chains],
        chains[0].radius,
    )


def as_bent(chain: Chain, *, count: int, seed: int) -> Poses:
    """Return far ends of tubes with bends and turns out by 1 degree, straights by 1 mm."""
    random = np.random.default_rng(seed)
    bends = len(chain.angles)
    off = math.radians(1.0)
    return end_poses(
        chain.straights + random.normal(0.0, 1.0, (count, bends + 1)),
        chain.turns + random.normal(0.0, off, (count, bends)),
        chain.angles + random.normal(0.0, off, (count, bends)),
        chain.radius,
    )
