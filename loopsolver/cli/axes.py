"""Which way a scene's axes are taken: as data, and told where it does not say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from loopsolver.cli.output import tell

if TYPE_CHECKING:
    from loopsolver.scene.model import Scene


def axes_document(scene: Scene) -> dict[str, Any]:
    """Return where x, y and z point; null where they lie askew to a leaning up."""
    from loopsolver.scene.doubts import axes_doubts

    taken = scene.axes_taken
    return {
        "axes": None if taken is None else list(taken),
        "axes_stated": scene.axes is not None,
        "axes_doubt": next((doubt.message for doubt in axes_doubts(scene)), None),
        "right": list(scene.sides.right),
        "away": list(scene.sides.away),
        "up": list(scene.sides.up),
    }


def tell_axes_left_out(scene: Scene) -> None:
    """Tell which way the axes are taken where the scene does not say."""
    from loopsolver.scene.doubts import axes_doubts

    for doubt in axes_doubts(scene):
        tell(f"{doubt}.")
