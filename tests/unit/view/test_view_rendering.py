"""What is said where nothing can be drawn, tried with children that fail on purpose."""

from __future__ import annotations

import ctypes
import os
import sys

import pytest

from loopsolver.errors import LoopsolverError, MissingExtraError
from loopsolver.view import rendering
from loopsolver.view.rendering import Trial

PACKAGES = ("libgl1", "libegl1", "libgl1-mesa-dri", "libxcursor1")


def trial_of(code):
    return rendering.RunningTrial({}, command=(sys.executable, "-c", code)).result()


def test_child_that_draws_tells_its_kind_of_window():
    trial = trial_of("print('some words'); print('vtkXOpenGLRenderWindow')")
    assert trial == Trial(window_class="vtkXOpenGLRenderWindow", ending="")
    assert not trial.is_off_screen_only


def test_child_that_crashes_is_survived_and_its_signal_told():
    trial = trial_of("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)")
    assert trial.window_class == ""
    assert trial.ending == "it was ended by signal 11"


def test_child_that_fails_gives_its_last_words():
    trial = trial_of("raise SystemExit('libGL.so.1: cannot open')")
    assert trial.ending == "status 1: libGL.so.1: cannot open"


def test_child_that_hangs_is_ended(monkeypatch):
    monkeypatch.setattr(rendering, "PATIENCE", 0.3)
    trial = trial_of("import time; time.sleep(60)")
    assert trial.ending == "no end after 0 s"


def test_child_gets_the_environment_and_ours_stays():
    command = (sys.executable, "-c", "import os; print(os.environ['VIEW_TRIAL'])")
    trial = rendering.RunningTrial({"VIEW_TRIAL": "seen"}, command=command).result()
    assert trial.window_class == "seen"
    assert "VIEW_TRIAL" not in os.environ


def test_missing_libraries_are_named_by_their_debian_packages(monkeypatch):
    def refuse(name):
        raise OSError(name)

    monkeypatch.setattr(ctypes, "CDLL", refuse)
    monkeypatch.setattr(rendering, "_DRIVER_FOLDERS", ())
    monkeypatch.setattr(sys, "platform", "linux")
    error = rendering.cannot_draw(Trial(window_class="", ending="it crashed"))
    assert isinstance(error, MissingExtraError)
    assert "it crashed" in str(error)
    assert set(rendering.missing_packages()) == set(PACKAGES)
    (line,) = (row for row in str(error).splitlines() if "apt-get" in row)
    assert line.split() == ["apt-get", "install", "-y", *line.split()[3:]]
    assert set(line.split()[3:]) == set(PACKAGES)


def test_one_missing_library_is_the_only_one_named(monkeypatch):
    real = ctypes.CDLL

    def refuse_one(name):
        if name == "libXcursor.so.1":
            raise OSError(name)
        return real(None)

    monkeypatch.setattr(ctypes, "CDLL", refuse_one)
    monkeypatch.setattr(rendering, "_has_driver", lambda _: True)
    assert rendering.missing_packages() == ("libxcursor1",)


def test_drivers_are_found_in_their_folders(tmp_path):
    assert not rendering._has_driver(tmp_path)
    dri = tmp_path / "x86_64-linux-gnu" / "dri"
    dri.mkdir(parents=True)
    (dri / "swrast_dri.so").touch()
    assert rendering._has_driver(tmp_path)


def test_elsewhere_than_on_linux_no_debian_package_is_named(monkeypatch):
    monkeypatch.setattr(sys, "platform", "darwin")
    error = rendering.cannot_draw(Trial(window_class="", ending="it crashed"))
    assert "apt-get" not in str(error)
    rendering.demand_display()


def test_without_a_display_the_way_out_is_told(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    with pytest.raises(LoopsolverError, match=r"no display.*--screenshot"):
        rendering.demand_display()
    monkeypatch.setenv("WAYLAND_DISPLAY", "wayland-0")
    rendering.demand_display()
    monkeypatch.delenv("WAYLAND_DISPLAY")
    monkeypatch.setenv("DISPLAY", ":0")
    rendering.demand_display()


def test_window_that_nobody_would_see_is_refused(monkeypatch):
    monkeypatch.setenv("DISPLAY", ":4711")
    unseen = Trial(window_class="vtkEGLRenderWindow", ending="")
    with pytest.raises(
        LoopsolverError, match=r"':4711' cannot be reached.*--screenshot"
    ):
        rendering.demand_window(unseen)
    with pytest.raises(MissingExtraError):
        rendering.demand_window(Trial(window_class="", ending="it crashed"))
    rendering.demand_window(Trial(window_class="vtkXOpenGLRenderWindow", ending=""))


def test_environment_is_put_back_as_it_was(monkeypatch):
    monkeypatch.setenv("VIEW_KEPT", "before")
    with rendering.environment({"VIEW_KEPT": "now", "VIEW_NEW": "now"}):
        assert (os.environ["VIEW_KEPT"], os.environ["VIEW_NEW"]) == ("now", "now")
    assert os.environ["VIEW_KEPT"] == "before"
    assert "VIEW_NEW" not in os.environ
