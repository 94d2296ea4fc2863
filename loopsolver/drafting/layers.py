"""The layers of a drawing: how their lines look, and what a joint does to them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class AtJoint(Enum):
    """What becomes of a layer where a drawing is cut into pages."""

    GROUND = "lies under everything: lettering may go over it"
    BACKGROUND = "gets no page of its own"
    ORDINARY = "may be cut"
    CONTOUR = "is true to size: no joint had better run along it"
    WHOLE = "is of no use cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """What a thing on a drawing is, and the pen it is drawn with.

    Attributes
    ----------
    name : str
        Plain, as a CAD program lists it.
    width : float
        Line width [mm]; 0 draws no line at all.
    dash : tuple of float
        Lengths of dash, gap, dash, ... [mm]; empty for a solid line.
    grey : float
        0 is black, 1 is white.
    at_joint : AtJoint
    """

    name: str
    width: float
    dash: tuple[float, ...] = ()
    grey: float = 0.0
    at_joint: AtJoint = AtJoint.ORDINARY


class PageLayers:
    """What every drawing and page has: lettering, tables, frames, marks, scale bars."""

    GRID = Layer(name="grid", width=0.06, grey=0.72, at_joint=AtJoint.GROUND)
    GRID_STRONG = Layer(
        name="grid tens", width=0.12, grey=0.62, at_joint=AtJoint.GROUND
    )
    DIMENSION = Layer(name="dimensions", width=0.15)
    NOTE = Layer(name="notes", width=0.18)
    LEADER = Layer(name="leaders", width=0.15, grey=0.35, at_joint=AtJoint.BACKGROUND)
    TABLE = Layer(name="tables", width=0.18, grey=0.35)
    FRAME = Layer(name="frame", width=0.18, grey=0.35)
    PAGE_MARK = Layer(name="page marks", width=0.15)
    JOINT = Layer(name="page joints", width=0.12, dash=(0.6, 1.4), grey=0.3)
    SCALE_BAR = Layer(name="scale bars", width=0.3)
    SOLID = Layer(name="solid areas", width=0.0, at_joint=AtJoint.GROUND)
