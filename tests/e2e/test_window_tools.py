"""The real window as a tool: clicks and keys, and the plan file that comes of them."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from loopsolver.plan import Plan
from loopsolver.view import captions, clashes, palette
from loopsolver.view.panel import IN_WINDOW, laid_lines, page_layout
from loopsolver.view.panel_lines import ToCandidate
from loopsolver.view.selection import first_selection
from tests.builders.followed_case import routed_files
from tests.builders.routed_demo import routed_demo
from tests.commands import PATIENCE
from tests.e2e.seen_window import (
    Framed,
    Seen,
    build_part,
    close_to,
    is_panel,
    managed,
    needs_a_screen,
    other_tube_pixels,
    panel_width,
    screen,
    words_of,
)
from tests.full import only_in_full

pytestmark = needs_a_screen

WINDOW = (1440, 900)


@pytest.fixture(scope="module")
def routed(tmp_path_factory):
    """A scene of two runs in a file, and its plan in another."""
    return routed_files(tmp_path_factory.mktemp("routed"))


@pytest.fixture
def opened():
    """What opens a window on a plan file, on some display."""
    windows = []

    def open_it(path, *options, display):
        words = ("-m", "loopsolver", "view", path, *options)
        windows.append(Seen(*words, display=display, folder=path.parent))
        return windows[-1]

    yield open_it
    for seen in windows:
        if seen.process.poll() is None:
            seen.process.kill()
        seen.process.communicate()


@pytest.fixture
def window(routed, opened, display, tmp_path):
    """A window on a plan file, and that file."""
    copies = [tmp_path / one.name for one in routed]
    for one, copy in zip(routed, copies, strict=True):
        copy.write_bytes(one.read_bytes())
    return opened(copies[1], display=display), copies[1]


def row_of(path: Path, target) -> tuple[int, int]:
    """Where the row that leads somewhere is when the window opens, from the top left."""
    plan = Plan.read(path)
    selection = first_selection(plan, run=None, candidate=None)
    layout = page_layout(*WINDOW, scale=1.0, furniture=IN_WINDOW)
    near = next(iter(clashes.near_tubes(plan, selection)), None)
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


def until(what) -> None:
    end = time.monotonic() + PATIENCE
    while not what():
        assert time.monotonic() < end, "what was waited for never came"
        time.sleep(0.05)


def test_a_candidate_is_clicked_kept_solved_round_and_written(window):
    """The whole way: a key, a row, Enter, the search in its process, w, and the file."""
    seen, path = window
    before = Plan.read(path)
    last = len(before.runs[0].candidates)
    first = seen.when(is_panel)
    seen.click(*row_of(path, ToCandidate(rank=last)))
    other = seen.when(
        lambda now: not np.array_equal(build_part(now), build_part(first))
    )
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
    chosen = after.runs[0].chosen_candidate
    assert chosen is not None
    assert chosen.bends == before.runs[0].candidates[-1].bends
    assert after.loop is not None
    assert after.loop.kept == (before.runs[0].name,)
    seen.key("q")
    assert seen.closed() == (0, "")


def test_putting_together_plays_by_itself_until_a_key_and_goes_on_with_g(
    routed, opened, display
):
    seen = opened(routed[1], "--assemble", display=display)
    end = time.monotonic() + PATIENCE
    shots: list[np.ndarray] = []
    while len(shots) < 2 and time.monotonic() < end:  # nobody touches a key
        now = seen.grab()
        if is_panel(now) and not any(np.array_equal(now, one) for one in shots):
            shots.append(now)
        time.sleep(0.2)
    assert len(shots) == 2
    stopped = seen.changed(seen.grab(), "h")
    seen.changed(stopped, "g")
    seen.key("q")
    assert seen.closed() == (0, "")


# --- every tool, on every demonstration, at every size ------------------------------

SIZES = {"1024x700": (1024, 700), "managed 1280x800": (1280, 800)}
SIZES["1920x1080"] = (1920, 1080)


@pytest.fixture(scope="module")
def demos(tmp_path_factory):
    """The plan files of demonstrations, each routed when it is first asked for."""
    folder, there = tmp_path_factory.mktemp("demos"), {}

    def plan_of(name):
        if name not in there:
            there[name] = routed_demo(name, folder) / f"{name}.plan.json"
        return there[name]

    return plan_of


def check_furniture(pixels, size):
    """The panel's margins are bare, the legend stands in it, the footer below it."""
    wide, words = panel_width(pixels), words_of(pixels)
    assert 0.2 < wide / size[0] < 0.45
    height, margin = len(pixels), wide // 30
    bare = close_to(words[: -height // 14], palette.PANEL, by=2)  # above the footer
    assert bare[:, 2:margin].all()
    assert bare[:, -margin:-2].all()
    assert close_to(pixels[height - 4 :], palette.PANEL, by=2).mean() > 0.95
    legend = close_to(words[height // 3 :], palette.STRAIGHT, by=3)
    assert legend.sum() > 20


def measured(pixels):
    """What of the build is in the colour of what is measured."""
    return close_to(build_part(pixels), palette.MEASURE, by=40)


def is_alike(pixels, other):
    """Whether the build looks the same, but for the smoothing of its edges."""
    same = np.abs(build_part(pixels) - build_part(other)).max(axis=2) < 30
    return same[: -len(pixels) // 14].mean() > 0.98  # above the footer


@only_in_full
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["wren", "heron", "robin"])
def test_every_tool_works_at_every_size_on_every_demonstration(
    name, size, demos, opened
):
    with screen(SIZES[size]) as display, managed(display, by=size):
        runs = Plan.read(demos(name)).runs
        best = max(runs, key=lambda run: (len(run.candidates), run.candidates[0].bends))
        seen = opened(demos(name), "--run", best.name, display=display)
        seen.when(is_panel)
        seen = Framed(seen)
        first = before = seen.when(is_panel)
        check_furniture(first, seen.size)

        # Bent bend by bend and back, cut open, moved and back, side by side and back.
        bends = ["s"] * (best.candidate(best.chosen or 1).bends + 2)
        cut = ("x", "period", "x", "x", "x")
        for key in (*bends, *cut):
            before = seen.changed(before, key)
            check_furniture(before, seen.size)
        before = seen.when(lambda now: is_alike(now, first))
        for key in ("v", "Right", "v"):
            before = seen.changed(before, key)
            check_furniture(before, seen.size)

        before = seen.changed(before, "m")
        for share, most in ((0.35, 3), (0.65, 40)):  # a ball, then a line as well
            wide = panel_width(before)
            seen.click(wide + round((seen.size[0] - wide) * share), seen.size[1] // 2)
            before = seen.when(lambda now, most=most: measured(now).sum() > most)
        check_furniture(before, seen.size)
        before = seen.changed(before, "m")

        # A click on a pale tube makes it the one on show, in its strong colours.
        x, y = middle_of(other_tube_pixels(before), panel_width(before))

        def strength(pixels):
            return np.ptp(pixels[y - 2 : y + 3, x - 2 : x + 3].mean(axis=(0, 1)))

        pale = strength(before)
        seen.click(x, y)
        clicked = seen.when(lambda now: strength(now) > pale + 40)
        check_furniture(clicked, seen.size)
        seen.changed(clicked, "h")
        seen.key("q")
        assert seen.closed() == (0, "")
