"""The real window follows a file: saves, faults, tubes that come while it lives on."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import numpy as np
import pytest

from loopsolver.view import palette
from tests.builders.followed_case import FOLLOWED
from tests.commands import PATIENCE
from tests.e2e.seen_window import (
    Seen,
    bend_pixels,
    build_part,
    close_to,
    needs_a_screen,
    words_of,
)
from tests.full import only_in_full

pytestmark = needs_a_screen

MOVED = FOLLOWED.replace("position = [90, 205, 0]", "position = [70, 205, 0]")
BROKEN = MOVED.replace("clearance = 3", 'clearance = "three"')


@pytest.fixture
def window(display, tmp_path):
    """A window that follows a scene, and its file."""
    path = tmp_path / "followed.toml"
    path.write_text(FOLLOWED, encoding="utf-8")
    words = ("-m", "loopsolver", "view", path, "--watch")
    seen = Seen(*words, display=display, folder=tmp_path)
    yield seen, path
    if seen.process.poll() is None:
        for process in searches(seen):
            os.kill(process, signal.SIGCONT)
        seen.process.kill()
    seen.process.communicate()


def searches(seen):
    """Numbers of the processes that the window has started."""
    number = seen.process.pid
    children = Path(f"/proc/{number}/task/{number}/children")
    return [int(word) for word in children.read_text().split()]


def saved(path, text):
    """Put another file in its place, as editors do."""
    other = path.with_suffix(".part")
    other.write_text(text, encoding="utf-8")
    other.replace(path)


def has_tube(pixels):
    return bend_pixels(pixels).sum() > 400


def has_both_tubes(pixels):
    """Whether the legend tells of another run's tube beside the one that is seen."""
    swatch = close_to(words_of(pixels), palette.OTHER_STRAIGHT, by=8)
    return has_tube(pixels) and swatch.sum() > 40


def likeness(pixels, other):
    """The share of the build that looks the same."""
    same = np.abs(build_part(pixels) - build_part(other)).max(axis=2) < 24
    return same[:800].mean()


def old_pixels(pixels):
    """How many pixels are of a warm grey, lit from light to dark."""
    part = build_part(pixels)
    red, green, blue = (part[:, :, n] for n in range(3))
    is_grey = (red >= green) & (green >= blue) & (red - blue > 2) & (red - blue < 10)
    return (is_grey & (red > 110) & (red < 244)).sum()


def has_red_words(pixels):
    return close_to(words_of(pixels), palette.WARNING_INK, by=12).sum() > 40


def test_a_save_is_shown_while_the_search_stands_still_and_tubes_follow(window):
    """The search is stopped by the system, so that nothing hangs on who is faster."""
    seen, path = window
    first = seen.when(has_both_tubes)
    children = searches(seen)
    assert children
    for process in children:
        os.kill(process, signal.SIGSTOP)

    # The part is moved, its tubes are grey, and keys still do what they do.
    saved(path, MOVED)
    moved = seen.when(lambda now: not np.array_equal(now, first) and not has_tube(now))
    assert old_pixels(moved) > old_pixels(first) + 3000
    bare = seen.changed(moved, "b")

    for process in children:
        os.kill(process, signal.SIGCONT)
    grey = old_pixels(bare)
    seen.when(lambda now: has_both_tubes(now) and old_pixels(now) < grey - 3000)
    seen.key("q")
    assert seen.closed() == (0, "")
    end = time.monotonic() + PATIENCE
    while any(Path(f"/proc/{one}").exists() for one in children):
        assert time.monotonic() < end, "the search outlives its window"
        time.sleep(0.05)


@only_in_full
def test_what_is_kept_stays_until_a_save_that_tubes_feel(window):
    """Kept, solved round, saved under another title, taken back, and saved moved."""
    seen, path = window
    first = seen.when(has_both_tubes)
    other = seen.changed(first, "Right")
    kept = seen.changed(other, "Return")
    tube = bend_pixels(other)
    assert (bend_pixels(kept) == tube).mean() > 0.99
    asked = seen.changed(kept, "w")  # told in the footer: there is no plan file
    assert [one.name for one in path.parent.iterdir()] == [path.name]

    renamed = FOLLOWED.replace("Dotterel: a small cube", "Dotterel: a little cube")
    assert renamed != FOLLOWED
    saved(path, renamed)
    titled = seen.when(lambda now: not np.array_equal(words_of(now), words_of(asked)))
    assert (bend_pixels(titled) == tube).mean() > 0.99

    saved(path, MOVED.replace("Dotterel: a small cube", "Dotterel: a little cube"))
    moved = seen.when(lambda now: has_both_tubes(now) and likeness(now, titled) < 0.995)
    seen.key("u")  # nothing is kept any more
    assert (bend_pixels(seen.settled()) == bend_pixels(moved)).mean() > 0.99
    seen.key("q")
    assert seen.closed() == (0, "")


@only_in_full
def test_what_cannot_be_used_is_told_in_red_until_it_is_mended(window):
    seen, path = window
    first = seen.when(has_both_tubes)
    saved(path, BROKEN)
    broken = seen.when(has_red_words)
    assert np.array_equal(build_part(broken)[:800], build_part(first)[:800])
    path.unlink()
    seen.when(lambda now: has_red_words(now) and not np.array_equal(now, broken))
    saved(path, MOVED)
    seen.when(lambda now: not has_red_words(now) and has_both_tubes(now))
    seen.key("q")
    assert seen.closed() == (0, "")


@only_in_full
def test_many_saves_one_after_the_other_end_with_the_last(window):
    seen, path = window
    before = seen.when(has_both_tubes)
    saved(path, MOVED)
    wanted = seen.when(lambda now: has_both_tubes(now) and likeness(now, before) < 0.98)
    saved(path, FOLLOWED)
    seen.when(lambda now: likeness(now, before) > 0.99)
    for number in range(20):
        text = (BROKEN, FOLLOWED, FOLLOWED[: 50 * number])[number % 3]
        path.write_text(text, encoding="utf-8")
        time.sleep(0.05)
    path.write_text(MOVED, encoding="utf-8")
    seen.when(lambda now: likeness(now, wanted) > 0.99 and not has_red_words(now))
    seen.key("q")
    assert seen.closed() == (0, "")
