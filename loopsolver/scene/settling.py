"""Where all stands at last: as it is written, or as all readings together have it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from loopsolver.geometry.frames import Frame
from loopsolver.geometry.vectors import Array, Point, point
from loopsolver.scene.findings import Finding
from loopsolver.scene.lines import KeyPath, written_path
from loopsolver.scene.model import Measures
from loopsolver.scene.point_names import DATUM_POINT, ORIGIN
from loopsolver.scene.quantities import Reading
from loopsolver.scene.schema import SceneFile
from loopsolver.scene.standing import means, own_point, plain, written_frames
from loopsolver.scene.surveying import network_of
from loopsolver.survey.network import Network, Observation
from loopsolver.tolerances import ANOTHER_PLACE
from loopsolver.words import listed

if TYPE_CHECKING:
    from loopsolver.survey.adjustment import Adjustment


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where components and ports stand in the case.

    Attributes
    ----------
    frames : mapping of str to Frame
        Of components by their names.
    ports : mapping of str to Point
        Faces of ports by their full names [mm].
    measures : Measures
        All that was measured of them, the written places among it.
    """

    frames: Mapping[str, Frame]
    ports: Mapping[str, Point]
    measures: Measures


def settled_places(data: SceneFile, reading: Reading) -> Standing | list[Finding]:
    """Return where all of a faultless file stands, or what nothing in it holds."""
    written = written_frames(data)
    network = network_of(data, _roughly(written, data))
    if not data.readings:
        found = list(_open_findings(data))
        ports = {
            f"{name}.{port}": plain(point(np.add(frame.origin, own_point(part, port))))
            for name, part in data.components.items()
            for frame in (written[name],)
            for port in part.ports
        }
        measures = Measures(network=network, readings=())
        return found or Standing(frames=written, ports=ports, measures=measures)
    adjustments = _adjustments(network, data)
    best = adjustments[0]
    found = list(_loose_findings(best, data))
    if len(adjustments) > 1 and not found:
        found = [_two_places(best, adjustments[1], reading)]
    frames = {
        name: replace(frame, origin=best.position(f"{name}.{ORIGIN}"))
        for name, frame in written.items()
    }
    ports = {
        f"{name}.{port}": best.position(f"{name}.{port}")
        for name, part in data.components.items()
        for port in part.ports
    }
    readings = network.observations[-len(data.readings) :]
    measures = Measures(network=best.network, readings=readings)
    return found or Standing(frames=frames, ports=ports, measures=measures)


def _roughly(written: Mapping[str, Frame], data: SceneFile) -> dict[str, Frame]:
    """Return frames in which what is left to the readings stands amid the case."""
    inner = (0.0, 0.0, 0.0) if data.case.inner is None else means(data.case.inner)
    return {
        name: replace(
            frame,
            origin=point(
                0.5 * side if math.isnan(at) else at
                for at, side in zip(frame.origin, inner, strict=True)
            ),
        )
        for name, frame in written.items()
    }


# ------------------------------------------------------------- one place, or two


def _adjustments(network: Network, data: SceneFile) -> list[Adjustment]:
    """Return the adjustment of all readings, and others that fit as well, if any.

    Readings along an axis have one answer. Straight distances alone may leave two, one
    the other's image in a mirror: so where they are needed, what they hold is started
    from every corner of the case as well.
    """
    from loopsolver.survey.adjustment import adjust
    from loopsolver.survey.chances import ALIKE

    along = [one for one in network.observations if one.along is not None]
    rough = adjust(replace(network, observations=tuple(along)))
    places = {one.name: rough.position(one.name) for one in network.stations}
    network = _started(network, places)
    every = [adjust(network)]
    loose = {place for one in rough.loose for place in one.moves}
    if loose and not every[0].loose:
        every += [
            adjust(_started(network, _moved_to(corner, network, loose)))
            for corner in _corners(network, data)
        ]
    best = min(every, key=lambda one: one.misfit)
    others = [
        one
        for one in every
        if one.misfit <= best.misfit + ALIKE
        and np.max(np.abs(one.places - best.places)) > ANOTHER_PLACE
        and _is_inside(one, data)
    ]
    return [best, *others]


def _started(network: Network, places: Mapping[str, Point]) -> Network:
    stations = tuple(
        replace(one, start=places.get(one.name, one.start)) for one in network.stations
    )
    return replace(network, stations=stations)


def _moved_to(
    corner: Sequence[float], network: Network, loose: set[tuple[str, int]]
) -> dict[str, Point]:
    """Return the loose coordinates at a corner, by station."""
    return {
        one.name: point(
            corner[axis] if (one.name, axis) in loose else at
            for axis, at in enumerate(one.start)
        )
        for one in network.stations
    }


def _corners(network: Network, data: SceneFile) -> Iterator[tuple[float, ...]]:
    """Yield the corners of the case, or of a box round all that can be reached."""
    low, high = np.zeros(3), np.zeros(3)
    if data.case.inner is not None:
        high = np.array(means(data.case.inner))
    else:
        lengths = [one.length for one in network.observations if one.is_taken]
        starts = np.array([one.start for one in network.stations])
        low, high = starts.min(axis=0) - max(lengths), starts.max(axis=0) + max(lengths)
    yield from itertools.product(*zip(low.tolist(), high.tolist(), strict=True))


