"""How one tube is taken out while others are still in: what is loosened, which way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

from loopsolver.assembly.blocking import Build, InPlace
from loopsolver.assembly.insertion import Easing, Insertion
from loopsolver.assembly.joints import FittedEnd
from loopsolver.assembly.leaving import Leaving, Start, leaving
from loopsolver.assembly.swept import NOWHERE, Slide
from loopsolver.geometry.vectors import dot, offset
from loopsolver.tolerances import MICROMETRE, TOUCH


class RemovalCost(NamedTuple):
    """What a removal costs, the most important first: the least is best.

    Attributes
    ----------
    parts : int
        So many parts have to be loose.
    easings : int
        1 where the tube is bent aside by hand.
    tubes : int
        So many other tubes come along.
    swings : int
        1 where the tube has to be swung about a fitting.
    way : float
        How far the parts are moved [mm].
    """

    parts: int
    easings: int
    tubes: int
    swings: int
    way: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Freeing:
    """What takes a tube off one of its fittings, so that it can be drawn off the other.

    Nothing, where both ends slide out together.

    Attributes
    ----------
    shift : Slide or None
        Of what is drawn aside.
    parts : tuple of str
        The parts that are drawn aside.
    tubes : tuple of str
        The tubes that come along, perhaps this one.
    parted : tuple of str
        Other tubes that come off a fitting meanwhile, and go on again.
    easing : Easing or None
        How the tube is bent aside by hand instead.
    port : str
        That the tube is then off; empty where nothing is freed.
    """

    shift: Slide | None = None
    parts: tuple[str, ...] = ()
    tubes: tuple[str, ...] = ()
    parted: tuple[str, ...] = ()
    easing: Easing | None = None
    port: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """How a tube is taken out; the other way round it goes in.

    Attributes
    ----------
    tube : str
    freeing : Freeing
    start : Start
        How it stands then, and what is round it.
    leaving : Leaving
    """

    tube: str
    freeing: Freeing
    start: Start
    leaving: Leaving

    @property
    def ports(self) -> tuple[str, ...]:
        """Those that the tube is drawn off, once it is freed."""
        return tuple(joint.port for joint in self.start.held)

    @property
    def cost(self) -> RemovalCost:
        """What it costs."""
        cost = _cost(self.freeing, self.tube)
        return cost._replace(swings=int(self.leaving.swing is not None))


def _cost(freeing: Freeing, tube: str) -> RemovalCost:
    shift, easing = freeing.shift, freeing.easing
    return RemovalCost(
        parts=len(freeing.parts),
        easings=int(easing is not None and easing.rest > TOUCH),
        tubes=len([name for name in freeing.tubes if name != tube]),
        swings=0,
        way=0.0 if shift is None else round(shift.by, MICROMETRE),
    )


class Remover:
    """Finds how tubes are taken out of a build; what was found is kept."""

    def __init__(self, of: Build, insertions: Sequence[Insertion]) -> None:
        """Make what finds removals, given how each tube goes in."""
        self.build = of
        self.insertions = {one.tube.name: one for one in insertions}
        self._known: dict[Start, list[tuple[frozenset[str], Leaving | None]]] = {}
        self.cheapest = cache(self._cheapest)

    def _cheapest(
        self, tube: str, gone: frozenset[str], loose: frozenset[str]
    ) -> Removal | None:
        """Return how a tube comes out at the least cost; None if no way was found.

        Parameters
        ----------
        tube : str
        gone : frozenset of str
            The tubes that are out.
        loose : frozenset of str
            The parts that may be moved.
        """
        drafts = list(self._drafts(self.insertions[tube], gone, loose))
        best: Removal | None = None
        for freeing, start in sorted(drafts, key=lambda one: _cost(one[0], tube)):
            if best is not None and best.cost <= _cost(freeing, tube):
                break
            found = self._leaving(start)
            if found is None:
                continue
            removal = Removal(tube=tube, freeing=freeing, start=start, leaving=found)
            if best is None or removal.cost < best.cost:
                best = removal
        return best

    def _leaving(self, start: Start) -> Leaving | None:
        """Return how a tube leaves.

        A straight way out stays free the more tubes are out, and where there was none,
        there is none while more are in.
        """
        known = self._known.setdefault(replace(start, gone=frozenset()), [])
        for gone, found in known:
            if found is None and start.gone <= gone:
                return None
            if found is not None and found.swing is None and gone <= start.gone:
                return found
        found = leaving(self.build, start)
        known.append((start.gone, found))
        return found

    def _drafts(
        self, one: Insertion, gone: frozenset[str], loose: frozenset[str]
    ) -> Iterator[tuple[Freeing, Start]]:
        """Yield what may free a tube, and how it then stands."""
        name, joints = one.tube.name, one.tube.joints
        if one.ends == "alike":
            held = tuple(sorted(joints, key=lambda joint: -joint.depth))
            yield Freeing(), Start(tube=name, aside=NOWHERE, held=held, gone=gone)
        easing = one.easing
        if easing is not None and easing.is_harmless:
            last, first = sorted(joints, key=lambda joint: joint.port != easing.port)
            yield (
                Freeing(easing=easing, port=easing.port),
                Start(
                    tube=name,
                    aside=offset(NOWHERE, easing.way, easing.wanted),
                    held=(first,),
                    ignored=(last,),
                    gone=gone,
                ),
            )
        for joint, other in (joints, joints[::-1]):
            if joint.part in loose and joint.part != other.part:
                yield from self._shifts(name, joint, other, gone, loose)

    def _shifts(
        self,
        tube: str,
        loose: FittedEnd,
        other: FittedEnd,
        gone: frozenset[str],
        parts: frozenset[str],
    ) -> Iterator[tuple[Freeing, Start]]:
        """Yield how a loose part is drawn off the tube, or with the tube off the other.

        By what the fitting's depth asks for; and by as much more as the other is deep,
        where the tube needs that room to come out.
        """
        towards = max(-dot(loose.into, other.into), 0.0)
        it, with_it = InPlace("tube", tube), InPlace("part", loose.part)
        for spare in (0.0, other.depth):
            off = Slide(way=loose.into, by=loose.depth + towards * other.depth + spare)
            yield from self._shift(
                tube, off, {with_it}, (loose, other), it, gone=gone, parts=parts
            )
            off = Slide(way=other.out, by=other.depth + towards * loose.depth + spare)
            stays = InPlace("part", other.part)
            yield from self._shift(
                tube, off, {with_it, it}, (other, loose), stays, gone=gone, parts=parts
            )

    def _shift(
        self,
        tube: str,
        slide: Slide,
        first: set[InPlace],
        joints: tuple[FittedEnd, FittedEnd],
        stays: InPlace,
        *,
        gone: frozenset[str],
        parts: frozenset[str],
    ) -> Iterator[tuple[Freeing, Start]]:
        """Yield a shift that frees the first joint, if only loose things come along."""
        moved = self.build.set_along(first, slide, gone=gone)
        names = {thing.name for thing in moved if thing.kind != "tube"}
        if stays in moved or not names <= parts:
            return
        freed, held = joints
        it = InPlace("tube", tube)
        tubes = {thing.name for thing in moved if thing.kind == "tube"}
        yield (
            Freeing(
                shift=slide,
                parts=tuple(sorted(names)),
                tubes=tuple(sorted(tubes)),
                parted=tuple(self._parted(moved, gone | {tube})),
                port=freed.port,
            ),
            Start(
                tube=tube,
                aside=slide.vector if it in moved else NOWHERE,
                held=(held,),
                moved=frozenset(moved),
                shift=slide,
                gone=gone,
            ),
        )

    def _parted(self, moved: set[InPlace], gone: frozenset[str]) -> Iterator[str]:
        """Yield the tubes still in that come off a fitting where some things move."""
        for name, tube in self.build.tubes.items():
            comes = InPlace("tube", name) in moved
            parts = [InPlace("part", joint.part) in moved for joint in tube.joints]
            if name not in gone and any(part != comes for part in parts):
                yield name
