"""How a candidate's tube sits in its fittings: from a scene to what placement asks for."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.errors import LoopsolverError
from loopsolver.fitup.placement import Seating
from loopsolver.fitup.socket import Guide, Socket
from loopsolver.geometry.frames import Frame, axis_frame
from loopsolver.geometry.vectors import cross, difference, norm, offset, unit
from loopsolver.routing.problem import Candidate, EndFitting
from loopsolver.scene.model import Acceptance, Fitting, Scene
from loopsolver.tolerances import NO_PLAY, PARALLEL_SINE, SAWN


def seating_of(scene: Scene, candidate: Candidate) -> Seating:
    """Return how a candidate's tube sits in its fittings.

    At either end it may go further in, by trimming it, until its bend would, and come
    further out by the trim allowance, each at least by what a saw leaves. An elbow is
    taken as it stands.

    Raises
    ------
    LoopsolverError
        If the candidate does not say what holds its ends.
    """
    if len(candidate.ends) != 2:
        msg = "what holds the tube's ends is not settled; route the scene again"
        raise LoopsolverError(msg)
    straights = candidate.table.straights
    first, far = (_socket(scene, end) for end in candidate.ends)
    trim = max(candidate.trim_allowance, SAWN)
    in_first, in_far = (
        min(max(straight - socket.depth, SAWN), trim)
        for straight, socket in ((straights[0], first), (straights[-1], far))
    )
    return Seating(
        sockets=(first, far),
        drawn=first_frame(candidate),
        slides=((in_first, trim), (in_far, trim)),
    )


def fitting_at(scene: Scene, end: EndFitting) -> Fitting:
    """Return the fitting that holds an end of a tube."""
    fittings = scene.port(end.port).fittings
    return next(one for one in fittings if one.name == end.fitting)


def first_frame(candidate: Candidate) -> Frame:
    """Return the frame of a tube's first end: z along it, x where it bends first."""
    start, *others = candidate.centreline.vertices
    along = unit(difference(others[0], start))
    for vertex in others[1:]:
        normal = cross(along, difference(vertex, others[0]))
        if norm(normal) > PARALLEL_SINE:
            y = unit(normal)
            return Frame(origin=start, axes=(unit(cross(y, along)), y, along))
    return axis_frame(start, along)


def with_bores(seating: Seating, *, wider: float) -> Seating:
    """Return a seating whose bores are all so much wider [mm], none without any play.

    What a mouth accepts stays.
    """
    first, far = (
        replace(one, holds=Guide(play=max(one.holds.play + wider, NO_PLAY)))
        if isinstance(one.holds, Guide)
        else one
        for one in seating.sockets
    )
    return replace(seating, sockets=(first, far))


def _socket(scene: Scene, end: EndFitting) -> Socket:
    fitting = fitting_at(scene, end)
    return Socket(
        seat=offset(end.mouth, end.outlet, -fitting.depth),
        axis=end.outlet,
        depth=fitting.depth,
        holds=_holds(scene, fitting),
    )


def _holds(scene: Scene, fitting: Fitting) -> Guide | Acceptance:
    if fitting.bore is None:
        return fitting.accepts
    return Guide(play=fitting.bore - scene.tube.outer_diameter)
