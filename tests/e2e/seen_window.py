"""A window under test, and what is to be seen of it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from PIL import ImageGrab

from loopsolver.view import palette
from tests.commands import PATIENCE

SCREEN = (1600, 1000)


needs_a_screen = pytest.mark.skipif(
    not (shutil.which("Xvfb") and shutil.which("xdotool")),
    reason="needs Xvfb and xdotool (apt-get install -y xvfb xdotool)",
)


@contextmanager
def screen(size):
    """An X server with a screen of so many pixels."""
    read_end, write_end = os.pipe()
    width, height = size
    with subprocess.Popen(
        [
            *("Xvfb", "-displayfd", str(write_end)),
            *("-screen", "0", f"{width}x{height}x24"),
            # Or it starts anew, deaf for a while, when the trial's window closes.
            "-noreset",
        ],
        pass_fds=[write_end],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as server:
        try:
            os.close(write_end)
            with os.fdopen(read_end) as numbers:
                number = numbers.readline().strip()
            assert number, "Xvfb did not start"
            yield f":{number}"
        finally:
            server.terminate()


class Seen:
    """A window under test, and what is to be seen of it."""

    def __init__(self, *words, display, folder):
        self.display = display
        self.process = subprocess.Popen(
            [sys.executable, *map(str, words)],
            env={**os.environ, "DISPLAY": display},
            cwd=folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )

    def grab(self):
        return np.asarray(
            ImageGrab.grab(xdisplay=self.display).convert("RGB"), dtype=int
        )

    def settled(self):
        """The picture, once it has stayed the same for a while."""
        last, same = self.grab(), 0
        end = time.monotonic() + PATIENCE
        while same < 5 and time.monotonic() < end:
            time.sleep(0.15)
            now = self.grab()
            same = same + 1 if np.array_equal(now, last) else 0
            last = now
        assert same >= 5, "the picture does not come to rest"
        return last

    def when(self, what):
        """The picture at rest, once `what` is true of it."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            said = self.process.stdout
            assert said is not None
            assert self.process.poll() is None, said.read()
            if what(self.grab()):
                now = self.settled()
                if what(now):
                    return now
            time.sleep(0.1)
        pytest.fail("the window never showed what was waited for")

    def do(self, *arguments):
        return subprocess.run(
            ["xdotool", *map(str, arguments)],
            env={**os.environ, "DISPLAY": self.display},
            check=True,
            timeout=30,
            stdout=subprocess.PIPE,
            text=True,
        ).stdout

    def key(self, name):
        self.do("key", name)

    def click(self, x, y):
        """Press and let go of the left button at a spot, from the top left [pixels]."""
        self.do("mousemove", x, y, "click", 1)

    def changed(self, before, *keys):
        """The picture at rest after some keys; it must not be the one before."""
        for name in keys:
            self.key(name)
        return self.when(lambda now: not np.array_equal(now, before))

    def closed(self):
        """The exit status and everything printed."""
        printed, _ = self.process.communicate(timeout=PATIENCE)
        return self.process.returncode, printed


class Framed:
    """A window wherever a window manager has put it: seen and clicked as if alone."""

    def __init__(self, seen):
        self._seen = seen
        told = seen.do("search", "--name", "loopsolver", "getwindowgeometry", "--shell")
        of = dict(line.split("=") for line in told.split() if "=" in line)
        self.size = (int(of["WIDTH"]), int(of["HEIGHT"]))
        # What is told of its place counts the frame twice under some window managers.
        seen.do("mousemove", "--window", of["WINDOW"], 0, 0)
        told = seen.do("getmouselocation", "--shell")
        of = dict(line.split("=") for line in told.split() if "=" in line)
        self.at = (int(of["X"]), int(of["Y"]))
        seen.do(
            "mousemove", self.at[0] + 5, self.at[1] + 5
        )  # who is pointed at hears keys
        whole = seen.grab
        (x, y), (width, height) = self.at, self.size
        seen.grab = lambda: whole()[y : y + height, x : x + width]

    def __getattr__(self, name):
        return getattr(self._seen, name)

    def click(self, x, y):
        self._seen.click(self.at[0] + x, self.at[1] + y)


@contextmanager
def managed(display, *, by):
    """A window manager, where one is asked for; without one there the test is left out."""
    if not by.startswith("managed"):
        yield
        return
    found = next((name for name in MANAGERS if shutil.which(name)), None)
    if found is None:
        pytest.skip(f"needs a window manager: {' or '.join(MANAGERS)}")
    words = [found, *MANAGERS[found]]
    environment = {**os.environ, "DISPLAY": display}
    with subprocess.Popen(words, env=environment, stderr=subprocess.DEVNULL) as manager:
        try:
            yield
        finally:
            manager.terminate()


MANAGERS = {
    "openbox": (),
    "twm": ("-f", str(Path(__file__).with_name("placing.twmrc"))),
}
"""Window managers, and what makes them place windows by themselves."""


def close_to(pixels, colour, by=6):
    return np.abs(pixels - colour).max(axis=2) <= by


def is_panel(pixels):
    return close_to(pixels, palette.PANEL, by=2).mean() > 0.1


def panel_width(pixels):
    """Columns from the left up to where the build's paper begins."""
    row = close_to(pixels, palette.PAPER, by=2)[10]
    return int(np.argmax(row))


def build_part(pixels):
    return pixels[:, panel_width(pixels) :]


def bend_pixels(pixels):
    red, green, blue = (build_part(pixels)[:, :, n] for n in range(3))
    return (red - blue > 70) & (green - blue > 30) & (red > 1.15 * green)


def other_tube_pixels(pixels):
    red, green, blue = (build_part(pixels)[:, :, n] for n in range(3))
    ratio = np.array(palette.OTHER_STRAIGHT) / palette.OTHER_STRAIGHT[2]
    fits = (np.abs(red - blue * ratio[0]) < 5) & (np.abs(green - blue * ratio[1]) < 5)
    return fits & (blue > 120) & (blue < 230)


def words_of(pixels):
    return pixels[:, : panel_width(pixels)]
