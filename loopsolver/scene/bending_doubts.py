"""Doubts about bending: formers that are too tight, test bends that contradict others."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from loopsolver.lengths import on_a_rule
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene
from loopsolver.survey.chances import CRITICAL
from loopsolver.tolerances import TIGHT_BEND_DIAMETERS, TOUCH
from loopsolver.tube.deformation import handbook_bend
from loopsolver.tube.springback import OddTest, odd_angles, odd_lengths


def bending_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return the doubts about formers and about test bends."""
    yield from _tight_bends(scene)
    yield from _test_bends(scene)


def _tight_bends(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for every former that is tighter than published or usual."""
    formers = [("tube.bend_radius", scene.tube.bend_radii)]
    formers += [(f"run {run.name!r}", run.bend_radii or ()) for run in scene.runs]
    for where, radius in ((where, one) for where, radii in formers for one in radii):
        message = _too_tight(scene, radius) or _under_handbook(scene, radius)
        if message:
            yield Doubt(kind="tight bend", where=where, message=message)


def _too_tight(scene: Scene, radius: float) -> str:
    """Return that nobody bends tube so tightly; '' of what some do."""
    text, outer = on_a_rule(scene.units).plain, scene.tube.outer_diameter
    least = TIGHT_BEND_DIAMETERS * outer
    if radius >= least:
        return ""
    return (
        f"a bend radius of {text(radius)} is {radius / outer:.2f} outer "
        f"diameters; under {TIGHT_BEND_DIAMETERS:g} ({text(least)}) tube tends to "
        "kink or flatten: copper pipe is bent to no less than 1.5 (NAVEDTRA "
        "14119, p. 16-11), and 1.5 to 2 over a filler cord is common practice for "
        "plastic (no published table); take a larger former, or make a test bend "
        "first"
    )


def _under_handbook(scene: Scene, radius: float) -> str:
    """Return that a handbook's benders do not bend copper so tightly; '' if they do."""
    row, text = handbook_bend(scene.tube), on_a_rule(scene.units).plain
    if row is None or radius >= row.least - TOUCH:
        return ""
    return (
        f"a bend radius of {text(radius)} is tighter than benders for copper have it: "
        f"{text(row.least)} for tube of {text(row.outer_diameter)} (Copper Tube Handbook, "
        "table 4.1); take such a former, or make a test bend first"
    )


def _test_bends(scene: Scene) -> Iterator[Doubt]:
    """Return a doubt for test bends the wrong way round, and for what contradicts most."""
    for number, test in enumerate(scene.test_bends, start=1):
        if test.overbend_deg < 0.0:
            message = (
                f"got = {test.got_deg:g} degrees is more than it was held at, bent = "
                f"{test.bent_deg:g} degrees: tube springs back towards straight; are they "
                "the wrong way round?"
            )
            yield _doubt(number, message)
    spread_deg = math.degrees(scene.spread.angle)
    odd = _oddest(odd_angles(scene.test_bends, spread_deg=spread_deg))
    if odd is not None:
        message = (
            f"it had to be held {odd.found:.1f} degrees beyond what it got, where "
            f"{_others(scene)} let expect {odd.expected:.1f} degrees, at most "
            f"{CRITICAL * odd.spread:.1f} degrees off; look at bent and got again, or "
            "make a further test bend, which tells whether this one is wrong"
        )
        yield _doubt(odd.number, message)
    radius, text = scene.tube.bend_radii[0], on_a_rule(scene.units).plain
    odd = _oddest(
        odd_lengths(
            scene.test_bends,
            radius=radius,
            reading=scene.spread.reading,
            spread_deg=spread_deg,
        )
    )
    if odd is not None:
        message = (
            f"by blank and legs the bend took up {text(odd.found)} of tube, where "
            f"{_others(scene)} let expect {text(odd.expected)}, at most "
            f"{text(CRITICAL * odd.spread)} off, round a former of {text(radius)}; "
            "measure both legs again, to where the centre lines meet, and look at blank "
            "and at [tube] bend_radius"
        )
        yield _doubt(odd.number, message)


def _doubt(number: int, message: str) -> Doubt:
    return Doubt(kind="test bends", where=f"test_bends[{number}]", message=message)


def _oddest(every: Iterable[OddTest]) -> OddTest | None:
    """Return what lies off by most, the first of equals, if that is no chance."""
    odd = max(every, key=lambda one: one.score, default=None)
    return odd if odd is not None and odd.score > CRITICAL else None


def _others(scene: Scene) -> str:
    """Return what a test bend is held against."""
    if len(scene.test_bends) == 1:
        return "common practice (no source) would"
    return "the other test bends"
