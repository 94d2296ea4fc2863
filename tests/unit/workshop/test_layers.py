"""The pens of the sheets: what stands out on paper, and in which order they are listed."""

from __future__ import annotations

from loopsolver.drafting.layers import AtJoint, Layer
from loopsolver.workshop.layers import Layers

OWN = {name: one for name, one in vars(Layers).items() if isinstance(one, Layer)}


def test_the_tube_is_drawn_strongest() -> None:
    """Thick lines are twice as wide as thin ones or more (ISO 128, from memory)."""
    for pen in OWN.values():
        assert 0.1 < pen.width <= 0.6, pen.name
        assert 0.0 <= pen.grey <= 0.5, pen.name
    strongest = {name for name, pen in OWN.items() if pen.width == 0.6}
    assert strongest == {"TUBE", "INSIDE"}
    assert {OWN[name].grey for name in strongest} == {0.0}


def test_what_is_round_the_tube_is_paler_the_further_it_is_off() -> None:
    pale = {name: pen.grey for name, pen in OWN.items() if pen.grey}
    assert set(pale) == {"HEATED", "CASE", "BODY"}
    assert 0.25 < pale["HEATED"] < pale["CASE"] < pale["BODY"]


def test_dashes_tell_lines_apart() -> None:
    """Long dash, short dash: an axis. Dashes: not there yet, or not the tube itself."""
    dashed = {name: pen.dash for name, pen in OWN.items() if pen.dash}
    assert set(dashed) == {"CENTRE", "PORT_AXIS", "LEG", "FORMER", "TRIM"}
    for name in ("CENTRE", "PORT_AXIS"):
        dash, *rest = dashed.pop(name)
        assert len(set(rest)) == 1
        assert len(rest) == 3
        assert 5.0 * rest[0] == dash
        assert 1.0 < rest[0] < 2.0
    for dash, gap in dashed.values():
        assert 0.5 < gap < dash < 2.0 * gap + 0.01
        assert dash < 2.5
    assert dashed["LEG"] < dashed["FORMER"] < dashed["TRIM"]


def test_joints_keep_off_what_is_true_to_size() -> None:
    at = {name: pen.at_joint for name, pen in OWN.items()}
    contours = {name for name, kind in at.items() if kind is AtJoint.CONTOUR}
    assert contours == {"TUBE", "CENTRE", "FITTING", "TRIM"}
    assert at["WINDOW"] is AtJoint.WHOLE
    assert at["FORMER"] is AtJoint.BACKGROUND
