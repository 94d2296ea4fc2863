"""The real window as a tool: clicks and keys, and the plan file that comes of them."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from loopsolver.plan import Plan
from loopsolver.report.planning import route_scene
from loopsolver.scene.reader import load_scene
from loopsolver.view import captions, contents, palette
from loopsolver.view.panel import IN_WINDOW, laid_lines, page_layout
from loopsolver.view.panel_lines import ToCandidate, ToRun
from loopsolver.view.selection import first_selection
from tests.builders.followed_case import FOLLOWED
from tests.commands import PATIENCE
from tests.e2e.seen_window import (
    Seen,
    bend_pixels,
    build_part,
    close_to,
    is_panel,
    needs_a_screen,
    other_tube_pixels,
    panel_width,
    words_of,
)
from tests.full import only_in_full

pytestmark = needs_a_screen

WINDOW = (1440, 900)


@pytest.fixture(scope="module")
def routed(tmp_path_factory):
    """A scene of two runs in a file, and its plan in another."""
    folder = tmp_path_factory.mktemp("routed")
    scene = folder / "followed.toml"
    scene.write_text(FOLLOWED, encoding="utf-8")
    plan = folder / "followed.plan.json"
    route_scene(load_scene(scene)).write(plan, scene_path=scene)
    return scene, plan


@pytest.fixture
def window(routed, display, tmp_path):
    """A window on a plan file, and that file."""
    copies = [tmp_path / one.name for one in routed]
    for one, copy in zip(routed, copies, strict=True):
        copy.write_bytes(one.read_bytes())
    words = ("-m", "loopsolver", "view", copies[1])
    seen = Seen(*words, display=display, folder=tmp_path)
    yield seen, copies[1]
    if seen.process.poll() is None:
        seen.process.kill()
    seen.process.communicate()


def row_of(path: Path, target) -> tuple[int, int]:
    """Where the row that leads somewhere is when the window opens, from the top left."""
    plan = Plan.read(path)
    selection = first_selection(plan, run=None, candidate=None)
    layout = page_layout(*WINDOW, scale=1.0, furniture=IN_WINDOW)
    near = next(iter(contents.near_tubes(plan, selection)), None)
    laid = laid_lines(captions.sections(plan, selection, near=near), layout)
    (line,) = (one for one in laid if one.line.leads_to == target)
    return round(line.x) + 12, round(WINDOW[1] - line.y - layout.row / 2)


def middle_of(mask, left: int) -> tuple[int, int]:
    """A spot of the build that has what is masked all round it, from the top left."""
    inside = mask.copy()
    for axis, by in ((0, 3), (0, -3), (1, 3), (1, -3)):
        inside &= np.roll(mask, by, axis=axis)
    rows, columns = np.nonzero(inside)
    place = len(rows) // 2
    return left + int(columns[place]), int(rows[place])


def is_kept(pixels) -> bool:
    """Whether the panel says in bold that the rest is being solved, or is no more."""
    return close_to(words_of(pixels), palette.INK, by=6)[:200].sum() > 0


def until(what) -> None:
    end = time.monotonic() + PATIENCE
    while not what():
        assert time.monotonic() < end, "what was waited for never came"
        time.sleep(0.05)


def test_a_candidate_is_clicked_kept_solved_round_and_written(window):
    """The whole way: a row, Enter, the search in its own process, w, and the file."""
    seen, path = window
    before = Plan.read(path)
    last = len(before.runs[0].candidates)
    first = seen.when(is_panel)
    seen.click(*row_of(path, ToCandidate(rank=last)))
    other = seen.when(lambda now: not np.array_equal(build_part(now), build_part(first)))
    # Asked to write with nothing kept it does not; kept and solved it does.
    asked = seen.changed(other, "w")
    kept = seen.changed(asked, "Return")
    assert not np.array_equal(words_of(kept), words_of(other))
    text = path.read_bytes()

    def is_written() -> bool:
        seen.key("w")
        return path.read_bytes() != text

    until(is_written)
    after = Plan.read(path)
    assert after.runs[0].chosen_candidate.bends == before.runs[0].candidates[-1].bends
    assert after.loop is not None
    assert after.loop.kept == (before.runs[0].name,)
    seen.key("q")
    assert seen.closed() == (0, "")
