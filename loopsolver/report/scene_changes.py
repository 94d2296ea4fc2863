"""What a later reading of a scene changed, in words: its sizes, parts and tubes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from loopsolver.geometry.vectors import Point, difference, point
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan.model import PlannedRun
from loopsolver.report.comparing import comparison
from loopsolver.report.sides import offset_words
from loopsolver.routing.problem import Candidate
from loopsolver.scene.model import Component, Fitting, Scene
from loopsolver.tolerances import WRITTEN_DECIMALS
from loopsolver.words import counted, in_commas, listed


def is_same_build(before: Scene, after: Scene) -> bool:
    """Return whether two scenes differ in nothing that a tube could feel."""
    return _nameless(before) == _nameless(after)


def _nameless(scene: Scene) -> Scene:
    return replace(scene, title="", file_name="", sha256="", units="mm")


def scene_changes(before: Scene, after: Scene) -> tuple[str, ...]:
    """Return what is another in a scene than before, a line each.

    The case and its rules come first, then parts, keep-outs and runs.
    """
    return tuple(_Changes(before=before, after=after).lines())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Changes:
    """Two readings of one scene."""

    before: Scene
    after: Scene

    @property
    def lengths(self) -> Lengths:
        return lengths_for(self.after.units)

    def lines(self) -> Iterator[str]:
        before, after = self.before, self.after
        if before.case_inner != after.case_inner:
            yield "the case's inside"
        if before.sides != after.sides:
            yield f"axes: {', '.join(after.axis_names)}"
        yield from self._values("", before.tube, after.tube)
        yield from self._values("", before.rules, after.rules)
        yield from self._fittings()
        yield from self._parts()
        yield from _by_name(
            {body.name: body.solid for body in before.keep_outs},
            {body.name: body.solid for body in after.keep_outs},
            kind="keep-out ",
        )
        yield from _by_name(
            {run.name: run for run in before.runs},
            {run.name: run for run in after.runs},
            kind="run ",
        )
        if before.loop != after.loop:
            yield "the loop's order"

    def _values(self, kind: str, before: object, after: object) -> Iterator[str]:
        """Yield which fields of a value are others, with what they were."""
        for field in fields(after):  # type: ignore[arg-type]
            was, now = getattr(before, field.name), getattr(after, field.name)
            if was != now:
                name = field.name.removesuffix("_deg").replace("_", " ")
                told = [self._value(field.name, value) for value in (now, was)]
                yield f"{kind}{name} {told[0]} instead of {told[1]}"

    def _value(self, name: str, value: Any) -> str:
        """Return a value of the tube, the rules or a fitting with its unit."""
        if isinstance(value, tuple):
            return listed([self._value(name, one) for one in value], last="or")
        if not isinstance(value, float):
            return "none" if value is None else str(value)
        if name.endswith("_deg"):
            return f"{value:g} degrees"
        return self.lengths.plain(value)

    def _fittings(self) -> Iterator[str]:
        before, after = _fittings_of(self.before), _fittings_of(self.after)
        for name, now in after.items():
            yield from self._values(f"{name}: ", before.get(name, now), now)

    def _parts(self) -> Iterator[str]:
        before = {part.name: part for part in self.before.components}
        after = {part.name: part for part in self.after.components}
        yield from _come_and_gone(before, after, kind="")
        for name, now in after.items():
            was = before.get(name, now)
            shift = _shift(was, now)
            if shift is None:
                yield from self._inside(was, now)
            elif any(shift):
                yield f"{name} moved {self._way(shift)}"

    def _inside(self, was: Component, now: Component) -> Iterator[str]:
        """Yield what is another in a part that was not moved as a whole."""
        if was.bodies != now.bodies:
            yield f"{now.name}: its bodies"
        before = {port.name: port for port in was.ports}
        after = {port.name: port for port in now.ports}
        yield from _come_and_gone(before, after, kind="")
        for name, port in after.items():
            old = before.get(name, port)
            if old.position != port.position:
                way = self._way(difference(port.position, old.position))
                yield f"{name} moved {way}"
            if old.direction != port.direction:
                yield f"{name} points another way"
            if old.flow != port.flow:
                yield f"{name}: flow {port.flow}"
            if _names(old.fittings) != _names(port.fittings):
                yield f"{name}: fitting {in_commas(_names(port.fittings))}"

    def _way(self, shift: Point) -> str:
        return offset_words(shift, self.after.sides, text=self.lengths.plain)


def tube_changes(
    before: Mapping[str, Candidate], runs: tuple[PlannedRun, ...], lengths: Lengths
) -> Iterator[str]:
    """Yield what became of the chosen tubes, by the names of their runs.

    Those that stayed as they were share a line.
    """
    same = 0
    for run in runs:
        old, new = before.get(run.name), run.chosen_candidate
        if new is None:
            yield f"{run.name}: {'no tube any more' if old else 'no tube'}"
        elif old is None:
            yield f"{run.name}: a tube"
        elif old.centreline == new.centreline:
            same += 1
        else:
            told = comparison(new, old, lengths)
            words = ", ".join((*told.worse, *told.better)) or "another way round"
            yield f"{run.name}: {words}"
    if same:
        yield f"{counted(same, 'tube')} as before"


def _come_and_gone(
    before: Mapping[str, object], after: Mapping[str, object], *, kind: str
) -> Iterator[str]:
    yield from (f"{kind}{name} is new" for name in after if name not in before)
    yield from (f"{kind}{name} is gone" for name in before if name not in after)


def _by_name(
    before: Mapping[str, object], after: Mapping[str, object], *, kind: str
) -> Iterator[str]:
    """Yield which of some named things are new, gone or others than before."""
    yield from _come_and_gone(before, after, kind=kind)
    for name, now in after.items():
        if before.get(name, now) != now:
            yield f"{kind}{name} is another"


def _shift(was: Component, now: Component) -> Point | None:
    """Return by how much a part was moved as a whole [mm]; None where it was not.

    A part that stayed as it was is moved by nothing.
    """
    shifts, shapes = [], []
    for part in (was, now):
        solids = [body.solid for body in part.bodies]
        frames = [getattr(solid, "frame", None) for solid in solids]
        places = [frame.origin for frame in frames if frame is not None]
        shifts.append([*places, *(port.position for port in part.ports)])
        shapes.append(
            (
                [body.name for body in part.bodies],
                [
                    solid if frame is None else replace(solid, frame=_there(frame))
                    for solid, frame in zip(solids, frames, strict=True)
                ],
                [replace(port, position=(0.0, 0.0, 0.0)) for port in part.ports],
            )
        )
    if shapes[0] != shapes[1]:
        return None
    moves = {
        point(round(one, WRITTEN_DECIMALS) + 0.0 for one in difference(after, before))
        for before, after in zip(*shifts, strict=True)
    }
    return next(iter(moves), (0.0, 0.0, 0.0)) if len(moves) < 2 else None


def _there(frame: Any) -> Any:
    return replace(frame, origin=(0.0, 0.0, 0.0))


def _fittings_of(scene: Scene) -> dict[str, Fitting]:
    """Return the fittings that ports may hold, by name."""
    return {
        one.name: one
        for part in scene.components
        for port in part.ports
        for one in port.fittings
    }


def _names(fittings: tuple[Fitting, ...]) -> list[str]:
    return [one.name for one in fittings]
