"""The words in the window: what is shown, in figures. Pure text, no drawing."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from loopsolver.clearance.gap import is_clear
from loopsolver.geometry.vectors import Point, axis_name, dot, point
from loopsolver.hydraulics.filling import TiltStage
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.letters import visible
from loopsolver.plan import Effect, Plan, PlannedRun
from loopsolver.plan.model import AS_BUILT
from loopsolver.report.bench import bench_words
from loopsolver.report.lacking import NO_REASON
from loopsolver.report.purposes import purposes
from loopsolver.routing.problem import Candidate
from loopsolver.scene.axes import Sides
from loopsolver.scene.model import RunRequest, Scene
from loopsolver.view import palette
from loopsolver.view.figures import (
    NearTube,
    bend_table_lines,
    candidate_lines,
    effect_lines,
    loop_section,
)
from loopsolver.view.news_lines import news_section
from loopsolver.view.palette import Colour
from loopsolver.view.panel_lines import (
    COLUMNS,
    PanelLine,
    Section,
    colour_key,
    cut,
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
    runs_of,
    scene_of,
    shown_candidate,
    shown_run,
)
from loopsolver.view.tilting import air_key, tilt_section
from loopsolver.words import counted

if TYPE_CHECKING:
    from loopsolver.view.following import Following


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key of the window: its name in VTK, on the footer, and what it does."""

    symbol: str
    shown: str
    short: str
    does: str


KEYS: Final[tuple[Key, ...]] = (
    Key(symbol="Down", shown="↓", short="next run", does="next run"),
    Key(symbol="Up", shown="↑", short="", does="run before"),
    Key(symbol="Right", shown="→", short="next candidate", does="next candidate"),
    Key(symbol="Left", shown="←", short="", does="candidate before"),
    Key(symbol="b", shown="b", short="bodies", does="hide or show bodies"),
    Key(symbol="k", shown="k", short="keep-outs", does="hide or show keep-outs"),
    Key(symbol="t", shown="t", short="tubes", does="hide or show the other tubes"),
    Key(symbol="n", shown="n", short="names", does="hide or show names"),
    Key(symbol="a", shown="a", short="air", does="next tilt that lets air out"),
    Key(symbol="g", shown="g", short="together", does="next step of putting together"),
    Key(symbol="1", shown="1", short="front", does="front view; again: from the rear"),
    Key(symbol="2", shown="2", short="side", does="side view: left; again: right"),
    Key(symbol="3", shown="3", short="top", does="top view; again: from below"),
    Key(symbol="0", shown="0", short="reset", does="the first view again"),
    Key(symbol="p", shown="p", short="picture", does="save a picture, working folder"),
    Key(symbol="h", shown="h", short="keys", does="hide or show this list"),
    Key(symbol="q", shown="q", short="close", does="close the window (also Esc)"),
)
"""Every key of the window, in the order of the footer."""


_PENDING: Final = "being routed"


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
        return [Section(lines=(PanelLine(text=_PENDING, style="faint"),))]
    if candidate is None:
        why = run.why or NO_REASON
        lines = [PanelLine(text="no route", style="warning"), *paragraphs(why)]
        return [Section(lines=tuple(lines))]
    lead = _rank_lines(plan, run, selection.rank or AS_BUILT)
    lengths = lengths_for(plan.scene.units)
    clearance = plan.scene.rules.clearance
    figures = candidate_lines(
        candidate,
        clearance=clearance,
        near=near,
        lengths=lengths,
        formers=_formers(plan, run),
    )
    is_built = candidate is run.built
    hard = (
        [] if is_built else bench_words(plan.scene, run, candidate, text=lengths.text)
    )
    doubts = [row for one in hard for row in wrapped(one.short, indent="  ")]
    others = () if effect is None else effect_lines(effect)
    table = bend_table_lines(
        candidate.table, lengths=lengths, departures_deg=candidate.departures_deg
    )
    return [
        Section(lines=(*lead, PanelLine(text=""), *figures, *others, *doubts)),
        Section(lines=table),
    ]


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


