"""Faults put into search, polish, gap, tube and ends, one by one: the judge sees each.

A false tube is told by an oracle that does without the package
(`tests.property.laid_tubes`), from a problem that was stated before the fault was put in.
With a judge that passes everything the fault shows false tubes; with the true one none is
shown, and every one of the false tubes is refused by name. The trade's source is the scene
itself: its clearance, its straights, its seats.
"""

import ast
import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loopsolver.clearance import gap as gap_module
from loopsolver.clearance.obstacles import Gap, Obstacle
from loopsolver.clearance.shadows import cast_shadows
from loopsolver.errors import PlanError
from loopsolver.geometry.curves import Curves
from loopsolver.geometry.solids import HalfSpace
from loopsolver.geometry.vectors import point
from loopsolver.plan import Plan
from loopsolver.report.planning import route_scene
from loopsolver.routing import ends, judge, problem, solve
from loopsolver.routing.angled import listed
from loopsolver.routing.judge import Judge, Verdict, gap_around, judged
from loopsolver.routing.problem import Candidate, RouteProblem, TubeEnd
from loopsolver.routing.solve import problem_of, solve_run
from loopsolver.routing.square import field, lattice, polish, search
from loopsolver.scene.model import BendAngles, Fitting, Port, Scene, mouth
from loopsolver.scene.reader import load_scene
from loopsolver.tube import centreline
from loopsolver.tube.bend_table import BendTable, bend_table
from loopsolver.tube.centreline import BendArc, Centreline, Straight, pieces
from tests.builders import texts
from tests.builders.port_texts import box, port, run, text
from tests.full import few_or_all
from tests.interleaved import forget
from tests.property.laid_tubes import candidate_complaints
from tests.unit.routing.touching import clipped_distance

Patch = pytest.MonkeyPatch
Fault = Callable[[Patch], None]

PARTS = (
    port("pump", (60.0, 150.0, 40.0), "+z"),
    port("card", (240.0, 150.0, 40.0), "+z"),
    texts.part(
        "block",
        [150, 150, 70],
        texts.box([60, 120, 60], [0, 0, 0]),
        rotation=[35, 0, 0],
    ),
    box("post", (60.0, 0.0, 0.0), (240.0, 60.0, 300.0)),
    run("pump", "card"),
)
"""Over a block whose ridge is beside the way, so that tubes are drawn in below it."""


SQUARE = (90.0,)


@pytest.fixture(
    scope="module",
    params=few_or_all([SQUARE], [SQUARE, (45.0, 90.0), "any"]),
    ids=str,
)
def angles(request: pytest.FixtureRequest) -> BendAngles:
    wanted: BendAngles = request.param
    return wanted


def scene_of(angles: BendAngles, folder: Path) -> Scene:
    path = folder / "case.toml"
    turn_step: str | float = 90 if angles == SQUARE else "any"
    written = text(
        *PARTS, bend_angles=angles, turn_step=turn_step, max_bends=4, candidates=12
    )
    path.write_text(written, encoding="utf-8")
    return load_scene(path)


# ------------------------------------------------------------------- the faults, each one


def small_shadows(patch: Patch) -> None:
    """The lattice's lines pass 4 mm nearer to everything than they may."""
    whole = cast_shadows
    patch.setattr(
        field, "cast_shadows", lambda *a, reach, **k: whole(*a, reach=reach - 4.0, **k)
    )
    patch.setattr(field, "blocked_bends", lambda *_, **__: None)


def short_legs(patch: Patch) -> None:
    """The sweep lets straights between bends be 9 mm too short."""
    least = vars(lattice.SquareRun)["least_leg"].fget
    patch.setattr(
        lattice.SquareRun, "least_leg", property(lambda self: least(self) - 9.0)
    )


def far_polish(patch: Patch) -> None:
    """Levels are drawn in until a leg is at its least, whatever they run into."""
    drawn = polish._drawn_in

    def further(
        vertices: polish.Vertices,
        level: polish.Level,
        _is_clear: object,
        step: float,
    ) -> float:
        return drawn(vertices, level, lambda _: True, step)

    patch.setattr(polish, "_drawn_in", further)


