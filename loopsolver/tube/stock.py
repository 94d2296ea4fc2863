"""The tube as it is bought, and the former it is bent round."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Material = Literal["acrylic", "petg", "copper"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """Tube stock. Lengths in millimetres.

    Attributes
    ----------
    bend_radii : tuple of float
        Centre-line radii of the formers at hand; a run is bent round one of them.
    trim_allowance : float
        Length left over at each end until the bends are done.
    """

    material: Material
    outer_diameter: float
    inner_diameter: float
    bend_radii: tuple[float, ...]
    stock_length: float
    trim_allowance: float

    @property
    def radius(self) -> float:
        """Outer radius [mm]."""
        return self.outer_diameter / 2.0