def _run_row(
    entry: AnyRun, *, is_shown: bool, lengths: Lengths, pending: Collection[str]
) -> PanelLine:
    mark = "▸" if is_shown else " "
    if isinstance(entry, RunRequest):
        return PanelLine(text=f"{mark} {cut(entry.name, COLUMNS - 2)}")
    name = f"{cut(entry.name, 20):<20}"
    if entry.name in pending:
        return PanelLine(text=f"{mark} {name} {_PENDING:>19}", style="faint")
    chosen = entry.tube_in_place
    if chosen is None:
        words = "left out" if entry.candidates else "no route"
        return PanelLine(text=f"{mark} {name} {words:>19}", style="warning")
    bends = counted(chosen.bends, "bend") if entry.built is None else "built"
    length = lengths.plain(chosen.length)
    return PanelLine(text=f"{mark} {name}{bends:>9}{length:>11}")


def run_list(
    subject: Subject,
    selection: ViewSelection,
    *,
    most: int,
    pending: Collection[str] = (),
) -> Section:
    """Return the list of runs, at most so many, those round the one shown.

    `pending` are the names of those that are still being routed.
    """
    runs, lengths = runs_of(subject), lengths_for(scene_of(subject).units)
    first = max(0, min(selection.run - most // 2, len(runs) - most))
    rows = [
        _run_row(
            entry, is_shown=place == selection.run, lengths=lengths, pending=pending
        )
        for place, entry in enumerate(runs)
        if first <= place < first + most
    ]
    head = "runs" if len(runs) <= most else f"runs {first + 1} to {first + len(rows)}"
    return Section(lines=(PanelLine(text=head, style="faint"), *rows), yields=2)


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
    return Section(lines=tuple(lines), yields=3)


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
    if isinstance(subject, Plan) and "other tubes" not in selection.hidden:
        others = [run for run in subject.runs if run.tube_in_place is not None]
        if [run for run in others if run != shown_run(subject, selection)]:
            entries.append(("other tube", palette.OTHER_STRAIGHT))
    if following is not None and following.old:
        entries.append(("tube of before the save", palette.OLD_STRAIGHT))
    if stages:
        entries += air_key(stages[selection.tilt])
    entries.append(("port", palette.PORT))
    if scene_of(subject).keep_outs and "keep-outs" not in selection.hidden:
        entries.append(("keep-out", palette.KEEP_OUT))
    return Section(lines=tuple(colour_key(entries)))


def sections(
    subject: Subject,
    selection: ViewSelection,
    *,
    near: NearTube | None,
    effect: Effect | None = None,
    following: Following | None = None,
    stages: Sequence[TiltStage] = (),
    shots: Sequence[Shot] = (),
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
    """
    scene = scene_of(subject)
    key = legend(subject, selection, near=near, following=following, stages=stages)
    title = Section(lines=tuple(wrapped(scene.title, style="title")))
    if selection.is_helping:
        return (title, *key_help())
    if selection.shot:
        shot = selection.shot
        return (title, shot_section(shots, shot), shot_key(shots[shot - 1]))
    if selection.tilt:
        lengths = lengths_for(scene.units)
        return (title, tilt_section(stages, selection.tilt, lengths=lengths), key)
    result = [title]
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


def footer(*, columns: int, message: str) -> str:
    """Return what has just happened, if anything, and the keys; shortened to what fits.

    The last keys, help and close, stay longest.
    """
    pairs = {"Down": "↑↓ run", "Right": "←→ candidate", "Up": "", "Left": ""}
    shown = (pairs.get(key.symbol, f"{key.shown} {key.short}") for key in KEYS)
    entries = [entry for entry in shown if entry]
    lead = f"{message}   ·   " if message else ""
    while len(lead + "   ".join(entries)) > columns and len(entries) > 2:
        del entries[-3]
    row = lead + "   ".join(entries)
    return row if len(row) <= columns else cut(message or row, columns)


_MOUSE: Final = (
    ("drag", "turn the view"),
    ("shift", "and drag: move the view"),
    ("wheel", "nearer or farther"),
)


def key_help() -> tuple[Section, ...]:
    """Return the list of keys and of what the mouse does, in place of the figures."""
    keys = [PanelLine(text=f"{key.shown:>6}   {key.does}") for key in KEYS]
    mouse = [PanelLine(text=f"{name:>6}   {does}") for name, does in _MOUSE]
    return (
        Section(lines=(PanelLine(text="keys", style="heading"), *keys)),
        Section(lines=(PanelLine(text="mouse", style="heading"), *mouse)),
    )


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