def _is_inside(adjustment: Adjustment, data: SceneFile) -> bool:
    """Whether all stands within the walls, if there are any."""
    if data.case.inner is None:
        return True
    high = np.array(means(data.case.inner)) + ANOTHER_PLACE
    places: Array = adjustment.places
    return bool(np.all(places > -ANOTHER_PLACE) and np.all(places < high))


def _two_places(one: Adjustment, other: Adjustment, reading: Reading) -> Finding:
    """Return that readings fit two places of a component alike."""
    apart = np.abs(one.places - other.places)
    station, axis = np.unravel_index(int(np.argmax(apart)), apart.shape)
    name = one.network.stations[int(station)].name
    places = [reading.lengths.place(each.position(name)) for each in (one, other)]
    letter = "xyz"[int(axis)]
    return Finding(
        path=("components", name.split(".", 1)[0]),
        found=f"readings that two places of {name} fit alike: {places[0]} and {places[1]}",
        wanted=f"a further reading of it along {letter}, or to a point nearer to the one "
        "than to the other",
    )


# ------------------------------------------------------------- what nothing holds


def _open_findings(data: SceneFile) -> Iterator[Finding]:
    """Return the coordinates of components that nothing in the file holds."""
    for name, part in data.components.items():
        if part.position is None and part.place is None:
            yield Finding(
                path=("components", name, "position"),
                found="nothing",
                wanted="the position of the component's origin in the case: three "
                "lengths; or place = { point = ..., from = ..., offset = ... }; or "
                "[[readings]] that hold it",
            )
        for axis, one in enumerate(part.place.offset if part.place else ()):
            if not one.values:
                letter = "xyz"[axis]
                yield Finding(
                    path=("components", name, "place", "offset", axis),
                    found='"?"',
                    wanted=f"a length along {letter}, or [[readings]] along {letter} that "
                    "hold it",
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unheld:
    """A coordinate of a component that is left to the readings, and held by none.

    `moving` are all components that move with it, `empty` the readings not taken yet
    that would hold it.
    """

    name: str
    axis: int
    moving: frozenset[str]
    empty: tuple[Observation, ...]


def _loose_findings(adjustment: Adjustment, data: SceneFile) -> Iterator[Finding]:
    """Return what no reading holds, a component at a time, and what would hold it."""
    unheld = _unheld(adjustment, data)
    moving = {name for one in unheld for name in one.moving}
    for root in dict.fromkeys(one.name for one in unheld):
        own = [one for one in unheld if one.name == root]
        axes = sorted({one.axis for one in own})
        letters = listed(["xyz"[axis] for axis in axes])
        others = [
            one for one in data.components if any(one in each.moving for each in own)
        ]
        with_it = listed([one for one in others if one != root])
        start, goal = _best_ends(data, root, moving)
        each = "readings" if len(axes) > 1 else "a reading"
        wanted = f"{each} along {letters} from {start} to {goal}"
        filled = _filled(own, data)
        yield Finding(
            path=_open_path(data, root, axes),
            found=f"nothing that holds {root} along {letters}"
            + (f", and {with_it} with it" if with_it else ""),
            wanted=f"{filled} filled in, or {wanted}" if filled else wanted,
        )


def _unheld(adjustment: Adjustment, data: SceneFile) -> list[_Unheld]:
    """Return what no reading holds, each under the component that leaves it open."""
    from loopsolver.survey.further import holding

    order = list(data.components)
    empty = [one for one in adjustment.network.observations if not one.is_taken]
    found = []
    for loose, holds in zip(adjustment.loose, holding(adjustment, empty), strict=True):
        moves = [(station.split(".", 1)[0], axis) for station, axis in loose.moves]
        name, axis = min(
            (one for one in moves if _is_open(data, *one)),
            key=lambda one: (one[1] != loose.axis, order.index(one[0])),
        )
        found.append(
            _Unheld(
                name=name,
                axis=axis,
                moving=frozenset(one for one, _ in moves),
                empty=tuple(one for one in holds if one.along) or holds,
            )
        )
    return found


def _is_open(data: SceneFile, name: str, axis: int) -> bool:
    """Whether a component's own coordinate is left to the readings."""
    part = data.components[name]
    if part.place is not None:
        return not part.place.offset[axis].values
    return part.position is None


def _open_path(data: SceneFile, name: str, axes: Sequence[int]) -> KeyPath:
    path: KeyPath = ("components", name)
    if data.components[name].place is None:
        return path
    offset = (*path, "place", "offset")
    return (*offset, axes[0]) if len(axes) == 1 else offset


def _filled(unheld: Sequence[_Unheld], data: SceneFile) -> str:
    """Return which values of readings, filled in, would hold it: their paths."""
    hold = {(one.start, one.goal, one.along) for each in unheld for one in each.empty}
    paths = [
        written_path(("readings", place, "value"))
        for place, one in enumerate(data.readings)
        if not one.value.values and (one.start, one.goal, one.along) in hold
    ]
    return listed(paths, last="or" if len(unheld) == 1 else "and")


def _best_ends(data: SceneFile, name: str, moving: set[str]) -> tuple[str, str]:
    """Return between which points a reading would help most: those of a tube."""
    for run in data.runs:
        for (near, *_), (far, *_) in itertools.permutations((run.start, run.goal)):
            (own, dot), (other, _) = (end.partition(".")[:2] for end in (near, far))
            if own == name and other not in moving and dot and "." in far:
                return far, near
    return DATUM_POINT, f"{name}.{next(iter(data.components[name].ports), ORIGIN)}"
