"""Doubts about sizes that do not go together: most often a unit was forgotten.

Tube, fittings, former, stock, rules and case are held against the tube's outer diameter.
What lies outside the usual is told with both lengths, and with the unit or the factor of
ten that would make it usual.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from loopsolver.lengths import written_length
from loopsolver.scene.doubt import Doubt
from loopsolver.scene.model import Scene, built_in_fitting
from loopsolver.units import MM_PER, LengthUnit

_TENFOLD: Final = (10.0, 0.1, MM_PER["in"], 1.0 / MM_PER["in"])
"""Slips that are told in any unit: a decimal, centimetres, inches."""

_MOST_NAMED: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """What is usual of a size, in outer diameters of the tube."""

    least: float
    typical: float
    most: float


_HEIGHT: Final = _Span(least=0.25, typical=1.5, most=8.0)
_OF_FITTING: Final = {
    "diameter": _Span(least=1.0, typical=1.6, most=5.0),
    "height": _HEIGHT,
    "depth": _Span(least=0.1, typical=0.9, most=5.0),
    "straight_beyond": _Span(least=0.0, typical=0.4, most=3.0),
    "reach": _HEIGHT,
}
_OF_TUBE: Final = {
    "stock_length": _Span(least=8.0, typical=35.0, most=650.0),
    "trim_allowance": _Span(least=0.15, typical=2.5, most=15.0),
}
_OF_RULES: Final = {
    "clearance": _Span(least=0.02, typical=0.2, most=1.8),
    "straight_between_bends": _Span(least=0.05, typical=1.0, most=8.0),
}
_FORMER: Final = _Span(least=0.5, typical=2.0, most=12.0)
_CASE: Final = _Span(least=3.0, typical=25.0, most=180.0)
_BORE: Final = _Span(least=0.25, typical=0.75, most=0.97)
"""Common practice, no source: about twice as far either way as what is sold for tubes of
6 to 35 mm, so that a factor of ten falls outside and nothing that is meant does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Size:
    """A length of the scene, and what is usual of it.

    Attributes
    ----------
    where : str
        Path of its key.
    of : str
        Which length of the key's it is, where it has several.
    goes_with_tube : bool
        Whether whoever measures the tube measures it too, and in the same unit.
    """

    where: str
    length: float
    span: _Span
    of: str = ""
    goes_with_tube: bool = False

    def is_usual(self, outer: float) -> bool:
        """Whether it goes with a tube of that outer diameter [mm]."""
        return self.span.least <= self.length / outer <= self.span.most

    def is_off(self, outer: float) -> float:
        """How far it is from what is typical with such a tube, either way alike."""
        return abs(math.log(self.length / outer / self.span.typical))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slip:
    """A factor by which a length may be wrong, and sizes that share it."""

    factor: float
    outer: float
    sizes: tuple[_Size, ...]

    @property
    def odd(self) -> tuple[_Size, ...]:
        """What still does not go with the tube."""
        return tuple(size for size in self.sizes if not size.is_usual(self.outer))

    @property
    def worth(self) -> tuple[int, float]:
        """The less, the better it explains the scene."""
        return len(self.odd), sum(size.is_off(self.outer) for size in self.sizes)


def size_doubts(scene: Scene) -> Iterator[Doubt]:
    """Return doubts about sizes that do not go with the tube, or the tube with them."""
    outer, unit = scene.tube.outer_diameter, scene.units
    sizes = tuple(size for size in _sizes(scene) if size.length > 0.0)
    written = _Slip(factor=1.0, outer=outer, sizes=sizes)
    slip = min(_slips_of_tube(written, unit), key=lambda slip: slip.worth)
    if len(slip.odd) < min(len(written.odd) - 1, len(written.odd) / 2.0):
        yield _about_tube(written, slip, unit)
    else:
        for where in dict.fromkeys(size.where for size in written.odd):
            alike = [size for size in written.sizes if size.where == where]
            yield _about(alike, outer, unit)
    bore = _Size(
        where="tube.inner_diameter", length=scene.tube.inner_diameter, span=_BORE
    )
    if not bore.is_usual(outer):
        yield _about([bore], outer, unit)


def _slips_of_tube(written: _Slip, unit: LengthUnit) -> Iterator[_Slip]:
    """Yield slips of the tube alone, and of all that is measured with it."""
    for factor in _factors(unit):
        outer = written.outer * factor
        yield replace(written, factor=factor, outer=outer)
        together = tuple(
            replace(size, length=size.length * factor) if size.goes_with_tube else size
            for size in written.sizes
        )
        yield replace(written, factor=factor, outer=outer, sizes=together)


