"""The commented scene that ``loopsolver new`` writes: a small build to start from."""

from __future__ import annotations

from importlib import resources
from typing import Final

STARTER: Final = (
    resources.files("loopsolver.scene")
    .joinpath("starter.toml")
    .read_text(encoding="utf-8")
)
"""The starter scene's text. It loads without a fault, is in no doubt, and has a route
for both of its tubes."""
