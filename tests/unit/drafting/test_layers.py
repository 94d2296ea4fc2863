"""Pens of a page: what a person sees of them on paper."""

from __future__ import annotations

from loopsolver.drafting.layers import AtJoint, Layer, PageLayers

PENS = {name: one for name, one in vars(PageLayers).items() if isinstance(one, Layer)}


def test_a_pen_is_black_and_draws_on_unless_it_says_otherwise() -> None:
    pen = Layer(name="edges", width=0.3)
    assert (pen.grey, pen.dash, pen.at_joint) == (0.0, (), AtJoint.ORDINARY)


def test_lines_are_thin_and_solid_areas_have_none() -> None:
    """Under 0.35 mm, the least of the thick lines of ISO 128 (from memory)."""
    assert PENS["SOLID"].width == 0.0
    for pen in PENS.values():
        assert pen is PageLayers.SOLID or 0.0 < pen.width < 0.35, pen.name


def test_what_matters_less_is_paler_and_nothing_is_white() -> None:
    greys = {name: pen.grey for name, pen in PENS.items()}
    assert all(0.0 <= grey < 0.8 for grey in greys.values())
    frames = {greys["LEADER"], greys["TABLE"], greys["FRAME"], greys["JOINT"]}
    read = {"DIMENSION", "NOTE", "PAGE_MARK", "SCALE_BAR", "SOLID"}
    assert {greys[name] for name in read} == {0.0}
    assert min(frames) > 0.0
    assert max(frames) < greys["GRID_STRONG"] < greys["GRID"]


def test_only_joints_are_dotted() -> None:
    for name, pen in PENS.items():
        assert bool(pen.dash) == (name == "JOINT")
    dot, gap = PENS["JOINT"].dash
    assert 0.0 < dot < gap < 2.0
    assert dot < 1.0


def test_names_tell_layers_apart() -> None:
    assert len({pen.name for pen in PENS.values()}) == len(PENS)
