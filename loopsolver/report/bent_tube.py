"""What bending and warmth do to a tube, in words: springback, wall, flatness, growth."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from loopsolver.lengths import Lengths, fixed
from loopsolver.report.angles import degrees, settable
from loopsolver.tube.bend_table import BendTable
from loopsolver.tube.deformation import growth, least_across, least_radius, outer_wall
from loopsolver.tube.springback import Springback
from loopsolver.tube.stock import MATERIAL_FACTS, Tube
from loopsolver.words import counted


def hold_at(tube: Tube, angle_deg: float) -> str:
    """Return what to hold a bend at until it is cold, bare; '' where that is not known.

    To half a degree: finer no hand can set it.
    """
    if tube.springback is None:
        return ""
    return settable(tube.springback.held_deg(angle_deg))


def springback_words(tube: Tube, table: BendTable, lengths: Lengths) -> Iterator[str]:
    """Yield how a tube is held against springing back, and what says so.

    Nothing without test bends, or for a tube without bends.
    """
    back = tube.springback
    if back is None or not table.bends:
        return
    spread_deg = max(back.spread_deg(bend.angle_deg) for bend in table.bends)
    yield (
        "Hold each bend at the angle under hold until it is cold: let go, it springs back "
        f"to its angle. By {counted(back.tests, 'test bend')}: {_overbend(back)}, two of "
        f"three within {degrees(spread_deg)}."
    )
    tested = tube.bend_radii[0]
    if not math.isclose(table.radius, tested):
        yield (
            f"The test bends are taken to be of radius {lengths.text(tested)}, this tube's "
            f"are of {lengths.text(table.radius)}: make one round this former, too."
        )
    if tube.take_up != 1.0:
        yield (
            f"By the test bends a bend takes up {fixed(tube.take_up, 3)} of its arc: marks "
            "and blank are reckoned so."
        )


def _overbend(back: Springback) -> str:
    """Return constant and share of the overbend without signs."""
    constant = degrees(abs(back.constant_deg))
    share = f"{fixed(100.0 * abs(back.share), 1)} % of the angle"
    if back.constant_deg < 0.0:
        return f"{share} less {constant}"
    return f"{constant} {'less' if back.share < 0.0 else 'and'} {share}"


def wall_words(tube: Tube, radii: Sequence[float], lengths: Lengths) -> str:
    """Return how thick the wall outside a bend stays; `radii` are of its formers [mm]."""
    wall = 0.5 * (tube.outer_diameter - tube.inner_diameter)
    left = [outer_wall(tube, radius) for radius in radii]
    alone, drawn_in = min(low for low, _ in left), max(high for _, high in left)
    bare = [
        fixed(one / lengths.millimetres, lengths.decimals + 1)
        for one in (alone, drawn_in, wall)
    ]
    return f"{bare[0]} to {bare[1]} of {bare[2]} {lengths.unit}"


def wall_sentences(tube: Tube, radius: float, lengths: Lengths) -> Iterator[str]:
    """Yield what is left of the wall outside a bend, and how flat the bend may be."""
    yield (
        f"The wall outside a bend keeps about {wall_words(tube, [radius], lengths)}: an "
        "estimate, the less if it stretches alone, the more as TEMA RCB-2.31 has it for "
        "metal."
    )
    yield (
        "How flat a bend gets is not reckoned. Measure across each: under "
        f"{lengths.text(least_across(tube))}, 75 % of the tube, make it anew (FAA "
        "handbook of aviation maintenance, fluid lines)."
    )


def bench_sentences(
    tube: Tube, table: BendTable, apart: float, lengths: Lengths
) -> Iterator[str]:
    """Yield in few words what a sheet says of a bent tube below its bend table.

    Parameters
    ----------
    tube, table, lengths
    apart : float
        How far the tube's ends are apart [mm].
    """
    yield from springback_words(tube, table, lengths)
    yield (
        f"Outside a bend about {wall_words(tube, [table.radius], lengths)} of wall are "
        f"left. A bend narrower than {lengths.plain(least_across(tube))} across: make it "
        "anew."
    )
    grown = growth_words(tube, apart, lengths)
    if grown:
        yield f"Between its ends the tube grows by {grown}."


def least_radius_words(tube: Tube, lengths: Lengths) -> str:
    """Return the tightest radius worth trying, and who says so."""
    source = MATERIAL_FACTS[tube.material].radius_source
    return f"least radius {lengths.text(least_radius(tube))} ({source})"


def growth_words(tube: Tube, apart: float, lengths: Lengths) -> str:
    """Return how far a tube grows, and from when to when; '' where that is not stated.

    Parameters
    ----------
    tube : Tube
    apart : float
        How far its ends are apart [mm].
    lengths : Lengths
    """
    grown = growth(tube, apart)
    if grown is None or tube.temperatures_c is None:
        return ""
    built, warmest = tube.temperatures_c
    low, high = (lengths.fine(one) for one in grown)
    much = low if low == high else f"{low} to {high}"
    return f"{much} from {built:g} to {warmest:g} °C"


def growth_sentences(tube: Tube, apart: float, lengths: Lengths) -> Iterator[str]:
    """Yield how far a tube grows between its ends, and by whom, where that is stated.

    Parameters
    ----------
    tube, apart, lengths
        As `growth_words` has them.
    """
    grown = growth_words(tube, apart, lengths)
    if grown:
        source = MATERIAL_FACTS[tube.material].expansion_source
        yield (
            f"Between its ends the tube grows by {grown}; where both parts are fixed, "
            f"bends and fittings have to give way to it ({source})."
        )
