"""What the bend table of a tube becomes when it is read from the other end."""

from loopsolver.tube.bend_table import Bend, BendTable


def reversed_table(table: BendTable) -> BendTable:
    """The lists in reverse; rotations keep their signs, from either end alike.

    A right-handed turn is right-handed whoever looks along it. The first row's rotation
    says how the tube is held, and is 0.
    """
    back = table.bends[::-1]
    rotations = (0.0, *(bend.rotation_deg for bend in back[:-1]))
    straights = table.straights[::-1]
    rows = zip(straights[:-1], rotations, back, strict=False)
    return BendTable(
        bends=tuple(
            Bend(straight=straight, rotation_deg=rotation, angle_deg=bend.angle_deg)
            for straight, rotation, bend in rows
        ),
        closing_straight=straights[-1],
        radius=table.radius,
    )
