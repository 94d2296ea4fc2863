"""Where the joints between a drawing's tiles go: where they cut least that matters."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loopsolver.drafting.drawing import Circle, Entity, Picture, Text
from loopsolver.drafting.extent import box
from loopsolver.drafting.layers import AtJoint, PageLayers
from loopsolver.drafting.placing import NEAR_JOINT
from loopsolver.tolerances import ORDER_DECIMALS

_STEP: Final = 1.0  # between places that are tried [mm]
Array = NDArray[np.float64]

_LETTERED: Final = 40.0  # lettering cut counts like so much contour cut lengthwise [mm]
_NEAR: Final = 8.0  # a joint so near to a contour runs along it [mm]

_LETTERING: Final = frozenset({PageLayers.NOTE, PageLayers.FRAME})


class Cuttable:
    """What a joint had better not cut: contours lengthwise, and lettering."""

    def __init__(self, entities: Iterable[Entity]) -> None:
        rows = [
            (*box(one), _NEAR if is_contour else NEAR_JOINT, one.layer in _LETTERING)
            for one in entities
            if not isinstance(one, Picture)
            for is_contour in [one.layer.at_joint is AtJoint.CONTOUR]
            if is_contour
            or isinstance(one, Text | Circle)
            or one.layer is PageLayers.FRAME
        ]
        self._rows: Array = np.array(rows, dtype=np.float64).reshape(-1, 6)

    def costs(self, places: Array, axis: int) -> Array:
        """Return what joints square to an axis cost at each of some places, (n,).

        Every thing that a joint runs through or near counts as long as it is along the
        joint [mm].
        """
        low, high = self._rows[:, axis], self._rows[:, 2 + axis]
        along = self._rows[:, 3 - axis] - self._rows[:, 1 - axis]
        spare, is_lettering = self._rows[:, 4], self._rows[:, 5]
        cut = (places[:, None] > low - spare) & (places[:, None] < high + spare)
        costs: Array = cut @ (along + _LETTERED * is_lettering)
        return costs


def best_start(
    cuttable: Cuttable, axis: int, *, least: float, most: float, joints: Array
) -> float:
    """Return where along an axis the first tile begins, so that joints cost least.

    The middle of where it may begin, if nothing tells for another place.

    Parameters
    ----------
    least, most : float
        Between which places [mm].
    joints : Array
        How far behind that each joint lies, (n,) [mm].
    """
    middle = (least + most) / 2.0
    if not joints.size or most <= least:
        return middle
    starts = np.append(np.arange(least, most, _STEP), [middle, most])
    costs = cuttable.costs((starts[:, None] + joints).ravel(), axis)
    summed = costs.reshape(len(starts), -1).sum(axis=1)
    order = np.lexsort((np.abs(starts - middle), np.round(summed, ORDER_DECIMALS)))
    return float(starts[order[0]])
