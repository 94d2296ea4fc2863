"""The words in the window: what is shown, in figures. Pure text, no drawing."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.vectors import Point, axis_name, dot, point
from loopsolver.hydraulics.filling import TiltStage
from loopsolver.lengths import lengths_for
from loopsolver.letters import visible
from loopsolver.plan import Effect, Plan, PlannedRun
from loopsolver.plan.model import AS_BUILT
from loopsolver.report.bench import bench_words, end_names
from loopsolver.report.lacking import NO_REASON
from loopsolver.report.purposes import purposes
from loopsolver.routing.problem import Candidate
from loopsolver.scene.axes import Sides
from loopsolver.scene.model import Scene
from loopsolver.view import palette
from loopsolver.view.blank_steps import blank_key, blank_section
from loopsolver.view.cut_open import plane_section
from loopsolver.view.figures import (
    NearTube,
    bend_table_lines,
    beside_section,
    candidate_lines,
    effect_lines,
    loop_section,
)
from loopsolver.view.keeping import kept_section
from loopsolver.view.keys import key_help
from loopsolver.view.lists import PENDING, candidate_list, run_list
from loopsolver.view.measuring import measure_section
from loopsolver.view.news_lines import news_section
from loopsolver.view.palette import Colour
from loopsolver.view.panel_lines import (
    PanelLine,
    Section,
    colour_key,
    figure,
    paragraphs,
    wrapped,
)
from loopsolver.view.playing import Shot, shot_key, shot_section
from loopsolver.view.selection import (
    AnyRun,
    Subject,
    ViewSelection,
    ports_of,
    ranks_of,
    runs_of,
    scene_of,
    shown_candidate,
    shown_run,
)
from loopsolver.view.tilting import air_key, tilt_section

if TYPE_CHECKING:
    from loopsolver.view.following import Following
    from loopsolver.view.keeping import Keeping


def _run_heading(subject: Subject, selection: ViewSelection) -> Section:
    runs = runs_of(subject)
    entry = runs[selection.run]
    place = f"run {selection.run + 1} of {len(runs)}"
    candidate = shown_candidate(subject, selection)
    lines = (
        PanelLine(text=place, style="faint"),
        *wrapped(entry.name, style="heading"),
        *wrapped(_ports_text(entry, candidate), style="faint"),
    )
    return Section(lines=lines)


def _ports_text(entry: AnyRun, candidate: Candidate | None) -> str:
    if candidate is not None and candidate.ends:
        first, last = candidate.ends
        return f"{first.port} to {last.port}"
    return " to ".join(" or ".join(ports) for ports in ports_of(entry))


def _route_sections(
    plan: Plan,
    selection: ViewSelection,
    near: NearTube | None,
    effect: Effect | None,
    pending: Collection[str],
) -> list[Section]:
    run, candidate = plan.runs[selection.run], shown_candidate(plan, selection)
    if run.name in pending:
        return [Section(lines=(PanelLine(text=PENDING, style="faint"),))]
    if candidate is None:
        why = run.why or NO_REASON
        lines = [PanelLine(text="no route", style="warning"), *paragraphs(why)]
        return [Section(lines=tuple(lines))]
    lengths = lengths_for(plan.scene.units)
    table = bend_table_lines(
        candidate.table, lengths=lengths, departures_deg=candidate.departures_deg
    )
    lead = _rank_lines(plan, run, selection.rank or AS_BUILT)
    figures = _figure_lines(plan, run, candidate, near=near, effect=effect)
    # Where a tool wants room, its figures are what is looked at.
    is_beside, is_measuring = selection.beside is not None, selection.marks is not None
    whole = [
        Section(
            lines=(*lead, PanelLine(text=""), *figures),
            yields=7 if is_beside else 0,
            brief=Section(lines=tuple(lead)),
        ),
        Section(lines=table, yields=6 if is_measuring else 0),
    ]
    if len(ranks_of(run)) > 1:
        whole.append(candidate_list(run, selection.rank, most=6, lengths=lengths))
    return whole


def _figure_lines(
    plan: Plan,
    run: PlannedRun,
    candidate: Candidate,
    *,
    near: NearTube | None,
    effect: Effect | None,
) -> Iterator[PanelLine]:
    """Yield the figures of a candidate, what choosing it would do, what is hard in it."""
    lengths = lengths_for(plan.scene.units)
    yield from candidate_lines(
        candidate,
        clearance=plan.scene.rules.clearance,
        near=near,
        lengths=lengths,
        formers=_formers(plan, run),
    )
    if effect is not None:
        yield from effect_lines(effect)
    if candidate is not run.built:
        for one in bench_words(plan.scene, run, candidate, text=lengths.text):
            yield from wrapped(one.short, indent="  ")


def _rank_lines(plan: Plan, run: PlannedRun, rank: int) -> list[PanelLine]:
    """Return which tube of a run it is, what for, and why none is chosen."""
    if rank == AS_BUILT:
        return [PanelLine(text="as built, in place of the chosen candidate")]
    chosen = ", chosen" if rank == run.chosen else ""
    lines = [PanelLine(text=f"candidate {rank} of {len(run.candidates)}{chosen}")]
    good_for = purposes(plan.scene, run)[rank - 1]
    if good_for:
        lines += wrapped(", ".join(one.words for one in good_for), style="faint")
    if run.tube_in_place is None:
        told = f"left out: {run.why}" if run.why else "left out, none is chosen"
        lines += paragraphs(told, style="warning")
    return lines


def _formers(plan: Plan, run: PlannedRun) -> tuple[float, ...]:
    """Return the radii that a run may be bent to: its own, or the tube's [mm]."""
    for request in plan.scene.runs:
        if request.name == run.name and request.bend_radii is not None:
            return request.bend_radii
    return plan.scene.tube.bend_radii


