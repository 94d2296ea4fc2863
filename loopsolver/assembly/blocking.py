"""What is in the way of what: parts and tubes as they stand, and blocking graphs."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import cache
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from loopsolver.assembly.joints import FittedEnd, FittedTube
from loopsolver.assembly.swept import (
    Slide,
    flush_curves,
    solid_slides_free,
    tube_slides_free,
)
from loopsolver.geometry.solid_set import SolidSet, stack
from loopsolver.geometry.solids import Solid
from loopsolver.geometry.vectors import difference, norm, offset
from loopsolver.routing.loop.obstruction import tube_obstacles
from loopsolver.scene.model import Scene
from loopsolver.scene.walls import case_walls
from loopsolver.tolerances import SWEPT_WIDER
from loopsolver.tube.centreline import Centreline

if TYPE_CHECKING:
    import networkx as nx


class InPlace(NamedTuple):
    """Something that stands in the case: a tube by its run, or a component."""

    kind: Literal["tube", "part", "walls"]
    name: str


CASE_WALLS: Final = InPlace("walls", "")
_HALF: Final = 0.4
"""No more of a first or last leg than this is left out at its end."""


class Build:
    """Parts and tubes as they stand when all is together, and what blocks what.

    Keep-outs take up nothing: what stands there, a plug or an open panel, comes later.

    Attributes
    ----------
    scene : Scene
    tubes : dict of names to FittedTubes
    curves : dict of names to Curves
        The tubes' centre lines, less a radius at either end.
    radius : float
        Of the tubes [mm].
    """

    def __init__(self, scene: Scene, tubes: Iterable[FittedTube]) -> None:
        """Lay out a scene's parts and walls, and some tubes in them."""
        self.scene = scene
        self.radius = scene.tube.radius
        self.tubes = {tube.name: tube for tube in tubes}
        self.curves = {
            name: flush_curves(tube.centreline, radius=self.radius)
            for name, tube in self.tubes.items()
        }
        self._bodies: dict[InPlace, tuple[Solid, ...]] = {
            InPlace("part", part.name): tuple(body.solid for body in part.bodies)
            for part in scene.components
        }
        self._bodies[CASE_WALLS] = tuple(wall for _, wall in case_walls(scene))
        for name, tube in self.tubes.items():
            self._bodies[InPlace("tube", name)] = self._outside(tube)
        self.solid_set = cache(self._solid_set)
        self.runs_into = cache(self._runs_into)
        self.graph = cache(self._graph)

    @property
    def things(self) -> tuple[InPlace, ...]:
        """All that stands, the walls as one."""
        return tuple(self._bodies)

    def joints_on(self, part: str) -> Iterator[FittedEnd]:
        """Yield the ends of tubes that a component carries."""
        for tube in self.tubes.values():
            yield from (joint for joint in tube.joints if joint.part == part)

    def solids(
        self, thing: InPlace, but: tuple[FittedEnd, ...] = ()
    ) -> tuple[Solid, ...]:
        """Return what a thing takes up, its fittings among it, some left out."""
        if thing.kind != "part":
            return self._bodies[thing]
        fittings = (
            body
            for joint in self.joints_on(thing.name)
            if joint not in but
            for body in joint.bodies
        )
        return (*self._bodies[thing], *fittings)

    def _solid_set(self, thing: InPlace, but: tuple[FittedEnd, ...] = ()) -> SolidSet:
        """Return the same laid out as one set."""
        return stack(self.solids(thing, but))

    def _outside(self, tube: FittedTube) -> tuple[Solid, ...]:
        """Return a tube as other tubes meet it."""
        told = tube_obstacles(
            _flush(tube.centreline, self.radius),
            tube_radius=self.radius,
            reach=self.radius,
            name=tube.name,
            wider=SWEPT_WIDER,
        )
        return tuple(one.solid for one in told)

    def _runs_into(self, mover: InPlace, other: InPlace, slide: Slide) -> bool:
        """Return whether a thing that slides runs into another that stands.

        A tube comes out of a fitting along its axis alone, and so does the fitting, with
        its part, come off the tube.
        """
        if mover.kind != "tube" and other.kind == "tube":
            return self.runs_into(other, mover, slide.back)
        if mover.kind != "tube":
            return not all(
                solid_slides_free(one, another, slide)
                for one in self.solids(mover)
                for another in self.solids(other)
            )
        held = tuple(
            joint
            for joint in self.tubes[mover.name].joints
            if other == ("part", joint.part)
        )
        if not all(joint.lets_out(slide.way) for joint in held):
            return True
        return not tube_slides_free(
            self.curves[mover.name],
            self.solid_set(other, held),
            slide,
            radius=self.radius,
        )

    def _graph(self, slide: Slide) -> nx.DiGraph[InPlace]:
        """Return the directional blocking graph of a slide.

        An arc leads from what slides to what it runs into, so that all that a thing leads
        to has to come with it.

        References
        ----------
        R. Wilson and J.-C. Latombe, On the qualitative structure of a mechanical
        assembly, AAAI-92; Geometric reasoning about mechanical assembly, Artificial
        Intelligence 71 (1994).
        """
        import networkx as nx

        graph: nx.DiGraph[InPlace] = nx.DiGraph()
        graph.add_nodes_from(self.things)
        movers = [
            thing
            for thing in self.things
            if thing.kind == "tube"
            or any(True for _ in self.joints_on(thing.name))
            or thing.name in self._movable
        ]
        graph.add_edges_from(
            (mover, other)
            for mover in movers
            for other in self.things
            if other != mover and self.runs_into(mover, other, slide)
        )
        return graph

    @property
    def _movable(self) -> tuple[str, ...]:
        """The names of the parts that the scene calls movable."""
        stated = self.scene.assembly
        return () if stated is None else (*stated.movable, *stated.last)

    def set_along(
        self, first: Collection[InPlace], slide: Slide, *, gone: Collection[str]
    ) -> set[InPlace]:
        """Return all that has to slide along with some things, these among them.

        `gone` are the tubes that are out already.
        """
        import networkx as nx

        out = {InPlace("tube", name) for name in gone}
        graph = self.graph(slide)
        here = nx.subgraph_view(graph, filter_node=lambda thing: thing not in out)
        together = set(first)
        for thing in first:
            together |= nx.descendants(here, thing)
        return together


def _flush(line: Centreline, radius: float) -> Centreline:
    """Return a tube whose round ends are flush with where it ends."""
    ends = []
    for end, beside in (line.vertices[:2], line.vertices[:-3:-1]):
        along = difference(beside, end)
        ends.append(offset(end, along, min(radius / norm(along), _HALF)))
    inside = line.vertices[1:-1]
    return Centreline(vertices=(ends[0], *inside, ends[1]), radius=line.radius)
