"""The layers of the sheets: what of a tube, a case or a strip is drawn how."""

from __future__ import annotations

from typing import Final

from loopsolver.drafting.layers import AtJoint, Layer, PageLayers


class Layers(PageLayers):
    """The layers of a page, and those on which a tube and what is round it are drawn."""

    TUBE = Layer(name="tube edges", width=0.6, at_joint=AtJoint.CONTOUR)
    CENTRE = Layer(
        name="centre line",
        width=0.2,
        dash=(6.0, 1.2, 1.2, 1.2),
        at_joint=AtJoint.CONTOUR,
    )
    LEG = Layer(name="legs", width=0.15, dash=(1.2, 0.8))
    TANGENT = Layer(name="tangent lines", width=0.25)
    BEND_CENTRE = Layer(name="bend centres", width=0.2)
    FORMER = Layer(
        name="former", width=0.25, dash=(1.6, 1.0), at_joint=AtJoint.BACKGROUND
    )
    PORT_AXIS = Layer(name="port axes", width=0.2, dash=(6.0, 1.2, 1.2, 1.2))
    FITTING = Layer(name="fittings", width=0.3, at_joint=AtJoint.CONTOUR)
    TRIM = Layer(
        name="trim allowance", width=0.35, dash=(2.4, 1.2), at_joint=AtJoint.CONTOUR
    )
    HEATED = Layer(name="heated length", width=0.25, grey=0.3)
    TURN = Layer(name="turns", width=0.4)
    INSIDE = Layer(name="insides of bends", width=0.6)
    CASE = Layer(name="case", width=0.25, grey=0.35)
    BODY = Layer(name="bodies", width=0.2, grey=0.5)
    CUT = Layer(name="cuts", width=0.4)
    WINDOW = Layer(name="windows to mark through", width=0.4, at_joint=AtJoint.WHOLE)


LISTED: Final = (
    Layers.GRID,
    Layers.GRID_STRONG,
    Layers.TUBE,
    Layers.CENTRE,
    Layers.LEG,
    Layers.TANGENT,
    Layers.BEND_CENTRE,
    Layers.FORMER,
    Layers.PORT_AXIS,
    Layers.FITTING,
    Layers.TRIM,
    Layers.DIMENSION,
    Layers.TURN,
    Layers.INSIDE,
    Layers.NOTE,
    Layers.LEADER,
    Layers.FRAME,
    Layers.SCALE_BAR,
    Layers.CUT,
    Layers.SOLID,
)
"""In which order a CAD program lists those of a template."""