def _about_tube(written: _Slip, slip: _Slip, unit: LengthUnit) -> Doubt:
    """Return the doubt about a tube that most sizes do not go with."""
    outer = written.outer
    odd = [
        f"{size.where} ({written_length(size.length, unit)}, {_times(size.length / outer)})"
        for size in written.odd
    ]
    if len(odd) > _MOST_NAMED:
        odd[_MOST_NAMED - 1 :] = [f"{len(odd) - _MOST_NAMED + 1} sizes more"]
    named = " and ".join(filter(None, [", ".join(odd[:-1]), odd[-1]]))
    alike = slip.sizes != written.sizes
    too = ", and likewise in fittings and bend radii" if alike else ""
    message = (
        f"{written_length(outer, unit)} outside does not go with {named}; "
        f"{_guess(outer, slip.factor, unit)}{too}"
    )
    return Doubt(kind="sizes", where="tube.outer_diameter", message=message)


def _about(sizes: Sequence[_Size], outer: float, unit: LengthUnit) -> Doubt:
    """Return the doubt about a key, one of whose sizes does not go with the tube."""
    size = next(each for each in sizes if not each.is_usual(outer))
    ratio, span = size.length / outer, size.span
    usual = (
        f"at most {span.most:g}" if ratio > span.most else f"at least {span.least:g}"
    )
    best = min(
        (
            slip
            for factor in _factors(unit)
            for slip in (
                _Slip(factor=factor, outer=outer / factor, sizes=tuple(sizes)),
            )
            if not slip.odd
        ),
        key=lambda slip: slip.worth,
        default=None,
    )
    cure = (
        "look at it and its unit again"
        if best is None
        else _guess(size.length, best.factor, unit)
    )
    message = (
        f"{size.of}{written_length(size.length, unit)} is {_times(ratio)} the tube's outer "
        f"diameter of {written_length(outer, unit)}, where {usual} times is usual; {cure}"
    )
    return Doubt(kind="sizes", where=size.where, message=message)


def _factors(unit: LengthUnit) -> tuple[float, ...]:
    """Return by what a length may be wrong: another unit was meant, or a decimal."""
    others = [per / MM_PER[unit] for name, per in MM_PER.items() if name != unit]
    return tuple(dict.fromkeys((*others, *_TENFOLD)))


def _guess(length: float, factor: float, unit: LengthUnit) -> str:
    """Return what was probably meant: the same number in another unit, or a decimal."""
    number = length / MM_PER[unit]
    meant = written_length(length * factor, unit)
    for name, per in MM_PER.items():
        if name != unit and math.isclose(per / MM_PER[unit], factor):
            right = f"{number:.5g} {name}"
            return f'if {right} was meant ({meant}), write "{right}"'
    word = {10.0: "ten times", 0.1: "a tenth of"}.get(factor)
    by = word or ("25.4 times" if factor > 1.0 else "a 25.4th part of")
    return f"{by} it, {meant}, would be usual: look at its unit and decimal point"


def _times(ratio: float) -> str:
    """Return how many times as long something is, to about two digits."""
    return f"{ratio:.0f} times" if ratio >= 10.0 else f"{ratio:.2g} times"


def _sizes(scene: Scene) -> Iterator[_Size]:
    """Yield all that is held against the tube's outer diameter."""
    tube = scene.tube
    own = {
        fitting.name: fitting
        for component in scene.components
        for port in component.ports
        for fitting in port.fittings
        if fitting != built_in_fitting(tube.outer_diameter)
    }
    for name, fitting in own.items():
        for size in _of(f"fittings.{name}", fitting, _OF_FITTING):
            yield replace(size, goes_with_tube=True)
    yield from _formers("tube.bend_radius", tube.bend_radii)
    for run in scene.runs:
        yield from _formers(f"run {run.name!r}: bend_radius", run.bend_radii or ())
    yield from _of("tube", tube, _OF_TUBE)
    yield from _of("rules", scene.rules, _OF_RULES)
    sides = sorted(scene.case_inner or ())
    for length, which in zip(sides[::2], ("least", "greatest"), strict=False):
        of = f"its {which} side of "
        yield _Size(where="case.inner", length=length, span=_CASE, of=of)


def _of(where: str, holder: object, spans: Mapping[str, _Span]) -> Iterator[_Size]:
    """Yield lengths of a table with what is usual of each."""
    for key, span in spans.items():
        yield _Size(where=f"{where}.{key}", length=getattr(holder, key), span=span)


def _formers(where: str, radii: Sequence[float]) -> Iterator[_Size]:
    for number, radius in enumerate(radii, start=1):
        which = where if len(radii) == 1 else f"{where}[{number}]"
        yield _Size(where=which, length=radius, span=_FORMER, goes_with_tube=True)
