"""What is printed for a scene or a plan: each part with its file, figures and words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from loopsolver.lengths import Lengths, lengths_for
from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.angles import degree_sign
from loopsolver.report.turns import way_on_sheet
from loopsolver.scene.model import Scene
from loopsolver.tube.stock import MATERIAL_FACTS, Material, Tube
from loopsolver.words import counted
from loopsolver.workshop.jigs.chamfer_stop import chamfer, chamfer_stop
from loopsolver.workshop.jigs.cradle import WALL, Cradle, cradle
from loopsolver.workshop.jigs.former import LEAST_RADIUS, former_half
from loopsolver.workshop.jigs.shell import Shell
from loopsolver.workshop.jigs.stand import BOARD, LEAN_DEG, stand_foot
from loopsolver.workshop.job import Job, job_of
from loopsolver.workshop.sheets import run_stems

SOFTENS: Final = "softens-under-hot-tube"
"""Stands in the name of a former's file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """What is asked of the parts by who prints them [mm].

    Attributes
    ----------
    play : float
        By how much a groove is wider than the tube.
    bed : float
        Longest part that the printer takes.
    """

    play: float
    bed: float

    def groove(self, tube: Tube) -> float:
        """Return the radius of a groove for a tube [mm]."""
        return 0.5 * (tube.outer_diameter + self.play)


@dataclass(frozen=True, slots=True, kw_only=True)
class Jig:
    """A part to print.

    Attributes
    ----------
    stem : str
        Of its file's name.
    title : str
    says : tuple of str
        What it is, how it is printed and used: a paragraph each.
    count : int
        How often it is printed.
    """

    stem: str
    shell: Shell
    title: str
    says: tuple[str, ...]
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMade:
    """A part that is not made: which, and why."""

    what: str
    why: str


def bench_jigs(scene: Scene, printer: Printer) -> tuple[Jig, ...]:
    """Return the parts that any run of a scene is worked with."""
    tube, lengths = scene.tube, lengths_for(scene.units)
    wide = lengths.brief(chamfer(tube))
    stop = Jig(
        stem="chamfer-stop",
        shell=chamfer_stop(
            tube,
            groove=printer.groove(tube),
            size=_engraved(tube.outer_diameter, lengths),
        ),
        title="Chamfer stop",
        says=(
            f"{_held(tube, printer, lengths)} It stands on a sheet of abrasive paper on "
            "a flat board: fine for plastic, coarser for copper.",
            "Hold it still, push the cold tube down the guide and turn it by hand. When "
            f"its end stands on the ledge, the chamfer is {wide} wide, at 45°, and gets "
            "no wider (common practice, no source).",
            "Wet the paper or take the dust off with extraction, do not blow; rinse the "
            "tube before it goes into a fitting, and feel its rim for an edge.",
        ),
    )
    board = lengths.brief(BOARD)
    foot = Jig(
        stem="template-stand",
        shell=stand_foot(play=printer.play),
        title="Stand for templates: a foot",
        says=(
            f"Print two. They hold a stiff board {board} thick upright, leaning back by "
            f"{degree_sign(LEAN_DEG)}, the longer ends behind.",
            "Fix a printed template to the board and hold the cold tube against it. Hot "
            "tube is laid on a flat bench, not against a board that can fall.",
        ),
        count=2,
    )
    return stop, foot


def former_jigs(
    scene: Scene, radii: Sequence[float], printer: Printer
) -> Iterator[Jig | NotMade]:
    """Yield a former for each bend radius, with its caution, or why there is none."""
    lengths, tube = lengths_for(scene.units), scene.tube
    groove = printer.groove(tube)
    for radius in radii:
        size = _engraved(radius, lengths)
        least = max(LEAST_RADIUS, groove + WALL)
        if radius < least:
            why = f"below {lengths.text(least)} it has no core, or no room for its caution"
            yield NotMade(what=f"former of {size}", why=why)
            continue
        yield Jig(
            stem=f"former-{size.replace(' ', '')}-{SOFTENS}",
            shell=former_half(radius, groove=groove, size=size),
            title=f"Former of {lengths.brief(radius)}: a half",
            says=(
                former_caution(tube.material),
                f"Centre-line radius {lengths.brief(radius)}. "
                f"{_held(tube, printer, lengths)} Print two and glue them face to face; "
                "notches stand every 15° round the rim.",
            ),
            count=2,
        )


def former_caution(material: Material) -> str:
    """Return what a printed former is not good for."""
    forming = MATERIAL_FACTS[material].forming_c
    heat = (
        f"this tube is laid at {forming[0]:.0f} to {forming[1]:.0f} °C"
        if forming
        else "this tube is bent cold: not while it is hot from annealing"
    )
    return (
        "CAUTION: common printing plastics soften under a freshly heated tube "
        f"({heat}). The groove gives way, the tube sticks, the bend is spoilt, and what "
        "is hot slips out of the hand. Use it with cold tube, to see how a bend goes; "
        "bend round wood or metal."
    )


def plan_radii(runs: Sequence[PlannedRun]) -> tuple[float, ...]:
    """Return the bend radii of the chosen tubes that have bends [mm]."""
    chosen = [one for run in runs if (one := run.chosen_candidate) is not None]
    return tuple(sorted({one.centreline.radius for one in chosen if one.bends}))


def cradle_jigs(
    plan: Plan, runs: Sequence[PlannedRun], printer: Printer
) -> Iterator[Jig | NotMade]:
    """Yield the cradles of some runs' chosen tubes, or why there is none."""
    stems = run_stems(plan)
    for run in runs:
        if run.chosen_candidate is None:
            continue
        job, what = job_of(plan, run), f"cradle for run {run.name!r}"
        count = len(job.table.bends)
        if count < 2:
            why = f"it has {counted(count, 'bend')}, and a cradle holds two"
            yield NotMade(what=what, why=why)
        for first in range(1, count):
            found = cradle(
                job.centreline,
                run=job.number,
                first=first,
                groove=printer.groove(job.tube),
                bed=printer.bed,
            )
            if found is None:
                why = (
                    f"behind bends {first} and {first + 1} its legs meet, or nearly so"
                )
                yield NotMade(what=what, why=why)
            else:
                yield from _cradle_jigs(job, found, printer, stems[run.name])


