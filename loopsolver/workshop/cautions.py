"""What can hurt at the bench, in the words that the sheets print.

Own words, after the named bodies' advice; a usual caution, no safety instruction.
"""

from __future__ import annotations

from loopsolver.tube.stock import Material
from loopsolver.workshop.bench_figures import stop_words

Caution = tuple[str, str]
"""One danger: its name, and what to do about it."""

DEFERENCE: Caution = (
    "First of all",
    "Local rules, and the data of the makers of tube, tool, fittings and liquid, "
    "go before anything on this sheet.",
)

HOT_AIR: Caution = (
    # After university and industrial-hygiene safety notes on heat guns.
    "Hot air",
    "A heat gun can blow air of about 650 °C with no flame to be seen. Nothing "
    "that burns and no solvent near it; never leave it running; let it cool on its "
    "stand. Hot tube sticks and stays hot: gloves.",
)

STEAM: Caution = (
    # After US Navy, NAVEDTRA 14251, hot bends: a plug needs a vent hole.
    "Steam",
    "Water shut in a heated tube turns to steam and throws out what plugs it. Both "
    "ends open, pointing away from everybody.",
)

CUTTING: Caution = (
    # After OSHA 1910.1000 and 1910.242(b) on dust and blowing clean.
    "Cutting and dust",
    "Clamp the tube, wear glasses, mind fresh edges. Sand wet or with extraction, "
    "and do not blow dust about with compressed air.",
)

LEAK_TEST: Caution = (
    # After HSE HSG85 (work dead) and HSE GS4, Washington L&I 1990 (gas in plastic).
    "Leak test",
    "With the computer's mains plug out, the pump alone fed from elsewhere; dry "
    "everything before power comes on. Compressed air in plastic tube can burst "
    "it into shards: little pressure, regulated, glasses on, and let it off "
    "before you touch anything.",
)

COPPER_WORK: Caution = (
    "Edges, force, flame",
    "Cut copper is sharp: gloves until it is deburred. Stand so that a slipping "
    "bender hits nobody. Annealed copper looks cold long before it is; open flame "
    "only where rules allow it, with water at hand.",
)


def cautions(material: Material) -> tuple[Caution, ...]:
    """Return the cautions for the work on tube of a material, the first one first."""
    return (DEFERENCE, *bending_cautions(material), CUTTING, LEAK_TEST)


def bending_cautions(material: Material) -> tuple[Caution, ...]:
    """Return the cautions for bending tube of a material."""
    if material == "copper":
        return (COPPER_WORK,)
    return (HOT_AIR, STEAM, _fumes(material))


def cutting_cautions(material: Material) -> tuple[Caution, ...]:
    """Return the cautions for a straight tube, which is cut and not bent."""
    if material == "copper":
        return cautions(material)
    return (DEFERENCE, CUTTING, LEAK_TEST)


def _fumes(material: Material) -> Caution:
    """Return what overheated plastic gives off."""
    limit = stop_words(material)
    if not limit:
        return (
            "Fumes",
            "Overheated plastic gives off harmful fumes: fresh air, and stop when "
            "it bubbles or smokes.",
        )
    return (
        # After an acrylic sheet maker's fabrication manual and NIOSH IDLH 80-62-6.
        "Fumes",
        f"Above about {limit} acrylic gives off much monomer vapour, which harms "
        "and can burn: fresh air, less heat, and stop when it bubbles or smokes.",
    )
