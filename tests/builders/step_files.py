"""STEP files of boxes and balls, written entity by entity, in any unit of length."""

from __future__ import annotations

import itertools
from typing import Final

_PREFIXES: Final = {"mm": ".MILLI.", "cm": ".CENTI.", "m": "$"}
_HEAD: Final = (
    "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
    "FILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN'));\n"
    "ENDSEC;\nDATA;\n"
)


class _Entities:
    """The entities of a file so far, numbered from 1."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, text: str) -> str:
        self.lines.append(text)
        return f"#{len(self.lines)}"

    def text(self) -> str:
        numbered = (f"#{n}={line};\n" for n, line in enumerate(self.lines, start=1))
        return f"{_HEAD}{''.join(numbered)}ENDSEC;\nEND-ISO-10303-21;\n"


def step_box(size: tuple[float, float, float], *, unit: str) -> str:
    """A box with a corner at the origin; its sizes in mm, the file's in its unit."""
    per = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}[unit]
    file = _Entities()
    context = _context(file, unit)
    corners = [
        [one * k / per for one, k in zip(size, place, strict=True)]
        for place in itertools.product((0, 1), repeat=3)
    ]
    points = [file.add(f"CARTESIAN_POINT('',{_listed(one)})") for one in corners]
    faces = [_face(file, points, axis, side) for axis in range(3) for side in (0, 1)]
    shell = file.add(f"CLOSED_SHELL('',({','.join(faces)}))")
    brep = file.add(f"FACETED_BREP('',{shell})")
    shape = file.add(f"FACETED_BREP_SHAPE_REPRESENTATION('',({brep}),{context})")
    _product(file, shape)
    return file.text()


def step_ball(radius: float) -> str:
    """A ball about the origin, of a radius in mm: the less curved, the more triangles."""
    file = _Entities()
    context = _context(file, "mm")
    middle = file.add(f"CARTESIAN_POINT('',{_listed([0, 0, 0])})")
    z = file.add(f"DIRECTION('',{_listed([0, 0, 1])})")
    x = file.add(f"DIRECTION('',{_listed([1, 0, 0])})")
    frame = file.add(f"AXIS2_PLACEMENT_3D('',{middle},{z},{x})")
    round_one = file.add(f"SPHERICAL_SURFACE('',{frame},{float(radius)})")
    low = file.add(f"CARTESIAN_POINT('',{_listed([0, 0, -radius])})")
    pole = file.add(f"VERTEX_POINT('',{low})")
    loop = file.add(f"VERTEX_LOOP('',{pole})")
    bound = file.add(f"FACE_BOUND('',{loop},.T.)")
    face = file.add(f"ADVANCED_FACE('',({bound}),{round_one},.T.)")
    shell = file.add(f"CLOSED_SHELL('',({face}))")
    brep = file.add(f"MANIFOLD_SOLID_BREP('',{shell})")
    shape = file.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({brep}),{context})")
    _product(file, shape)
    return file.text()


def _listed(values: list[float]) -> str:
    return f"({','.join(map(repr, map(float, values)))})"


def _context(file: _Entities, unit: str) -> str:
    if unit == "in":
        mm = file.add("( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) )")
        exponents = file.add("DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)")
        inch = file.add(f"LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),{mm})")
        length = file.add(
            f"( CONVERSION_BASED_UNIT('INCH',{inch}) LENGTH_UNIT() "
            f"NAMED_UNIT({exponents}) )"
        )
    else:
        prefix = _PREFIXES[unit]
        length = file.add(f"( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT({prefix},.METRE.) )")
    angle = file.add("( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) )")
    solid = file.add("( NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT() )")
    return file.add(
        "( GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNIT_ASSIGNED_CONTEXT("
        f"({length},{angle},{solid})) REPRESENTATION_CONTEXT('','3D') )"
    )


def _face(file: _Entities, points: list[str], axis: int, side: int) -> str:
    """A face of the box, square to an axis, at its low or its high end."""
    u, v = (axis + 1) % 3, (axis + 2) % 3
    loop = []
    for a, b in ((0, 0), (1, 0), (1, 1), (0, 1)):
        place = [side, side, side]
        place[u], place[v] = a, b
        loop.append(points[place[0] * 4 + place[1] * 2 + place[2]])
    if not side:
        loop.reverse()
    normal, across = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    normal[axis], across[u] = 2.0 * side - 1.0, 1.0
    ring = file.add(f"POLY_LOOP('',({','.join(loop)}))")
    bound = file.add(f"FACE_OUTER_BOUND('',{ring},.T.)")
    z = file.add(f"DIRECTION('',{_listed(normal)})")
    x = file.add(f"DIRECTION('',{_listed(across)})")
    frame = file.add(f"AXIS2_PLACEMENT_3D('',{loop[0]},{z},{x})")
    plane = file.add(f"PLANE('',{frame})")
    return file.add(f"FACE_SURFACE('',({bound}),{plane},.T.)")


def _product(file: _Entities, shape: str) -> None:
    design = file.add("APPLICATION_CONTEXT('automotive design')")
    context = file.add(f"PRODUCT_CONTEXT('',{design},'mechanical')")
    product = file.add(f"PRODUCT('part','part','',({context}))")
    formed = file.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    stage = file.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{design},'design')")
    defined = file.add(f"PRODUCT_DEFINITION('design','',{formed},{stage})")
    shaped = file.add(f"PRODUCT_DEFINITION_SHAPE('','',{defined})")
    file.add(f"SHAPE_DEFINITION_REPRESENTATION({shaped},{shape})")
