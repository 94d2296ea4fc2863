"""Layers for drawings that are made up for a test."""

from __future__ import annotations

from loopsolver.drafting.layers import AtJoint, Layer, PageLayers


class Layers(PageLayers):
    """The layers of a page, and some with lines of other kinds."""

    TUBE = Layer(name="tube edges", width=0.6, at_joint=AtJoint.CONTOUR)
    CENTRE = Layer(name="centre line", width=0.2, dash=(6.0, 1.2, 1.2, 1.2))
    LEG = Layer(name="legs", width=0.15, dash=(1.2, 0.8))
    CUT = Layer(name="cuts", width=0.4)
