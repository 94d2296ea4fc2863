"""What test bends say of a tube: how far it springs back, what a bend takes up.

A bend is held further than is wanted, by a constant and a share of the wanted angle.
Both, and the length that a bend takes up, are fitted to the test bends by weighted least
squares; what is usual of them counts as one measurement more, so that a single test bend
is enough and ten outweigh it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.tube.setting_out import arc_length, take_out

_USUAL_CONSTANT_DEG: Final = 3.0
_USUAL_SHARE: Final = 0.03
"""How far overbend is usually from none: a constant [degrees], and of the wanted angle.

Common practice, no source: no table tells it for hot plastic, where it depends on how
cold the tube is when it is let go.
"""

_USUAL_TAKE_UP: Final = 0.1
"""How far what a bend takes up usually is from its arc, as a share of it.

Common practice, no source.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BendTest:
    """A bend that was made to try, of the same stock and with the same bend radius.

    Attributes
    ----------
    bent_deg, got_deg : float
        Held until it was cold; what it then had [degrees].
    blank : float or None
        The straight piece before it was bent [mm]; None: not measured.
    legs : pair of float, or None
        From each end to where the centre lines meet [mm]; None where `blank` is.
    """

    bent_deg: float
    got_deg: float
    blank: float | None = None
    legs: tuple[float, float] | None = None

    @property
    def overbend_deg(self) -> float:
        """How far it was held beyond what it then had [degrees]."""
        return self.bent_deg - self.got_deg


@dataclass(frozen=True, slots=True, kw_only=True)
class Springback:
    """How far a tube is held beyond a wanted angle: a constant and a share of it.

    Attributes
    ----------
    constant_deg, share : float
        Overbend is the one [degrees], and the other times the wanted angle.
    variances : three floats
        Of the constant, of both together, of the share.
    tests : int
        How many test bends say so.

    Examples
    --------
    As a bending machine's builder prints it, 1.5 degrees and 0.05 of the angle:

    >>> Springback(constant_deg=1.5, share=0.05).held_deg(90.0)
    96.0
    """

    constant_deg: float
    share: float
    variances: tuple[float, float, float] = (0.0, 0.0, 0.0)
    tests: int = 0

    def overbend_deg(self, wanted_deg: float) -> float:
        """Return how far to hold a bend beyond the wanted angle [degrees]."""
        return self.constant_deg + self.share * wanted_deg

    def held_deg(self, wanted_deg: float) -> float:
        """Return what to hold a bend at until it is cold, to have the wanted angle."""
        return wanted_deg + self.overbend_deg(wanted_deg)

    def spread_deg(self, wanted_deg: float) -> float:
        """Return how far the overbend usually lies off [degrees]: two of three within."""
        constant, both, share = self.variances
        return math.sqrt(constant + wanted_deg * (2.0 * both + wanted_deg * share))


def springback(tests: Sequence[BendTest], *, spread_deg: float) -> Springback | None:
    """Return how far a tube springs back by its test bends; None without any.

    Parameters
    ----------
    tests : sequence of BendTest
    spread_deg : float
        How far a single bend usually lies off [degrees].

    Notes
    -----
    Overbend against the angle that was got, since that is what the next bend is to get:
    what springs back by a share of the held angle is then met exactly. Test bends that
    scatter by more than is stated widen the spread, as they do.
    """
    return _springback(tests, spread_deg) if tests else None


def _springback(tests: Sequence[BendTest], spread_deg: float) -> Springback:
    """Return the constant and share that fit, by the normal equations of two unknowns."""
    weight = 1.0 / spread_deg**2
    of_constant = 1.0 / _USUAL_CONSTANT_DEG**2 + weight * len(tests)
    of_share = 1.0 / _USUAL_SHARE**2
    of_share += weight * math.fsum(test.got_deg**2 for test in tests)
    of_both = weight * math.fsum(test.got_deg for test in tests)
    right = weight * math.fsum(test.overbend_deg for test in tests)
    leaning = weight * math.fsum(test.overbend_deg * test.got_deg for test in tests)
    scale = of_constant * of_share - of_both**2
    found = Springback(
        constant_deg=(of_share * right - of_both * leaning) / scale,
        share=(of_constant * leaning - of_both * right) / scale,
        tests=len(tests),
    )
    scale /= _scatter(found, tests, spread_deg)
    variances = (of_share / scale, -of_both / scale, of_constant / scale)
    return replace(found, variances=variances)