def _cradle_jigs(job: Job, found: Cradle, printer: Printer, stem: str) -> Iterator[Jig]:
    """Yield the parts of a cradle, each with its words."""
    first, second = found.first, found.first + 1
    says = tuple(_cradle_words(job, found, printer))
    for part, shell in enumerate(found.shells, start=1):
        is_whole = len(found.shells) == 1
        name = f"cradle of bends {first} and {second}"
        yield Jig(
            stem=f"cradle-{stem}-bends-{first}-{second}"
            + ("" if is_whole else f"-part-{part}"),
            shell=shell,
            title=f"{job.number} {job.name}: {name}"
            + ("" if is_whole else f", part {part}"),
            says=says if part == 1 else (f"Goes with part 1; holds bend {second}.",),
        )


def _cradle_words(job: Job, found: Cradle, printer: Printer) -> Iterator[str]:
    """Yield what a cradle is for and how it is used."""
    first, second = found.first, found.first + 1
    one, two = job.table.bends[first - 1 : second]
    way = way_on_sheet(two, number=second)
    seen = " (as seen along the tube from its first end)" if "clockwise" in way else ""
    yield (
        f"{_held(job.tube, printer, job.lengths)} Bend {first} of "
        f"{degree_sign(one.angle_deg)}, {job.lengths.brief(two.straight)} straight, bend "
        f"{second} of {degree_sign(two.angle_deg)}, round "
        f"{job.lengths.brief(job.table.radius)}. Bend {second}: {way}{seen}."
    )
    yield (
        "For cold tube alone, when both bends are done. Lay it in from above, without "
        "force: where it lies in the groove all along, both angles and the turn are "
        "right. The notches stand where bends begin and end."
    )
    if len(found.shells) > 1:
        apart = job.lengths.brief(found.between)
        yield (
            "In two parts: stand both on a flat board, with their sides between the "
            f"bends against a straight edge, {apart} apart."
        )


def _held(tube: Tube, printer: Printer, lengths: Lengths) -> str:
    """Return how wide a groove is, in words."""
    wide, play = 2.0 * printer.groove(tube), printer.play
    return (
        f"Groove {lengths.brief(wide)} wide: tube of {lengths.brief(tube.outer_diameter)}, "
        f"play {lengths.brief(play)}."
    )


def _engraved(length: float, lengths: Lengths) -> str:
    """Return a length as it is engraved: short, with its unit."""
    return f"{lengths.short(length)} {lengths.unit}"
