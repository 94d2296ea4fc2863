"""The tube as it is bought, its former, and its material: heat, radius, usual trim."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

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
    grip : float or None
        Straight that a bender's clip or a hand needs beside a bend; None: not asked.
    """

    material: Material
    outer_diameter: float
    inner_diameter: float
    bend_radii: tuple[float, ...]
    stock_length: float
    trim_allowance: float
    grip: float | None = None

    @property
    def radius(self) -> float:
        """Outer radius [mm]."""
        return self.outer_diameter / 2.0

    @property
    def is_bent_hot(self) -> bool:
        """Whether it is softened by heat to be bent."""
        return MATERIAL_FACTS[self.material].forming_c is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialFacts:
    """What the bench has to know of a material. Temperatures in degrees Celsius.

    Attributes
    ----------
    forming_c : tuple of two floats, or None
        From where to where it is soft enough to bend; None for what is bent cold.
    stop_c : float or None
        Above this it gives off harmful vapour or degrades: stop and ventilate; None
        where no figure was found.
    trim_allowance : float
        Usually left over at each end until the bends are done [mm]: hot tube is held
        there, where it stays cold. Common practice, no source.
    least_radius_diameters : float
        Tightest centre-line radius worth trying, in outer diameters.
    warmest_c : float or None
        How warm it may be all the time; None for what no coolant harms.
    source, warmest_source : str
        Where the figures come from, and where `warmest_c` does.
    """

    forming_c: tuple[float, float] | None
    stop_c: float | None
    trim_allowance: float
    least_radius_diameters: float
    source: str
    warmest_c: float | None = None
    warmest_source: str = ""


COLD_HOLD: Final = 40.0
"""What must stay cold at an end of a heated tube, to hold it by [mm].

About the breadth of three fingers in a glove. Common practice, no source.
"""

MATERIAL_FACTS: Final[dict[Material, MaterialFacts]] = {
    "acrylic": MaterialFacts(
        forming_c=(150.0, 160.0),
        stop_c=177.0,
        trim_allowance=COLD_HOLD,
        least_radius_diameters=1.5,
        source=(
            "forming: an acrylic sheet maker's data; stop: an acrylic sheet maker's "
            "fabrication manual (350 F); radius: common practice, no source"
        ),
        warmest_c=70.0,
        warmest_source="sheet makers' data: extruded 70 °C, cast 80 °C",
    ),
    "petg": MaterialFacts(
        forming_c=(120.0, 160.0),
        stop_c=None,
        trim_allowance=COLD_HOLD,
        least_radius_diameters=1.5,
        source=(
            "forming: a PETG sheet supplier's data; radius: common practice, no source"
        ),
        warmest_c=60.0,
        warmest_source="sheet suppliers' data: it gives under load from 60 to 71 °C",
    ),
    "copper": MaterialFacts(
        forming_c=None,
        stop_c=None,
        trim_allowance=30.0,
        least_radius_diameters=1.5,
        source="radius: US Navy, NAVEDTRA 14119 Hull Maintenance Technician, p. 16-11",
    ),
}
"""First figures for each material; the maker's data for the tube at hand go before."""
