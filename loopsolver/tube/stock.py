"""The tube as it is bought, its former, and its material: heat, radius, usual trim."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from loopsolver.tube.springback import Springback

Material = Literal["acrylic", "petg", "copper"]

Made = Literal["extruded", "cast"]
"""How acrylic tube was made."""


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
    temperatures_c : pair of float, or None
        When it is built in, and at its warmest [°C]; None: not stated.
    made : Made
        Asked of acrylic alone.
    springback : Springback or None
        As its test bends say; None without any.
    take_up : float
        How much tube a bend takes up, as a share of its arc.
    """

    material: Material
    outer_diameter: float
    inner_diameter: float
    bend_radii: tuple[float, ...]
    stock_length: float
    trim_allowance: float
    grip: float | None = None
    temperatures_c: tuple[float, float] | None = None
    made: Made = "extruded"
    springback: Springback | None = None
    take_up: float = 1.0

    @property
    def radius(self) -> float:
        """Outer radius [mm]."""
        return self.outer_diameter / 2.0

    @property
    def is_bent_hot(self) -> bool:
        """Whether it is softened by heat to be bent."""
        return MATERIAL_FACTS[self.material].forming_c is not None

    @property
    def lasting_mpa(self) -> float | None:
        """What it bears all the time [MPa]; None where no source says."""
        return MATERIAL_FACTS[self.material].lasting_mpa.get(self.made)


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
    expansion_ppm : two floats
        How much it grows, least and most, in millionths of its length a degree [ppm/K].
    modulus_gpa : float or None
        Modulus of elasticity [GPa]; None where no source was found.
    lasting_mpa : mapping of Made
        Stress that it bears all the time [MPa]; empty where no source was found.
    heat_source, radius_source, expansion_source : str
    warmest_source, modulus_source, lasting_source : str
        Where the figures of those names come from.
    """

    forming_c: tuple[float, float] | None
    stop_c: float | None
    trim_allowance: float
    least_radius_diameters: float
    heat_source: str
    radius_source: str
    expansion_ppm: tuple[float, float]
    expansion_source: str
    warmest_c: float | None = None
    warmest_source: str = ""
    modulus_gpa: float | None = None
    modulus_source: str = ""
    lasting_mpa: Mapping[Made, float] = field(default_factory=dict)
    lasting_source: str = ""


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
        heat_source=(
            "an acrylic sheet maker's data; stop: an acrylic sheet maker's fabrication "
            "manual (350 F)"
        ),
        radius_source="common practice, no source",
        expansion_ppm=(68.0, 77.0),
        expansion_source="data sheets of acrylic sheet",
        warmest_c=70.0,
        warmest_source="sheet makers' data: extruded 70 °C, cast 80 °C",
        modulus_gpa=3.24,
        modulus_source="a machining shop's material data (470 000 psi)",
        lasting_mpa={"extruded": 5.2, "cast": 10.3},
        lasting_source=(
            "a plastics supplier's design stress for loads that stay: extruded 750 psi, "
            "cast 1 500 psi"
        ),
    ),
    "petg": MaterialFacts(
        forming_c=(120.0, 160.0),
        stop_c=None,
        trim_allowance=COLD_HOLD,
        least_radius_diameters=1.5,
        heat_source="a PETG sheet supplier's data",
        radius_source="common practice, no source",
        expansion_ppm=(68.0, 68.0),
        expansion_source="a data sheet of PETG, ASTM D696",
        warmest_c=60.0,
        warmest_source="sheet suppliers' data: it gives under load from 60 to 71 °C",
    ),
    "copper": MaterialFacts(
        forming_c=None,
        stop_c=None,
        trim_allowance=30.0,
        least_radius_diameters=1.5,
        heat_source="",
        radius_source="US Navy, NAVEDTRA 14119 Hull Maintenance Technician, p. 16-11",
        expansion_ppm=(16.0, 17.0),
        expansion_source="tables of metals",
    ),
}
"""First figures for each material; the maker's data for the tube at hand go before."""