_SEEN_FROM: Final = {
    "+x": "the right",
    "-x": "the left",
    "+y": "the rear",
    "-y": "the front",
    "+z": "above",
    "-z": "below",
}
"""By the axis among right, away and up along which the eye stands."""


def _scene_section(scene: Scene) -> Section:
    lengths = lengths_for(scene.units)
    sides = [lengths.short(length) for length in scene.case_inner or ()]
    by = " \u00d7 ".join(sides)
    outer = lengths.short(scene.tube.outer_diameter)
    bore = lengths.short(scene.tube.inner_diameter)
    lines = [
        *figure("case", f"{by} {lengths.unit}" if sides else "no walls"),
        *_axes_figure(scene),
        *figure(
            f"{scene.tube.material} tube",
            f"{outer} {lengths.unit}, inside {bore} {lengths.unit}",
        ),
    ]
    return Section(lines=tuple(lines), yields=5)


def _axes_figure(scene: Scene) -> list[PanelLine]:
    if scene.axes_taken is None:
        return figure("up", ", ".join(f"{part:.2f}" for part in scene.up))
    unsaid = "" if scene.axes else " (none stated)"
    return figure("axes", f"{', '.join(scene.axis_names)}{unsaid}")


def legend(
    subject: Subject,
    selection: ViewSelection,
    *,
    near: NearTube | None = None,
    following: Following | None = None,
    stages: Sequence[TiltStage] = (),
) -> Section:
    """Return what the colours of this picture mean: only of those that are in it."""
    entries: list[tuple[str, Colour]] = []
    if shown_candidate(subject, selection) is not None:
        entries += [("straight", palette.STRAIGHT), ("bend", palette.BEND)]
        entries.append(("least gap", palette.LEAST_GAP))
        clearance = scene_of(subject).rules.clearance
        if near is not None and not is_clear(near.gap, clearance):
            entries.append(("too near", palette.CLASH))
    elif runs_of(subject):
        entries.append(("run without a tube yet", palette.WANTED))
    if _has_others(subject, selection):
        entries.append(("other tube", palette.OTHER_STRAIGHT))
    if following is not None and following.old:
        entries.append(("tube of before the save", palette.OLD_STRAIGHT))
    if stages:
        entries += air_key(stages[selection.tilt])
    entries.append(("port", palette.PORT))
    if scene_of(subject).keep_outs and "keep-outs" not in selection.hidden:
        entries.append(("keep-out", palette.KEEP_OUT))
    entries += [("measured", palette.MEASURE)] if selection.marks else []
    entries += [("section", palette.CUT)] if selection.plane is not None else []
    return Section(lines=tuple(colour_key(entries)))


def _has_others(subject: Subject, selection: ViewSelection) -> bool:
    """Return whether tubes of other runs are seen."""
    if isinstance(subject, Scene) or "other tubes" in selection.hidden:
        return False
    shown = shown_run(subject, selection)
    return any(run.tube_in_place is not None for run in subject.runs if run != shown)