def large_gaps(patch: Patch) -> None:
    """Every gap is told 2 mm larger than it is."""
    measured = gap_module._gaps

    def larger(*given: object) -> list[Gap]:
        found = measured(*given)  # type: ignore[arg-type]
        return [replace(gap, distance=gap.distance + 2.0) for gap in found]

    patch.setattr(gap_module, "_gaps", larger)


def no_arcs(patch: Patch) -> None:
    """The gap is that of the straights alone."""
    whole = gap_module.curves_of

    def straights_alone(line: Centreline, **named: float) -> Curves:
        curves = whole(line, **named)
        kept = np.flatnonzero(~curves.is_bent)
        return curves.pick(kept) if kept.size else curves

    patch.setattr(gap_module, "curves_of", straights_alone)


def without(name: str) -> Fault:
    """The gap is measured to all but one thing."""

    def fault(patch: Patch) -> None:
        whole = gap_module.prepare

        def fewer(obstacles: Sequence[Obstacle]) -> gap_module.ObstacleSet:
            return whole([o for o in obstacles if name not in o.name] or obstacles)

        for module in (gap_module, judge):
            patch.setattr(module, "prepare", fewer)

    return fault


def wrong_place(patch: Patch) -> None:
    """The gap is right, but said to be 3 mm beside where it is."""
    measured = gap_module._gaps

    def beside(*given: object) -> list[Gap]:
        found = measured(*given)  # type: ignore[arg-type]
        return [
            replace(gap, at=(gap.at[0] + 3.0, gap.at[1] + 3.0, gap.at[2] + 3.0))
            for gap in found
        ]

    patch.setattr(gap_module, "_gaps", beside)


def arcs_outside(patch: Patch) -> None:
    """The centre line's arcs bulge to the wrong side of their tangent points."""

    def wrong(line: Centreline) -> tuple[Straight | BendArc, ...]:
        return tuple(
            replace(
                piece,
                centre=point(
                    c + 2.0 * piece.radius * u
                    for c, u in zip(piece.centre, piece.u, strict=True)
                ),
                u=point(-u for u in piece.u),
            )
            if isinstance(piece, BendArc)
            else piece
            for piece in pieces(line)
        )

    patch.setattr(gap_module, "pieces", wrong)


def mirrored_table(patch: Patch) -> None:
    """Rotations in the bend table turn the wrong way."""

    def mirrored(line: Centreline) -> BendTable:
        table = bend_table(line)
        return replace(
            table,
            bends=tuple(
                replace(bend, rotation_deg=-bend.rotation_deg) for bend in table.bends
            ),
        )

    for module in (judge, problem):
        patch.setattr(module, "bend_table", mirrored)


def everywhere(patch: Patch, name: str, wrong: Callable[..., object]) -> None:
    """Put a wrong function wherever the package has taken the right one in."""
    for module in [m for n, m in sys.modules.items() if n.startswith("loopsolver")]:
        if hasattr(module, name):
            patch.setattr(module, name, wrong)


def small_take_out(patch: Patch) -> None:
    """Bends are taken to begin a twentieth nearer to their vertex than they do."""
    everywhere(patch, "take_out", lambda r, a: 0.95 * r * math.tan(a / 2))
    everywhere(patch, "take_outs", lambda r, a: 0.95 * r * np.tan(a / 2))


def long_straights(patch: Patch) -> None:
    """Every straight is told 5 mm longer than it is."""
    whole = centreline.straights_of
    everywhere(
        patch,
        "straights_of",
        lambda of, radius: tuple(one + 5.0 for one in whole(of, radius)),
    )


def flat_angles(patch: Patch) -> None:
    """Every bend is told 2 degrees less than it is."""
    whole = centreline.legs

    def less(line: Centreline) -> centreline.Legs:
        found = whole(line)
        angles = tuple(one - math.radians(2.0) for one in found.angles)
        return found._replace(angles=angles)

    everywhere(patch, "legs", less)


def seat_off(patch: Patch) -> None:
    """Tubes end 1 mm beside where they sit in straight fittings."""

    def off(of: Port, fitting: Fitting) -> tuple[float, float, float]:
        x, y, z = mouth(of, replace(fitting, height=fitting.height - fitting.depth))
        return (x, y, z + 1.0)

    patch.setattr(ends, "seat", off)


