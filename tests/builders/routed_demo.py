"""A demonstration scene in a folder of its own, with its plan beside it."""

from __future__ import annotations

from pathlib import Path

from loopsolver.cli.main import main
from tests.commands import SCENES


def routed_demo(name: str, folder: Path) -> Path:
    """Put a demonstration scene and its plan into a folder, and return the folder."""
    scene = folder / f"{name}.toml"
    scene.write_bytes((SCENES / scene.name).read_bytes())
    assert main(["route", str(scene), "-o", str(folder / f"{name}.plan.json")]) == 0
    return folder