def sections(
    subject: Subject,
    selection: ViewSelection,
    *,
    near: NearTube | None,
    effect: Effect | None = None,
    following: Following | None = None,
    stages: Sequence[TiltStage] = (),
    shots: Sequence[Shot] = (),
    keeping: Keeping | None = None,
) -> tuple[Section, ...]:
    """Return all that the panel says, from top to bottom.

    Parameters
    ----------
    subject : Scene or Plan
    selection : ViewSelection
    near : NearTube or None
        The chosen other tube that is nearest to the one shown.
    effect : Effect or None
        What choosing the candidate shown would do to the other runs.
    following : Following or None
        What is known of the file, where one is followed.
    stages : sequence of TiltStage
        What is known of air in the loop.
    shots : sequence of Shot
        What is known of how the build goes together.
    keeping : Keeping or None
        What is known of candidates that are kept.
    """
    scene = scene_of(subject)
    title = Section(lines=tuple(wrapped(scene.title, style="title")))
    key = legend(subject, selection, near=near, following=following, stages=stages)
    instead = _instead(subject, selection, key=key, stages=stages, shots=shots)
    if instead:
        return (title, *instead)
    result = [title, *kept_section(keeping), *_tool_sections(subject, selection)]
    if following is not None:
        result.append(news_section(following))
    pending = frozenset() if following is None else following.pending
    is_over = following is None or following.plan is not None
    if runs_of(subject):
        result.append(_run_heading(subject, selection))
    else:
        result.append(Section(lines=(PanelLine(text="no runs are asked for"),)))
    if isinstance(subject, Scene):
        result.append(Section(lines=(PanelLine(text="not routed yet"),)))
    elif subject.runs:
        result += _route_sections(subject, selection, near, effect, pending)
    if runs_of(subject):
        result.append(run_list(subject, selection, most=7, pending=pending))
    if isinstance(subject, Plan) and len(subject.runs) > 1 and is_over:
        result.append(loop_section(subject))
    return (*result, _scene_section(scene), key)


def _instead(
    subject: Subject,
    selection: ViewSelection,
    *,
    key: Section,
    stages: Sequence[TiltStage],
    shots: Sequence[Shot],
) -> Sequence[Section]:
    """Return what stands in place of runs and figures: help or steps, or nothing."""
    if selection.is_helping:
        return key_help()
    if selection.shot:
        shot = selection.shot
        return (shot_section(shots, shot), shot_key(shots[shot - 1]))
    if selection.tilt:
        lengths = lengths_for(scene_of(subject).units)
        return (tilt_section(stages, selection.tilt, lengths=lengths), key)
    if selection.bent is not None and isinstance(subject, Plan):
        return _bench_sections(subject, selection, made=selection.bent)
    return ()


def _bench_sections(
    plan: Plan, selection: ViewSelection, *, made: int
) -> list[Section]:
    """Return how the tube on show is bent, step by step."""
    run, candidate = plan.runs[selection.run], shown_candidate(plan, selection)
    heading = _run_heading(plan, selection)
    if candidate is None:
        return [heading]
    steps = blank_section(candidate, plan.scene, end_names(run, candidate), made=made)
    return [heading, *steps, blank_key(candidate, made)]


def _tool_sections(subject: Subject, selection: ViewSelection) -> Iterator[Section]:
    """Yield what is measured, where the build is cut, and what is held beside what."""
    scene = scene_of(subject)
    lengths = lengths_for(scene.units)
    if selection.marks is not None:
        yield measure_section(selection.marks, scene)
    if selection.plane is not None:
        yield plane_section(selection.plane, lengths=lengths)
    shown = shown_candidate(subject, selection)
    run = shown_run(subject, selection)
    if run is not None and shown is not None and selection.beside is not None:
        held = (selection.beside, run.candidate(selection.beside))
        yield beside_section(held, (selection.rank or AS_BUILT, shown), lengths=lengths)


def view_text(sides: Sides, towards_eye: Point) -> str:
    """Return from where a standard view looks: ``seen from the front (+y)``."""
    parts = point(dot(towards_eye, way) for way in (sides.right, sides.away, sides.up))
    whence = _SEEN_FROM.get(axis_name(parts) or "", "between its sides")
    axis = axis_name(towards_eye)
    return f"seen from {whence}{f' ({axis})' if axis else ''}"


def window_title(subject: Subject) -> str:
    """Return what stands in the window's frame."""
    return f"{visible(scene_of(subject).title)} - loopsolver"


def picture_name(subject: Subject, selection: ViewSelection) -> str:
    """Return the file name that suits what is shown, without its ending."""
    scene, runs = scene_of(subject), runs_of(subject)
    parts = [scene.file_name.rsplit("/", 1)[-1].removesuffix(".toml") or "scene"]
    if runs:
        parts.append(runs[selection.run].name)
    if selection.rank is not None:
        parts.append(str(selection.rank))
    words = "".join(
        letter if letter.isalnum() else " " for letter in " ".join(parts).lower()
    )
    return "-".join(words.split())