FAULTS = {
    "lattice shadows too small": small_shadows,
    "least leg of the sweep too short": short_legs,
    "polish draws in too far": far_polish,
    "gap told too large": large_gaps,
    "gap skips arcs": no_arcs,
    "gap ignores the block": without("block"),
    "gap in the wrong place": wrong_place,
    "arcs on the wrong side": arcs_outside,
    "rotations the wrong way": mirrored_table,
    "take-out too small": small_take_out,
    "straights told too long": long_straights,
    "bend angles told too small": flat_angles,
    "seat off by a millimetre": seat_off,
}


# ----------------------------------------------------------------------------- the oracle


def passes_all(judge_of: Judge, line: Centreline) -> Verdict:
    """What a judge would say that trusts the search, but for a tube in its own way."""
    own_way = judged(judge_of, line).own_way
    return Verdict(gap=gap_around(judge_of, line), faults=(), own_way=own_way)


def trusting(patch: Patch) -> None:
    """Put in a judge that passes everything."""
    for module in (search, listed):
        patch.setattr(module, "judged", passes_all)
    patch.setattr(solve, "misplaced_ends", lambda *_: ())


def outcome_of(scene: Scene, patch: Patch) -> solve.Outcome:
    """What the search finds; nobody asks here why it finds nothing."""
    patch.setattr(solve, "reason_of", lambda *_, **__: None)
    forget()  # what was found without this fault
    return solve_run(scene, scene.runs[0])


def true_problem(scene: Scene) -> RouteProblem:
    """The run's problem, its seats reckoned by hand: 20 less 12 mm up either port."""
    (one,) = solve_run(scene, scene.runs[0]).candidates[:1]
    found = problem_of(scene, scene.runs[0], one)
    assert found is not None
    assert found.start.seat == pytest.approx((60.0, 150.0, 48.0))
    assert found.goal.seat == pytest.approx((240.0, 150.0, 48.0))
    return found


def is_false(candidate: Candidate, truth: RouteProblem) -> bool:
    """Whether a tube is not what the scene wants, or its gap not where it is said."""
    if candidate_complaints(candidate, truth):
        return True
    solids = [o.solid for o in truth.obstacles if o.name == candidate.gap.name]
    at = np.array([candidate.gap.at])
    apart = min(float(clipped_distance(solid, at)[0]) for solid in solids)
    return abs(apart - truth.tube_radius - candidate.gap.distance) > 1e-3


@pytest.mark.parametrize("name", FAULTS)
def test_no_false_tube_is_shown(
    name: str, angles: BendAngles, tmp_path: Path, monkeypatch: Patch
) -> None:
    scene = scene_of(angles, tmp_path)
    truth = true_problem(scene)
    FAULTS[name](monkeypatch)
    with monkeypatch.context() as trust:
        trusting(trust)
        shown = outcome_of(scene, trust).candidates
    false = [candidate for candidate in shown if is_false(candidate, truth)]
    if angles == SQUARE:
        assert false, "the fault does no harm, so that nothing is tried here"
    outcome = outcome_of(scene, monkeypatch)
    assert not [c for c in outcome.candidates if is_false(c, truth)]
    if false and angles == SQUARE:
        assert outcome.refused > 0
    if name != "seat off by a millimetre":
        here = judge.make_judge(truth)
        assert not [c for c in false if judged(here, c.centreline).passes]


def test_a_sound_search_has_nothing_refused(angles: BendAngles, tmp_path: Path) -> None:
    scene = scene_of(angles, tmp_path)
    outcome = solve_run(scene, scene.runs[0])
    assert outcome.refused == 0
    assert outcome.candidates
    truth = true_problem(scene)
    assert not [c for c in outcome.candidates if is_false(c, truth)]


@pytest.mark.parametrize("name", FAULTS)
def test_a_plan_of_false_tubes_is_not_read(
    name: str, tmp_path: Path, monkeypatch: Patch
) -> None:
    """Written by a program with the fault and no judge, read by one without either."""
    scene = scene_of(SQUARE, tmp_path)
    with monkeypatch.context() as wrong:
        FAULTS[name](wrong)
        trusting(wrong)
        plan = route_scene(scene)
        assert plan.runs[0].candidates
        plan.write(tmp_path / "case.plan.json", scene_path=tmp_path / "case.toml")
    with pytest.raises(PlanError):
        Plan.read(tmp_path / "case.plan.json")


