"""Whether this machine can draw in three dimensions, asked without risk.

Where the system's graphics libraries are missing, VTK does not raise: it crashes the
interpreter as soon as it draws. Of the kind of window that needs no display VTK tells
before; for any other a child process tries first. The reason is put into words here.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from loopsolver.errors import LoopsolverError, MissingExtraError

WINDOW_CLASS: Final = "VTK_DEFAULT_OPENGL_WINDOW"
"""Environment variable by which VTK is told the kind of its windows."""

OFF_SCREEN: Final[Mapping[str, str]] = {WINDOW_CLASS: "vtkEGLRenderWindow"}
"""What makes VTK draw without any display on Linux."""

PATIENCE: Final = 60.0
"""How long the trial may take [s]; it takes half a second where nothing is amiss."""

_TRIAL: Final = """
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow
import vtkmodules.vtkRenderingOpenGL2
window = vtkRenderWindow()
window.SetShowWindow(False)
window.SetOffScreenRendering(True)
window.SetSize(16, 16)
window.AddRenderer(vtkRenderer())
window.Render()
print(window.GetClassName())
"""

_LIBRARIES: Final[Mapping[str, str]] = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libXcursor.so.1": "libxcursor1",
}
"""System libraries that VTK opens on Linux, and the Debian packages that hold them."""

_DRIVER_FOLDERS: Final = ("/usr/lib", "/usr/local/lib", "/usr/lib64")
_DRIVER_PACKAGE: Final = "libgl1-mesa-dri"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What came of drawing in a child process.

    Attributes
    ----------
    window_class : str
        VTK's class of window; empty where the drawing failed.
    ending : str
        How the child process ended, in words; empty where it went well.
    """

    window_class: str
    ending: str

    @property
    def is_off_screen_only(self) -> bool:
        """Whether such a window can never be seen."""
        return self.window_class in {"vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"}


class RunningTrial:
    """A trial under way, so that other work can be done meanwhile."""

    def __init__(
        self,
        environment: Mapping[str, str],
        *,
        command: Sequence[str] = (sys.executable, "-c", _TRIAL),
    ) -> None:
        self._child = subprocess.Popen(
            command,
            env={**os.environ, **environment},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def result(self) -> Trial:
        """Wait for the trial's end and return what came of it."""
        try:
            printed, errors = self._child.communicate(timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            self._child.kill()
            self._child.communicate()
            return Trial(window_class="", ending=f"no end after {PATIENCE:.0f} s")
        words = printed.split()
        if self._child.returncode == 0 and words:
            return Trial(window_class=words[-1], ending="")
        return Trial(window_class="", ending=_ending(self._child.returncode, errors))


def _ending(status: int, errors: str) -> str:
    if status < 0:
        return f"it was ended by signal {-status}"
    last = errors.strip().rsplit("\n", 1)[-1]
    return f"status {status}: {last}" if last else f"status {status}"


def is_linux() -> bool:
    """Return whether this is Linux, where graphics libraries come one by one."""
    return sys.platform.startswith("linux")


def missing_packages() -> tuple[str, ...]:
    """Return the Debian packages whose graphics libraries cannot be opened here."""
    missing = []
    for library, package in _LIBRARIES.items():
        try:
            ctypes.CDLL(library)
        except OSError:
            missing.append(package)
    if not any(_has_driver(Path(folder)) for folder in _DRIVER_FOLDERS):
        missing.append(_DRIVER_PACKAGE)
    return tuple(missing)


def _has_driver(folder: Path) -> bool:
    """Return whether Mesa's drivers lie in a folder or one level below."""
    patterns = (
        "libgallium*.so*",
        "dri/*_dri.so",
        "*/libgallium*.so*",
        "*/dri/*_dri.so",
    )
    return any(next(folder.glob(pattern), None) for pattern in patterns)


def cannot_draw(trial: Trial) -> MissingExtraError:
    """Return the error that says why nothing can be drawn, and what would help."""
    reason = f"3D drawing does not work on this machine: {trial.ending}."
    if not is_linux():
        return MissingExtraError(f"{reason} Are the graphics drivers installed?")
    missing = missing_packages()
    named = missing or (*_LIBRARIES.values(), _DRIVER_PACKAGE)
    found = (
        f"Missing: {', '.join(missing)}."
        if missing
        else "The graphics libraries are there, but do not work together."
    )
    return MissingExtraError(
        f"{reason} {found} On Debian or Ubuntu this helps:\n"
        f"  apt-get install -y {' '.join(named)}"
    )


def demand_display() -> None:
    """Raise where a window could not be seen by anyone.

    Raises
    ------
    LoopsolverError
        On Linux without an X or Wayland display. Elsewhere there always is one.
    """
    names = ("DISPLAY", "WAYLAND_DISPLAY")
    if is_linux() and not any(os.environ.get(name) for name in names):
        msg = (
            "there is no display to open a window on (neither DISPLAY nor "
            "WAYLAND_DISPLAY is set); write a picture instead: --screenshot FILE.png"
        )
        raise LoopsolverError(msg)


def demand_window(trial: Trial) -> None:
    """Raise where a window cannot be drawn or would not be seen.

    Raises
    ------
    MissingExtraError
        If the graphics libraries are missing.
    LoopsolverError
        If they draw, but the display cannot be reached.
    """
    if trial.ending:
        raise cannot_draw(trial)
    if trial.is_off_screen_only:
        display = os.environ.get("DISPLAY", "")
        what = (
            f"the display {display!r} cannot be reached" if display else "no X display"
        )
        msg = (
            f"{what}, so no window can be opened (under Wayland, XWayland is needed); "
            "write a picture instead: --screenshot FILE.png"
        )
        raise LoopsolverError(msg)


@cache
def off_screen_environment() -> Mapping[str, str]:
    """Return the environment in which pictures can be drawn without a window.

    Found out once for the whole process.

    Raises
    ------
    MissingExtraError
        If they cannot; the message names the packages that would help.
    """
    if is_linux() and _has_window_of_its_own():
        return OFF_SCREEN
    trial = RunningTrial({}).result()
    if trial.ending:
        raise cannot_draw(trial)
    return {}


def _has_window_of_its_own() -> bool:
    """Return whether VTK has a window that needs no display.

    It is made here, not drawn: VTK opens its libraries and asks the driver for OpenGL
    as it makes one, and makes one of another kind where that fails.
    """
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - registers VTK's makers
    from vtkmodules.vtkCommonCore import vtkObject
    from vtkmodules.vtkRenderingCore import vtkRenderWindow

    is_told = vtkObject.GetGlobalWarningDisplay()
    vtkObject.GlobalWarningDisplayOff()
    try:
        with environment(OFF_SCREEN):
            made: str = vtkRenderWindow().GetClassName()
    finally:
        vtkObject.SetGlobalWarningDisplay(is_told)
    return made == OFF_SCREEN[WINDOW_CLASS]


@contextmanager
def environment(changes: Mapping[str, str]) -> Iterator[None]:
    """Set environment variables for a while, and put the former ones back."""
    before = {name: os.environ.get(name) for name in changes}
    os.environ.update(changes)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
