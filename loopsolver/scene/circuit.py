"""The loop as a graph: parts joined by tubes, and what that makes of them.

A component is taken to be hollow: coolant that enters by one of its ports can leave by
any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, permutations
from typing import NamedTuple

from loopsolver.errors import LoopsolverError
from loopsolver.scene.model import Component, RunRequest, Scene
from loopsolver.scene.references import lets_through, usable_ports
from loopsolver.words import in_commas

# ------------------------------------------------------------- the runs of a loop


def derived_name(start: str, goal: str) -> str:
    """Return the name of the tube that a loop lays from one component to another."""
    return f"{start} to {goal}"


def loop_parts(scene: Scene) -> tuple[str, ...]:
    """Return the components that a scene's [loop] goes through.

    With an order those of the order; with "any", or without a loop, all with a port
    that the coolant may enter by and another that it may leave by, as in the file.
    """
    if scene.loop is not None and scene.loop.order != "any":
        return scene.loop.order
    return tuple(part.name for part in scene.components if lets_through(_flows(part)))


def loop_ports(scene: Scene) -> tuple[str, ...]:
    """Return the full names of the ports that a scene's [loop] may use, if it has one."""
    parts = loop_parts(scene) if scene.loop is not None else ()
    return tuple(
        port.name
        for part in scene.components
        if part.name in parts
        for port in part.ports
    )


def runs_in_order(scene: Scene, order: Sequence[str]) -> tuple[RunRequest, ...]:
    """Return all runs of a scene whose loop goes through its parts in some order.

    They go from each part to the next, and from the last to the first. Where the scene
    has runs of its own between two parts, these are taken. Elsewhere a run is made: from
    any port by which the coolant may leave the one to any by which it may enter the
    other. All other runs of the scene follow. `scene.runs` must not hold runs that
    another order brought.

    Parameters
    ----------
    order : sequence of str
        Component names, at least two, each once.

    Raises
    ------
    LoopsolverError
        If a part is not there, stands twice, or does not let the coolant through.
    """
    parts = _checked(scene, order)
    own: dict[tuple[str, str], list[RunRequest]] = {}
    for run in scene.runs:
        joined = joined_parts(run)
        if joined is not None:
            own.setdefault(joined, []).append(run)
    loop: list[RunRequest] = []
    for start, goal in pairwise([*order, order[0]]):
        loop += own.get((start, goal)) or [_derived(parts[start], parts[goal])]
    return (*loop, *(run for run in scene.runs if run not in loop))


def with_loop(scene: Scene) -> Scene:
    """Return the scene with the runs of its loop, in an order that suits its own."""
    if scene.loop is None or scene.loop.order != "any":
        return scene
    parts = list(loop_parts(scene))
    after = {
        joined[0]: joined[1]
        for run in reversed(scene.runs)
        if (joined := joined_parts(run)) and set(joined) <= set(parts)
    }
    firsts = [name for name in parts if name not in after.values()]
    order: list[str] = []
    for name in (*firsts, *parts):
        follower: str | None = name
        while follower is not None and follower not in order:
            order.append(follower)
            follower = after.get(follower)
    return replace(scene, runs=runs_in_order(scene, order))


def possible_runs(scene: Scene) -> tuple[RunRequest, ...]:
    """Return the runs that a loop whose order is left open may lay; else none.

    From every part to every other; an order uses as many of them as it has parts.
    """
    if scene.loop is None or scene.loop.order != "any":
        return ()
    parts = [part for part in scene.components if part.name in loop_parts(scene)]
    return tuple(_derived(start, goal) for start, goal in permutations(parts, 2))


def joined_parts(run: RunRequest) -> tuple[str, str] | None:
    """Return the components that a run goes from and to.

    None where an end is a choice between ports of several components.
    """
    starts = {name.split(".", 1)[0] for name in run.from_ports}
    goals = {name.split(".", 1)[0] for name in run.to_ports}
    if len(starts) != 1 or len(goals) != 1:
        return None
    return starts.pop(), goals.pop()


def _checked(scene: Scene, order: Sequence[str]) -> dict[str, Component]:
    parts = {part.name: part for part in scene.components}
    through = [name for name, part in parts.items() if lets_through(_flows(part))]
    unfit = [name for name in order if name not in through]
    if unfit or len(set(order)) != len(order) or len(order) < 2:
        msg = (
            f"no loop goes through {in_commas(order) or 'nothing'}: wanted two or more, "
            f"each once, of {in_commas(through) or 'none'}"
        )
        raise LoopsolverError(msg)
    return parts


