"""Air and drain against a flood of small cells, and against what is plain to see."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopsolver.geometry.frames import axis_frame
from loopsolver.geometry.solids import Box, Cylinder
from loopsolver.geometry.vectors import point
from loopsolver.hydraulics.insides import (
    Bore,
    Chamber,
    Insides,
    OpenPort,
    slices,
    solid_ml,
)
from loopsolver.hydraulics.levels import ceilings, share_above, standing
from loopsolver.hydraulics.pockets import filled_up, pockets, poured
from loopsolver.hydraulics.summits import summits
from loopsolver.tube.centreline import BendArc, Centreline, pieces
from tests.builders.random_loops import flooded, random_direction, random_loop
from tests.full import few_or_all

SEEN = 0.5  # what a pocket must hold to be compared [mL]
GRAIN = 0.25  # by which cells may miss that [mL]


def found_pockets(loop, up):
    """Our pockets: the element that holds most of each, and its volume."""
    inside = loop.inside
    cut = slices(inside)
    return [
        (_element(inside, cut, one), one.volume_ml)
        for one in filled_up(summits(standing(inside, cut, up), cut, loop.opening))
    ]


def _element(inside, cut, pocket):
    held = {}
    for place, amount in zip(pocket.chambers, pocket.in_chambers, strict=True):
        held[inside.chambers[place].name] = amount
    for place, amount in zip(pocket.slices, pocket.in_slices, strict=True):
        name = inside.bores[int(cut.bore[place])].name
        held[name] = held.get(name, 0.0) + amount
    return max(held, key=held.__getitem__)


@pytest.mark.parametrize("seed", few_or_all([7, 11], range(200)))
def test_pockets_are_those_of_a_flood_of_cells(seed) -> None:
    """Volumes within 3 % or 1 mL; liquid on draining is air with `up` turned round."""
    loop = random_loop(seed)
    up = random_direction(np.random.default_rng(1000 + seed))
    ours = found_pockets(loop, up)
    theirs = [(one.element, one.volume_ml) for one in flooded(loop, up)]
    for some, others in ((ours, theirs), (theirs, ours)):
        for element, volume in some:
            if volume < SEEN + GRAIN:
                continue
            near = max(0.03 * volume, 1.0)
            assert any(
                name == element and abs(volume - other) <= near
                for name, other in others
            ), (element, volume, others)


def straight_tube(inside_of, vertices, radius=20.0):
    line = Centreline(vertices=vertices, radius=radius)
    return Bore(name="tube", ends=inside_of, pieces=tuple(pieces(line)), lead=0.0)


def box(name, low, high):
    middle = [(a + b) / 2.0 for a, b in zip(low, high, strict=True)]
    solid = Box(
        frame=axis_frame(middle, (0.0, 0.0, 1.0)),
        size=tuple(b - a for a, b in zip(low, high, strict=True)),
    )
    return Chamber(name=name, solids=(solid,), volume_ml=solid_ml(solid), is_known=True)


def tank_and_radiator(*, ports_up: bool) -> tuple[Insides, OpenPort]:
    """A tank with a vent in its lid, and a radiator whose two ports are at one end.

    Two tubes rise straight from the tank's lid to above it and come down to the
    radiator, or go straight across under it.
    """
    tank = box("tank", (0, 0, 0), (60, 60, 100))
    low = 0 if ports_up else 100
    front = box("front", (200, 0, low), (240, 60, low + 100))
    height = 130 if ports_up else 60
    bores = tuple(
        straight_tube(
            (0, 1),
            ((30, y, 100), (30, y, height), (220, y, height), (220, y, 100))
            if ports_up
            else ((60, y, 60), (220, y, 60), (220, y, 100)),
        )
        for y in (15, 45)
    )
    inside = Insides(chambers=(tank, front), bores=bores, radius=5.0)
    return inside, OpenPort(chamber=0, position=(10, 30, 100), direction=(0, 0, 1))


UP = (0.0, 0.0, 1.0)


def test_a_radiator_with_both_ports_low_keeps_its_air() -> None:
    """Ports in its floor: all of 40 x 60 x 100 mm, 240 mL, and some in the tubes."""
    inside, vent = tank_and_radiator(ports_up=False)
    cut = slices(inside)
    (one,) = filled_up(summits(standing(inside, cut, UP), cut, vent))
    assert one.in_chambers.sum() == pytest.approx(240.0, abs=0.01)
    assert one.volume_ml < 240.0 + 2.0 * 0.25 * math.pi * 10.0**2 * 40.0 / 1000.0


def test_a_tube_over_the_top_keeps_air_down_to_its_foot() -> None:
    """Both tubes rise above the lid: they hold all air above z = 100, nothing else does.

    Each tube's length above it, by Pappus: 2 x 10 + 150 straight and two square bends
    of 20 mm radius, 2 x 31.416: 232.83 mm, 18.29 mL.
    """
    inside, vent = tank_and_radiator(ports_up=True)
    cut = slices(inside)
    found = filled_up(summits(standing(inside, cut, UP), cut, vent))
    length = 2 * 10.0 + 150.0 + math.pi * 20.0
    volume = 0.25 * math.pi * 10.0**2 * length / 1000.0
    assert [one.volume_ml for one in found] == pytest.approx([volume] * 2, abs=0.02)


def test_without_a_vent_nothing_gets_out() -> None:
    inside, _ = tank_and_radiator(ports_up=True)
    cut = slices(inside)
    found = filled_up(summits(standing(inside, cut, UP), cut, None))
    whole = 600 * 0.6 + 240.0
    assert sum(one.volume_ml for one in found) > whole


def test_air_goes_over_the_sill_when_there_is_more_than_a_summit_holds() -> None:
    """Turned round, both parts' floors are summits, each shut by its tubes' foot.

    With 500 mL in a tank that holds 360 the rest goes down the tubes to the other.
    """
    inside, _ = tank_and_radiator(ports_up=True)
    cut = slices(inside)
    of = summits(standing(inside, cut, (0.0, 0.0, -1.0)), cut, None)
    amounts = np.zeros(len(of.knots))
    amounts[of.chamber_leaf[0]] = 500.0
    found = pockets(of, poured(of, amounts))
    assert sum(one.volume_ml for one in found) == pytest.approx(500.0, abs=1e-6)
    held: dict[int, float] = {}
    for one in found:
        for place, amount in zip(one.chambers, one.in_chambers, strict=True):
            held[int(place)] = held.get(int(place), 0.0) + amount
    assert held[0] == pytest.approx(360.0, abs=0.5)
    assert 100.0 < held[1] < 140.5


@pytest.mark.parametrize("seed", range(4))
def test_shares_of_solids_are_those_of_many_random_points(seed) -> None:
    """Monte Carlo, 200,000 points: within four spreads of a share, 0.45 %."""
    random = np.random.default_rng(seed)
    up = random_direction(random)
    frame = axis_frame((0.0, 0.0, 0.0), random_direction(random))
    axes = np.array(frame.axes)
    free = random.uniform(-0.5, 0.5, (200_000, 3))
    levels = np.array([-12.0, -3.0, 0.0, 8.0])
    size = (30.0, 20.0, 50.0)
    solid = Box(frame=frame, size=size)
    heights = (free * size) @ axes @ np.array(up)
    theirs = [(heights > level).mean() for level in levels]
    assert share_above(solid, up, levels) == pytest.approx(theirs, abs=0.0045)
    for height in (10.0, 60.0):
        drum = Cylinder(frame=frame, diameter=40.0, height=height)
        disc = free[np.hypot(free[:, 0], free[:, 1]) < 0.5]
        heights = (disc * (40.0, 40.0, height)) @ axes @ np.array(up)
        theirs = [(heights > level).mean() for level in levels]
        assert share_above(drum, up, levels) == pytest.approx(theirs, abs=0.005)


@pytest.mark.parametrize("seed", range(6))
def test_ceilings_have_their_extremes_where_samples_have_them(seed) -> None:
    """By 20,001 samples of p.u + r sqrt(1 - (t.u)^2) along a true arc."""
    random = np.random.default_rng(seed)
    up = random_direction(random)
    vertices = tuple(point(random.uniform(-200, 200, 3)) for _ in range(3))
    arc = pieces(Centreline(vertices=vertices, radius=15.0))[1]
    assert isinstance(arc, BendArc)
    turned = np.linspace(0.0, arc.angle, 20_001)
    u, v, centre = (np.array(one) for one in (arc.u, arc.v, arc.centre))
    spoke = np.cos(turned)[:, None] * u + np.sin(turned)[:, None] * v
    along = np.cos(turned)[:, None] * v - np.sin(turned)[:, None] * u
    heights = (centre + 15.0 * spoke) @ up + 5.0 * np.sqrt(1.0 - (along @ up) ** 2)
    ours = [height for _, height in ceilings(arc, 5.0, up)]
    assert max(ours) == pytest.approx(heights.max(), abs=1e-5)
    assert min(ours) == pytest.approx(heights.min(), abs=1e-5)


def test_the_summit_of_a_bend_is_inside_it() -> None:
    """A roof of 126.87 degrees: its apex lies R / cos(63.43 deg) - R below the vertex.

    100 - 20 / 0.44721 + 20 = 75.279 mm, and the bore's radius of 5 mm above that.
    """
    parts = (
        box("a", (-20, -20, -40), (20, 20, 0)),
        box("b", (80, -20, -40), (120, 20, 0)),
    )
    roof = straight_tube((0, 1), ((0, 0, 0), (50, 0, 100), (100, 0, 0)))
    inside = Insides(chambers=parts, bores=(roof,), radius=5.0)
    cut = slices(inside)
    of = summits(standing(inside, cut, UP), cut, None)
    assert max(knot.top for knot in of.knots) == pytest.approx(80.279, abs=0.001)


def test_a_slice_of_a_bend_is_thicker_outside() -> None:
    """Of a slice at the top of an arch more than half lies above its middle.

    The moment of a half disc is 2/3 r^3, so the share is 1/2 + 2 r / (3 pi R).
    """
    arch = straight_tube((0, 1), ((0, 0, 0), (0, 0, 60), (60, 0, 60), (60, 0, 0)))
    inside = Insides(chambers=(), bores=(arch,), radius=5.0)
    cut = slices(inside)
    stand = standing(inside, cut, UP)
    bent = np.flatnonzero(cut.curvature > 0.0)
    top = bent[[int(stand.heights[bent].argmax())]]
    share = (
        stand.slices_above(float(stand.heights[top[0]]), top).sum()
        / stand.slices_above(-1e4, top).sum()
    )
    assert share == pytest.approx(0.5 + 2.0 * 5.0 / (3.0 * math.pi * 20.0), abs=1e-3)
