"""From a scene and one of its runs to the run's candidates."""

from __future__ import annotations

from loopsolver.clearance.obstacles import obstacles_of_run, own_fittings
from loopsolver.routing.candidates import find_candidates
from loopsolver.routing.explain import why_none
from loopsolver.routing.problem import Outcome, RouteProblem, TubeEnd
from loopsolver.scene.model import Port, RunRequest, Scene, seat


def solve_run(scene: Scene, run: RunRequest) -> Outcome:
    """Return the candidates of one run, or why there are none.

    Parameters
    ----------
    scene : Scene
    run : RunRequest
        One of the scene's; other runs matter only through the fittings on their ports.
    """
    problems = problems_of(scene, run)
    found = [find_candidates(problem) for problem in problems]
    candidates = sorted(
        (candidate for one in found for candidate in one.candidates),
        key=lambda c: (c.bends, c.length, c.centreline.vertices),
    )[: scene.rules.candidates]
    return Outcome(
        candidates=tuple(candidates),
        why=None if candidates else why_none(problems[0], scene, run),
        refused=sum(one.refused for one in found),
    )


def problems_of(scene: Scene, run: RunRequest) -> tuple[RouteProblem, ...]:
    """Return a run as problems for the search, one for each former at hand."""
    rules, tube = scene.rules, scene.tube
    radii = run.bend_radii or tube.bend_radii
    start, goal = (scene.port(ports[0]) for ports in (run.from_ports, run.to_ports))
    return tuple(
        RouteProblem(
            start=tube_end(scene, start),
            goal=tube_end(scene, goal),
            bend_radius=radius,
            tube_radius=tube.radius,
            clearance=rules.clearance,
            straight_between_bends=rules.straight_between_bends,
            bend_angles=run.bend_angles or rules.bend_angles,
            max_bends=rules.max_bends if run.max_bends is None else run.max_bends,
            candidates=rules.candidates,
            case_inner=scene.case_inner,
            obstacles=obstacles_of_run(scene, run),
            own_fittings=own_fittings(scene, run),
            trim_allowance=tube.trim_allowance,
        )
        for radius in sorted(radii)
    )


def tube_end(scene: Scene, port: Port) -> TubeEnd:
    """Return where and how a tube leaves the preferred fitting of a port.

    The face that carries the port is as far from the mouth as the fitting is high. Where
    that is less than the tube's radius and clearance, the straight in front of the mouth
    is taken as covered until the tube has come far enough from the face.
    """
    fitting = port.fittings[0]
    straight = fitting.depth + fitting.straight_beyond
    needed = scene.tube.radius + scene.rules.clearance - fitting.height
    return TubeEnd(
        seat=seat(port, fitting),
        direction=port.direction,
        straight=straight,
        covered=min(fitting.depth + max(needed, 0.0), straight),
    )
