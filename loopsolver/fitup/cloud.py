"""Where the far ends of many tubes come out, each as it is bent, and which go in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from loopsolver.fitup.minimax import least_share
from loopsolver.fitup.placement import FAR_ROWS
from loopsolver.fitup.seating import seating_of
from loopsolver.fitup.socket import Socket
from loopsolver.fitup.spread import errors_of
from loopsolver.geometry.vectors import Array, Flags
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Scene
from loopsolver.scene.port_spreads import PortSpreads

COUNT: Final = 200
_SEED: Final = 1988


@dataclass(frozen=True, kw_only=True)
class Cloud:
    """Where tubes pass the mouth of their far fitting, their first end as drawn.

    Attributes
    ----------
    socket : Socket
        That fitting.
    offsets : ndarray, (tubes, 3)
        From the middle of its mouth [mm].
    fits : ndarray, (tubes,)
        Whether each goes into both fittings once it is placed best.
    """

    socket: Socket
    offsets: Array
    fits: Flags


def cloud_of(scene: Scene, candidate: Candidate, ports: PortSpreads | None) -> Cloud:
    """Return where tubes come out that are bent after a candidate, always the same ones.

    First order, as the chance is.

    Raises
    ------
    LoopsolverError
        As `chance.chance_of` does.
    """
    seating = seating_of(scene, candidate)
    errors = errors_of(scene, candidate, seating, ports)
    sizes, ways = np.linalg.eigh(errors.covariance)
    root = ways * np.sqrt(np.maximum(sizes, 0.0))
    random = np.random.default_rng(_SEED)
    amounts = random.standard_normal((COUNT, len(sizes))) @ root.T
    readings = amounts @ errors.effects.T
    _, far = seating.sockets
    across = readings[:, FAR_ROWS[:2]] * far.held.offset
    return Cloud(
        socket=far,
        offsets=across @ far.across,
        fits=least_share(seating.limits, readings).shares <= 1.0,
    )