def _scatter(found: Springback, tests: Sequence[BendTest], spread_deg: float) -> float:
    """Return how much further test bends scatter than is stated, squared; at least 1.

    Birge's ratio: what is usual counts as two measurements, for two unknowns.
    """
    off = [
        (found.constant_deg / _USUAL_CONSTANT_DEG) ** 2,
        (found.share / _USUAL_SHARE) ** 2,
    ]
    off += [
        ((test.overbend_deg - found.overbend_deg(test.got_deg)) / spread_deg) ** 2
        for test in tests
    ]
    return max(1.0, math.fsum(off) / max(1, len(tests)))


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenUp:
    """The length of tube that a bend took up, beside its arc [mm].

    `spread` is how far what was measured usually lies off.
    """

    length: float
    arc: float
    spread: float


def taken_up(
    test: BendTest, *, radius: float, reading: float, spread_deg: float
) -> TakenUp | None:
    """Return the length of tube that a test bend took up; None if not measured.

    Parameters
    ----------
    test : BendTest
    radius : float
        Of its former, to the tube's centre line [mm].
    reading, spread_deg : float
        How far a length that is read [mm] and an angle [degrees] usually lie off.

    Notes
    -----
    What is left of the blank when the legs, each less its tangent length, are taken off.
    Three lengths are read; an angle that is off moves tangents against arc by
    ``R tan^2(a / 2)`` a radian.
    """
    if test.blank is None or test.legs is None:
        return None
    angle = math.radians(test.got_deg)
    outs = 2.0 * take_out(radius, angle)
    by_angle = radius * math.tan(0.5 * angle) ** 2 * math.radians(spread_deg)
    return TakenUp(
        length=test.blank - math.fsum(test.legs) + outs,
        arc=arc_length(radius, angle),
        spread=math.hypot(math.sqrt(3.0) * reading, by_angle),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeUp:
    """What a bend takes up, as a share of its arc, with how far that usually lies off."""

    share: float
    spread: float


def take_up(
    tests: Sequence[BendTest], *, radius: float, reading: float, spread_deg: float
) -> TakeUp:
    """Return what a bend takes up as a share of its arc; near 1 where none measured it.

    Parameters
    ----------
    tests : sequence of BendTest
    radius, reading, spread_deg : float
        As `taken_up` has them.
    """
    weights = shares = 1.0 / _USUAL_TAKE_UP**2
    for test in tests:
        taken = taken_up(test, radius=radius, reading=reading, spread_deg=spread_deg)
        if taken is not None:
            weights += (taken.arc / taken.spread) ** 2
            shares += taken.arc * taken.length / taken.spread**2
    return TakeUp(share=shares / weights, spread=1.0 / math.sqrt(weights))


@dataclass(frozen=True, slots=True, kw_only=True)
class OddTest:
    """A test bend against what the others, and what is usual, let expect of it.

    Attributes
    ----------
    number : int
        Which test bend it is, counted from 1.
    found, expected, spread : float
        Its own value, the expected one, and how far it usually lies from that: overbend
        [degrees] or what was taken up [mm].
    """

    number: int
    found: float
    expected: float
    spread: float

    @property
    def score(self) -> float:
        """How many spreads it lies off."""
        return abs(self.found - self.expected) / self.spread


def odd_angles(tests: Sequence[BendTest], *, spread_deg: float) -> Iterator[OddTest]:
    """Yield every test bend with the overbend that the others let expect [degrees]."""
    for index, test in enumerate(tests):
        others = _springback([*tests[:index], *tests[index + 1 :]], spread_deg)
        yield OddTest(
            number=index + 1,
            found=test.overbend_deg,
            expected=others.overbend_deg(test.got_deg),
            spread=math.hypot(spread_deg, others.spread_deg(test.got_deg)),
        )


def odd_lengths(
    tests: Sequence[BendTest], *, radius: float, reading: float, spread_deg: float
) -> Iterator[OddTest]:
    """Yield every test bend that was measured, with what the others let expect [mm].

    Parameters
    ----------
    tests : sequence of BendTest
    radius, reading, spread_deg : float
        As `taken_up` has them.
    """
    known = {"radius": radius, "reading": reading, "spread_deg": spread_deg}
    for index, test in enumerate(tests):
        taken = taken_up(test, **known)
        if taken is None:
            continue
        others = take_up([*tests[:index], *tests[index + 1 :]], **known)
        yield OddTest(
            number=index + 1,
            found=taken.length,
            expected=others.share * taken.arc,
            spread=math.hypot(taken.spread, others.spread * taken.arc),
        )
