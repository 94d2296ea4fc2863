"""The real window on a real X display, driven by real keys and the mouse.

One window is opened in every run by `test_window_tools`.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import time

import numpy as np
import pytest
from PIL import Image

from loopsolver.view import palette
from tests.builders import demo_build
from tests.commands import PATIENCE, python
from tests.e2e.seen_window import (
    SCREEN,
    Seen,
    bend_pixels,
    build_part,
    close_to,
    is_panel,
    needs_a_screen,
    other_tube_pixels,
    panel_width,
    screen,
    words_of,
)
from tests.full import only_in_full

OPEN = (
    "import pickle, sys, pathlib\n"
    "from loopsolver.view.window import show\n"
    "show(pickle.loads(pathlib.Path(sys.argv[1]).read_bytes()))\n"
)

pytestmark = needs_a_screen


@pytest.fixture
def window(display, tmp_path):
    opened = []

    def open_it(subject, display=display):
        held = tmp_path / "subject.pickle"
        held.write_bytes(pickle.dumps(subject))
        seen = Seen("-c", OPEN, held, display=display, folder=tmp_path)
        opened.append(seen)
        return opened[-1]

    yield open_it
    for seen in opened:
        if seen.process.poll() is None:
            seen.process.kill()
        seen.process.communicate()


@only_in_full
def test_keys_lead_through_runs_and_candidates_and_save_a_picture(window, tmp_path):
    seen = window(demo_build.plan())
    first = seen.when(is_panel)
    assert bend_pixels(first).sum() > 800
    assert 0.2 < panel_width(first) / SCREEN[0] < 0.45

    # The next candidate: another tube in other words, the camera where it was.
    second = seen.changed(first, "Right")
    assert (bend_pixels(second) ^ bend_pixels(first)).sum() > 400
    assert bend_pixels(second).sum() > bend_pixels(first).sum()
    assert not np.array_equal(words_of(second), words_of(first))
    rim = build_part(first)[:60]
    assert np.array_equal(build_part(second)[:60], rim)
    assert np.array_equal(seen.changed(second, "Left"), first)

    # Up from the first run is the last; it has no route, and says so in red.
    routeless = seen.changed(first, "Up")
    assert bend_pixels(routeless).sum() == 0
    red_words = close_to(words_of(routeless), palette.WARNING_INK, by=12)
    assert red_words[:220].sum() > 40
    back = seen.changed(routeless, "Down")
    assert np.array_equal(build_part(back)[:800], build_part(first)[:800])

    # A picture of the build is saved, without panel and footer, and its name is told.
    seen.key("p")
    path = tmp_path / "teal-pump-to-card-1.png"
    end = time.monotonic() + PATIENCE
    while not path.exists() and time.monotonic() < end:
        time.sleep(0.1)
    with Image.open(path) as picture:
        saved = np.asarray(picture.convert("RGB"), dtype=int)
    seen_build = build_part(first)[: len(saved), : saved.shape[1]]
    assert saved.shape == seen_build.shape
    assert saved.shape[1] == 1440 - panel_width(first)
    assert 820 < len(saved) < 900
    near = np.abs(saved - seen_build).max(axis=2) < 24
    assert near.mean() > 0.99

    seen.key("q")
    assert seen.closed() == (0, "")


@only_in_full
def test_keys_hide_layers_change_the_view_and_show_the_keys(window):
    seen = window(demo_build.plan())
    first = seen.when(is_panel)

    # Bodies vanish: more bare paper; the tube stays; the same key brings them back.
    bare = seen.changed(first, "b")
    paper = [close_to(build_part(p), palette.PAPER, by=3).sum() for p in (first, bare)]
    assert paper[1] - paper[0] > 30_000
    assert bend_pixels(bare).sum() > 0.95 * bend_pixels(first).sum()
    again = seen.changed(bare, "b")
    assert np.array_equal(build_part(again)[:800], build_part(first)[:800])

    # Other tubes vanish.
    alone = seen.changed(again, "t")
    others = [other_tube_pixels(p).sum() for p in (again, alone)]
    assert others[0] > 4000
    assert others[1] < 0.2 * others[0]
    shown = seen.changed(alone, "t")

    # Names vanish: their words are nearly black on paper.
    nameless = seen.changed(shown, "n")
    ink = [close_to(build_part(p), palette.INK, by=40).sum() for p in (shown, nameless)]
    assert ink[0] - ink[1] > 150
    shown = seen.changed(nameless, "n")

    # From above, from below, and back to the first view.
    above = seen.changed(shown, "3")
    below = seen.changed(above, "3")
    assert (bend_pixels(above) ^ bend_pixels(below)).sum() > 200
    reset = seen.changed(below, "0")
    assert np.array_equal(build_part(reset)[:800], build_part(first)[:800])

    # The list of keys takes the place of the figures and goes again.
    helped = seen.changed(reset, "h")
    assert not np.array_equal(words_of(helped), words_of(reset))
    assert np.array_equal(build_part(helped)[:800], build_part(reset)[:800])
    seen.changed(helped, "h")

    seen.key("q")
    assert seen.closed() == (0, "")


@only_in_full
def test_scene_is_turned_by_the_mouse_resized_and_closed_by_escape(window):
    seen = window(demo_build.scene())
    first = seen.when(is_panel)
    assert bend_pixels(first).sum() == 0
    wanted = close_to(build_part(first), palette.WANTED, by=30)
    assert wanted.sum() > 60

    middle = (panel_width(first) + 500, 420)
    seen.do("mousemove", *middle, "mousedown", 1)
    for step in range(1, 9):
        seen.do("mousemove", middle[0] + 12 * step, middle[1] + 3 * step)
    seen.do("mouseup", 1)
    turned = seen.when(lambda now: not np.array_equal(now, first))
    assert np.array_equal(words_of(turned), words_of(first))
    moved = np.abs(build_part(turned) - build_part(first)).max(axis=2) > 30
    assert moved.sum() > 20_000

    # Letter keys that VTK itself would act on (wireframe, stereo) do not here: w writes
    # a plan, and says that there is none.
    seen.key("w")
    seen.key("s")
    assert np.array_equal(build_part(seen.settled())[:800], build_part(turned)[:800])

    name = demo_build.scene().title
    (found,) = subprocess.run(
        ["xdotool", "search", "--name", name],
        env={**os.environ, "DISPLAY": seen.display},
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    seen.do("windowsize", found, 1000, 640)
    small = seen.when(lambda now: (now[700:, 1100:] == 0).all())
    assert 0.2 < panel_width(small) / 1000 < 0.45
    assert close_to(small[:640, :1000], palette.PANEL, by=2).mean() > 0.2

    seen.key("Escape")
    assert seen.closed() == (0, "")


@only_in_full
@pytest.mark.parametrize("size", [(1024, 700), (1280, 800), (1920, 1080)])
def test_a_window_opens_inside_its_screen(size, window, tmp_path):
    """Its footer stands on the screen, and all of its width."""
    with screen(size) as display:
        seen = window(demo_build.plan(), display=display)
        picture = seen.when(is_panel)
        black = (picture == 0).all(axis=2)
        wide, high = (~black).any(axis=0).sum(), (~black).any(axis=1).sum()
        assert wide < size[0]
        assert high < size[1]
        footer = picture[high - 6 : high - 5, :wide]
        assert close_to(footer, palette.PANEL, by=2).mean() > 0.9
        seen.key("q")
        assert seen.closed() == (0, "")


@pytest.mark.parametrize(
    ("display", "words"),
    [(None, "there is no display to open a window on"), (":9876", "cannot be reached")],
)
def test_without_a_display_the_way_out_is_told_at_once(display, words, tmp_path):
    held = tmp_path / "scene.pickle"
    held.write_bytes(pickle.dumps(demo_build.scene()))
    hidden = {"DISPLAY", "WAYLAND_DISPLAY"}
    environment = {k: v for k, v in os.environ.items() if k not in hidden}
    if display is not None:
        environment["DISPLAY"] = display
    done = python("-c", OPEN, held, env=environment)
    assert done.returncode == 1
    last = done.stderr.strip().splitlines()[-1]
    assert last.startswith("loopsolver.errors.LoopsolverError: ")
    assert words in last
    assert "--screenshot" in last
