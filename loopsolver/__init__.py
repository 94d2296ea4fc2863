"""loopsolver: from a measured case to rigid tubes that fit.

The public names are imported when they are first used, so that ``import loopsolver``
stays light.
"""

from __future__ import annotations

TYPE_CHECKING = False  # typing itself is left for later

if TYPE_CHECKING:
    from loopsolver.errors import (
        Fault,
        GeometryError,
        LoopsolverError,
        MissingExtraError,
        OutputError,
        PlanError,
        SceneError,
    )
    from loopsolver.plan import Plan
    from loopsolver.report.planning import route_scene
    from loopsolver.scene.reader import load_scene

__version__ = "0.1.0"

__all__ = [
    "Fault",
    "GeometryError",
    "LoopsolverError",
    "MissingExtraError",
    "OutputError",
    "Plan",
    "PlanError",
    "SceneError",
    "__version__",
    "load_scene",
    "route_scene",
]

_HOMES = {
    "Plan": "loopsolver.plan",
    "load_scene": "loopsolver.scene.reader",
    "route_scene": "loopsolver.report.planning",
}
"""Where the public names stand that are no errors."""


def __getattr__(name: str) -> object:
    if name in __all__:
        import importlib

        home = _HOMES.get(name, "loopsolver.errors")
        return getattr(importlib.import_module(home), name)
    msg = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(msg)


def __dir__() -> list[str]:
    return sorted(__all__)