@pytest.mark.parametrize("name", ["gap told too large", "arcs on the wrong side"])
def test_a_sound_plan_is_not_read_by_a_program_that_measures_wrongly(
    name: str, tmp_path: Path, monkeypatch: Patch
) -> None:
    scene = scene_of(SQUARE, tmp_path)
    path = tmp_path / "case.plan.json"
    route_scene(scene).write(path, scene_path=tmp_path / "case.toml")
    Plan.read(path)
    FAULTS[name](monkeypatch)
    with pytest.raises(PlanError):
        Plan.read(path)


@pytest.mark.parametrize("fault", [small_take_out, long_straights, flat_angles])
@pytest.mark.parametrize(
    ("changed", "rule"),
    [
        ({"straight_between_bends": 34.0 + 1e-5}, "straight"),
        ({"bend_angles_deg": (88.0,)}, "bend angle"),
        ({"max_bends": 1}, "bends"),
    ],
)
def test_rules_are_read_off_the_tube_whatever_the_formulas_say(
    fault: Fault, changed: dict[str, Any], rule: str, monkeypatch: Patch
) -> None:
    """Two bends of 90 degrees round 28 mm, 90 mm apart: 34 mm of straight between them.

    The straight is missed by far less than a table laid forward would show, and 88 degrees
    is what the wrong angles come to.
    """
    line = Centreline(
        vertices=((0, 0, 0), (0, -60, 0), (90, -60, 0), (90, -200, 0)), radius=28.0
    )
    kept = RouteProblem(
        start=TubeEnd(seat=(0, 0, 0), direction=(0, -1, 0), straight=32, covered=0),
        goal=TubeEnd(seat=(90, -200, 0), direction=(0, 1, 0), straight=112, covered=0),
        bend_radius=28.0,
        tube_radius=7.0,
        clearance=3.0,
        straight_between_bends=34.0,
        bend_angles_deg=(90.0,),
        max_bends=2,
        candidates=1,
        room=((0.0, 0.0, 0.0), (400.0, 400.0, 400.0)),
        obstacles=(
            Obstacle(name="wall", solid=HalfSpace(point=(0, 0, -50), normal=(0, 0, 1))),
        ),
    )
    assert judged(judge.make_judge(kept), line).passes
    fault(monkeypatch)
    found = judged(judge.make_judge(replace(kept, **changed)), line).faults
    assert {one.rule for one in found} == {rule}


# ------------------------------------------------------------------- what it may call on

OWN = {
    "loopsolver.routing.inspection",
    "loopsolver.routing.rules",
    "loopsolver.routing.sampled_mesh",
    "loopsolver.routing.sampled_solids",
    "loopsolver.routing.sampled_tube",
}

DATA = {
    "loopsolver.clearance.obstacles": {"Gap", "Obstacle"},
    "loopsolver.geometry.frames": {"Frame"},
    "loopsolver.geometry.solids": {"Box", "Cylinder", "HalfSpace", "Mesh", "Solid"},
    "loopsolver.geometry.vectors": {"Array", "Flags", "Indices", "Point", "point"},
    "loopsolver.routing.problem": {"EndFitting", "RouteProblem"},
    "loopsolver.scene.model": {"Scene", "TurnStep"},
    "loopsolver.tube.bend_table": {"BendTable"},
    "loopsolver.tube.centreline": {"Centreline"},
}
"""What states the claim, as values; of functions only the one that makes a triple."""


@pytest.mark.parametrize("module", sorted(OWN))
def test_the_inspection_calls_nothing_that_it_checks(module: str) -> None:
    source = Path(judge.__file__).with_name(module.rsplit(".", 1)[1] + ".py")
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            assert not [a.name for a in node.names if a.name.startswith("loopsolver")]
        if isinstance(node, ast.ImportFrom) and node.module not in OWN:
            assert node.level == 0
            assert node.module is not None
            if node.module.startswith("loopsolver") and not node.module.endswith(
                "tolerances"
            ):
                taken = {alias.name for alias in node.names}
                assert taken <= DATA.get(node.module, set()), node.module