def _derived(start: Component, goal: Component) -> RunRequest:
    return RunRequest(
        name=derived_name(start.name, goal.name),
        from_ports=usable_ports(_flows(start), "from"),
        to_ports=usable_ports(_flows(goal), "to"),
    )


def _flows(part: Component) -> dict[str, str]:
    return {port.name: port.flow for port in part.ports}


# ------------------------------------------------------------- what the runs make


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One of several ways that the coolant takes side by side.

    Attributes
    ----------
    parts : tuple of str
        The component where it divides, those on the way, the one where it meets again.
    runs : tuple of str
        The tubes on the way, in the same order.
    """

    parts: tuple[str, ...]
    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """What the runs of a scene make of its components.

    Attributes
    ----------
    circuits : tuple of tuples of str
        Components round which coolant can go, apart from each other or joined by dead
        ends alone: in the order of the tubes if one closed circuit, else of the file.
    branches : tuple of Branch
        Ways side by side within circuits.
    dead_ends : tuple of str
        Runs on no circuit whichever way the coolant goes: it cannot come back.
    turned : tuple of str
        Runs on a circuit that are written the wrong way round: of a plain circuit the
        fewer, else those on no circuit in the direction that all are written in.
    against_flow : tuple of str
        Runs that start at a port with flow "in" or end at one with flow "out".
    to_itself : tuple of str
        Runs from a component to itself.
    open : tuple of str
        Runs whose ends are a choice of components: the circuit depends on them.
    hanging : tuple of str
        Components at which one tube ends and no other.
    left_out : tuple of str
        Components with ports, of which no run uses any.
    """

    circuits: tuple[tuple[str, ...], ...]
    branches: tuple[Branch, ...]
    dead_ends: tuple[str, ...]
    turned: tuple[str, ...]
    against_flow: tuple[str, ...]
    to_itself: tuple[str, ...]
    open: tuple[str, ...]
    hanging: tuple[str, ...]
    left_out: tuple[str, ...]

    @property
    def is_closed(self) -> bool:
        """Whether it is one closed circuit, without ways side by side.

        Dead ends, such as a line to drain by, may hang on it.
        """
        return len(self.circuits) == 1 and not self.branches and not self.open


def circuit(scene: Scene) -> Circuit:
    """Return what the runs of a scene make of its components.

    Where any order of a loop will do, one is looked at that goes along with the scene's
    own runs: whether it closes does not depend on the order.
    """
    runs = with_loop(scene).runs
    sure = [(run, joined) for run in runs if (joined := joined_parts(run))]
    tubes = tuple(_Tube(run.name, *ends) for run, ends in sure if ends[0] != ends[1])
    parts = [part.name for part in scene.components if part.ports]
    dead_ends = _dead_ends(tubes)
    circuits: list[tuple[str, ...]] = []
    branches: list[Branch] = []
    turned: set[str] = set()
    for piece in _pieces(parts, [one for one in tubes if one.run not in dead_ends]):
        within = [part for part in parts if _at(piece, part)]
        is_plain = all(len(_at(piece, part)) == 2 for part in within)
        ways = tuple(_ways(piece, within))
        circuits.append(ways[0].parts[:-1] if is_plain else tuple(within))
        branches += [] if is_plain else ways
        against = set(ways[0].runs) - _forward(piece, ways[0].parts, ways[0].runs)
        turned |= against if is_plain else _on_no_way_round(piece)
    ends = (name for run in runs for name in (*run.from_ports, *run.to_ports))
    used = {name.split(".")[0] for name in ends}
    return Circuit(
        circuits=tuple(circuits),
        branches=tuple(branches),
        dead_ends=_of(runs, dead_ends),
        turned=_of(runs, turned),
        against_flow=tuple(run.name for run in runs if _is_against_flow(scene, run)),
        to_itself=tuple(run.name for run, (one, other) in sure if one == other),
        open=tuple(run.name for run in runs if joined_parts(run) is None),
        hanging=tuple(part for part in parts if len(_at(tubes, part)) == 1),
        left_out=tuple(
            part.name
            for part in scene.components
            if part.ports and part.name not in used
        ),
    )


class _Tube(NamedTuple):
    """A run between two components, as an edge of the graph."""

    run: str
    start: str
    goal: str

    def other(self, part: str) -> str:
        """Return the component at the other end."""
        return self.goal if part == self.start else self.start


def _at(tubes: Iterable[_Tube], part: str) -> list[_Tube]:
    """Return the tubes at a component, those to the same other one together."""
    found = [one for one in tubes if part in (one.start, one.goal)]
    others = dict.fromkeys(one.other(part) for one in found)
    return [one for other in others for one in found if one.other(part) == other]


def _reached(begin: str, steps: Mapping[str, Iterable[str]]) -> set[str]:
    """Return all components that can be come to from one, itself among them."""
    reached, left = {begin}, [begin]
    while left:
        onward = set(steps.get(left.pop(), ())) - reached
        reached |= onward
        left += onward
    return reached


def _steps(tubes: Iterable[_Tube], *, back: bool) -> dict[str, list[str]]:
    """Return where tubes lead to from each component, as written, or back as well."""
    steps: dict[str, list[str]] = {}
    for one in tubes:
        steps.setdefault(one.start, []).append(one.goal)
        if back:
            steps.setdefault(one.goal, []).append(one.start)
    return steps


def _dead_ends(tubes: Sequence[_Tube]) -> set[str]:
    """Return the names of the tubes that are on no circuit.

    They are the bridges of the graph: without one of them, what it joins hangs together
    no more.
    """
    return {
        one.run
        for one in tubes
        if one.goal
        not in _reached(
            one.start, _steps((t for t in tubes if t is not one), back=True)
        )
    }


def _pieces(parts: Sequence[str], tubes: Sequence[_Tube]) -> Iterator[list[_Tube]]:
    """Yield the tubes of what hangs together, as they meet the parts in their order."""
    told: set[str] = set()
    for part in parts:
        if part not in told and _at(tubes, part):
            together = _reached(part, _steps(tubes, back=True))
            told |= together
            within = (each for each in parts if each in together)
            yield list(
                dict.fromkeys(one for each in within for one in _at(tubes, each))
            )


def _ways(piece: Sequence[_Tube], parts: Sequence[str]) -> Iterator[Branch]:
    """Yield the ways between the parts where the coolant divides; each tube once.

    Of a plain circuit the one way round, from its first part and back to it. A way
    goes along with most of its tubes.
    """
    divides = [part for part in parts if len(_at(piece, part)) > 2] or list(parts[:1])
    walked: set[str] = set()
    for begin in divides:
        for first in _at(piece, begin):
            if first.run in walked:
                continue
            way, runs = [begin, first.other(begin)], [first.run]
            while way[-1] not in divides:
                (onward,) = (one for one in _at(piece, way[-1]) if one.run != runs[-1])
                way.append(onward.other(way[-1]))
                runs.append(onward.run)
            walked.update(runs)
            yield _along(piece, way, runs)


def _along(piece: Sequence[_Tube], parts: Sequence[str], runs: Sequence[str]) -> Branch:
    """Return a way in the direction in which most of its tubes are written."""
    along = _forward(piece, parts, runs)
    if 2 * len(along) < len(runs):
        return Branch(parts=tuple(parts[::-1]), runs=tuple(runs[::-1]))
    return Branch(parts=tuple(parts), runs=tuple(runs))


def _forward(
    piece: Sequence[_Tube], parts: Sequence[str], runs: Sequence[str]
) -> set[str]:
    starts = {one.run: one.start for one in piece}
    return {run for part, run in zip(parts, runs, strict=False) if starts[run] == part}


def _on_no_way_round(piece: Sequence[_Tube]) -> set[str]:
    """Return the runs that join parts from which, as written, none leads back."""
    steps = _steps(piece, back=False)
    return {one.run for one in piece if one.start not in _reached(one.goal, steps)}


def _is_against_flow(scene: Scene, run: RunRequest) -> bool:
    """Whether one end of a run has no port that goes along with the coolant."""
    return any(
        all(scene.port(name).flow == against for name in names)
        for names, against in ((run.from_ports, "in"), (run.to_ports, "out"))
    )


def _of(runs: Iterable[RunRequest], names: set[str]) -> tuple[str, ...]:
    """Return names of runs in the order of the runs."""
    return tuple(run.name for run in runs if run.name in names)
