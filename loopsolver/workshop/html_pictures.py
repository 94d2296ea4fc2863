"""Plans, runs and candidates as HTML: a small picture beside their figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

import numpy as np

from loopsolver.drafting.drawing import Drawing, Entity, Polyline
from loopsolver.drafting.layers import Layer
from loopsolver.drafting.symbols import numbered_disc
from loopsolver.drafting.writers.svg import svg_document
from loopsolver.lengths import MILLIMETRES, lengths_for
from loopsolver.letters import visible
from loopsolver.plan import Plan, PlannedRun
from loopsolver.report.comparing import candidate_table
from loopsolver.report.lacking import why_lines
from loopsolver.report.loop import loop_sentences
from loopsolver.report.text_table import TextTable
from loopsolver.routing.problem import Candidate
from loopsolver.scene.axes import sides_of
from loopsolver.showing import Shown
from loopsolver.tube.centreline import Centreline, sample
from loopsolver.workshop.case_picture import fitted, staged, tube_entities
from loopsolver.workshop.picture_labels import SPACING, labels
from loopsolver.workshop.projection import CORNERS_DEG, isometric

_SMALL: Final = (70.0, 60.0)  # width and height of the picture of one run [mm]
_LARGE: Final = (105.0, 105.0)  # of that of a plan
_NUMBER: Final = 2.4  # radius of a run's number [mm]
_OTHER: Final = Layer(name="other candidates", width=0.5, grey=0.7)
_OUTER: Final = Layer(name="tube", width=1.8)
_INNER: Final = Layer(name="inside the tube's edges", width=1.2, grey=1.0)


def html_of(value: Shown) -> str:
    """Return a plan, a run or a candidate as HTML, every name in it escaped.

    Lengths are in the unit of the scene; in millimetres where the scene is not known.

    Raises
    ------
    TypeError
        For anything else.
    """
    match value:
        case Plan():
            return _plan_html(value)
        case PlannedRun():
            return _run_html(value)
        case Candidate():
            return _candidate_html(value)
    msg = f"a plan, a run or a candidate is shown, found {type(value).__name__}"
    raise TypeError(msg)


def _candidate_html(candidate: Candidate) -> str:
    alone = PlannedRun(
        name="", from_port="", to_port="", candidates=(candidate,), chosen=None
    )
    told = candidate_table(alone, alone.ranks, MILLIMETRES)
    figures = [
        (heading.replace("\n", ", "), cell)
        for heading, cell in zip(told.headings, told.rows[0], strict=True)
        if heading not in {"", "rank"}  # which only its run knows
    ]
    table = TextTable(headings=("", ""), rows=figures, words=frozenset({0, 1}))
    return _beside(_picture(candidate.centreline), [_html_table(table)])


def _run_html(run: PlannedRun) -> str:
    """Return a run: the chosen tube strong, the others thin, and all their figures."""
    head = _line(f"{run.name}: {run.from_port} to {run.to_port}", tag="b")
    shown = run.tube_in_place or next(iter(run.candidates), None)
    if shown is None:
        return "".join([head, *map(_line, why_lines(run))])
    others = [one.centreline for one in run.candidates if one is not shown]
    why = why_lines(run) if run.tube_in_place is None else []
    words = [_table(run), *map(_line, why)]
    return head + _beside(_picture(shown.centreline, others), words)


def _plan_html(plan: Plan) -> str:
    """Return a plan: its tubes in the case, numbered, and what is told of each."""
    lengths = lengths_for(plan.scene.units)
    rows = []
    for number, run in enumerate(plan.runs, start=1):
        tube = run.tube_in_place
        figures = ("-",) * 3
        if tube is not None:
            gap = lengths.number(tube.gap.distance)
            figures = (str(tube.bends), lengths.number(tube.length), gap)
        rows.append((str(number), run.name, *figures))
    unit = lengths.unit
    table = TextTable(
        headings=("", "run", "bends", f"length\n{unit}", f"gap\n{unit}"),
        rows=rows,
        words=frozenset({1}),
    )
    head = _line(plan.scene.title, tag="b") if plan.scene.title else ""
    words = [_html_table(table), *map(_line, loop_sentences(plan))]
    return head + _beside(_plan_picture(plan), words)


def _table(run: PlannedRun) -> str:
    return _html_table(candidate_table(run, run.ranks, MILLIMETRES))


def _picture(line: Centreline, others: Sequence[Centreline] = ()) -> str:
    """Return a tube as an SVG picture, seen at a slant, its bends numbered."""
    wide, high = _SMALL
    every = [sample(one, spacing=SPACING) for one in (*others, line)]
    sides = sides_of(axes=None, up=(0.0, 0.0, 1.0))
    seen = isometric(sides, azimuth_deg=CORNERS_DEG[0])
    view = fitted(seen, _spread(np.concatenate(every)), width=wide, height=high)
    *thin, strong = (view.places(points) for points in every)
    entities: list[Entity] = [Polyline(points=one, layer=_OTHER) for one in thin]
    entities += [Polyline(points=strong, layer=layer) for layer in (_OUTER, _INNER)]
    entities += labels(
        line,
        view.places,
        tags=("first end", "last end"),
        reach=_OUTER.width,
        paper=(0.0, 0.0, wide, high),
        taken=(),
    )
    return _svg(entities, _SMALL)


def _spread(points: np.ndarray) -> np.ndarray:
    """Return the corners of a box round some places, so wide that it has a size."""
    low, high = points.min(axis=0) - SPACING, points.max(axis=0) + SPACING
    return np.array([low, high, *(np.where(one, low, high) for one in np.eye(3))])


def _plan_picture(plan: Plan) -> str:
    """Return the tubes of a plan in the case as an SVG picture, each with its number."""
    tubes = [
        (number, one.centreline)
        for number, run in enumerate(plan.runs, start=1)
        if (one := run.tube_in_place) is not None
    ]
    if not tubes:
        return ""
    longest = max((line for _, line in tubes), key=lambda one: len(one.vertices))
    view, ground, axes = staged(plan.scene, longest, width=_LARGE[0], height=_LARGE[1])
    tubes.sort(key=lambda one: float(view.depth(np.array(one[1].vertices)).mean()))
    entities = [*ground, *axes]
    for _, line in tubes:
        entities += tube_entities(line, plan.scene, view)
    for number, line in tubes:
        points = sample(line, spacing=SPACING)
        middle = view.place(points[len(points) // 2])
        entities += numbered_disc(middle, number, radius=_NUMBER)
    return _svg(entities, _LARGE)


def _svg(entities: Sequence[Entity], size: tuple[float, float]) -> str:
    """Return a picture as an element of a page."""
    drawing = Drawing(entities=tuple(entities), low=(0.0, 0.0), high=size)
    text = svg_document(drawing, title="loopsolver").decode("utf-8")
    return text[text.index("<svg") :]


def _beside(picture: str, words: Sequence[str]) -> str:
    return (
        '<div style="display:flex;flex-wrap:wrap;gap:1em;align-items:flex-start">'
        f"{picture}<div>{''.join(words)}</div></div>"
    )


def _line(text: str, *, tag: str = "div") -> str:
    return f'<{tag} style="display:block">{escape(visible(text))}</{tag}>'


def _html_table(table: TextTable) -> str:
    """Return a table, the rows that stand out in strong letters."""

    def row(cells: Sequence[str], tag: str) -> Iterator[str]:
        yield "<tr>"
        for place, cell in enumerate(cells):
            side = "left" if place in table.words else "right"
            shown = "<br/>".join(escape(visible(one)) for one in cell.split("\n"))
            yield f'<{tag} style="text-align:{side};padding:0 .5em">{shown}</{tag}>'
        yield "</tr>"

    body = [
        "".join(row(cells, "th" if place in table.strong else "td"))
        for place, cells in enumerate(table.rows)
    ]
    return f"<table>{''.join(row(table.headings, 'th'))}{''.join(body)}</table>"
