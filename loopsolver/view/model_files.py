"""GLB and STL files of a plan: its tubes and its scene, for other programs to open."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, count, product
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np

from loopsolver.errors import OutputError
from loopsolver.files import SUM_PLACE, check_own, sealed, write_whole
from loopsolver.geometry.solids import (
    Box,
    Cylinder,
    HalfSpace,
    Mesh,
    Solid,
    placed_vertices,
)
from loopsolver.geometry.vectors import point
from loopsolver.plan import Plan, PlannedRun
from loopsolver.scene.model import Scene
from loopsolver.tube.centreline import Centreline
from loopsolver.tube.tube_mesh import TubeMesh, tube_mesh
from loopsolver.view import palette
from loopsolver.view.ends import run_ends
from loopsolver.view.palette import Colour

if TYPE_CHECKING:
    import trimesh

Part = Literal["tubes", "scene"]
"""What may be written alone."""

BOTH_PARTS: Final[tuple[Part, ...]] = ("tubes", "scene")

ENDINGS: Final = (".glb", ".stl")
"""How the names of such files end."""

METRE: Final = 1000.0
"""The unit of GLB files (glTF 2.0, 3.4) [mm]."""

BODY_OPACITY: Final = 0.35
KEEP_OUT_OPACITY: Final = 0.12


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """One thing to write, by its name: its surface [mm, case frame], and how it looks."""

    name: str
    mesh: TubeMesh
    colour: Colour
    opacity: float = 1.0


def models(
    plan: Plan, runs: Sequence[PlannedRun], *, parts: Sequence[Part] = BOTH_PARTS
) -> tuple[Model, ...]:
    """Return the tubes in place of some runs, and what stands in the plan's scene.

    Tubes are solid rods of the outer diameter under the names of their runs. Of the
    scene there are the fittings of these tubes, all bodies, and the keep-outs.

    Parameters
    ----------
    plan : Plan
    runs : sequence of PlannedRun
        Of the plan.
    parts : sequence of Part
    """
    found = {"tubes": _tubes, "scene": _scene}
    taken: dict[str, Model] = {}
    for one in chain.from_iterable(found[part](plan.scene, runs) for part in parts):
        name = _free_name(one.name, taken)
        taken[name] = replace(one, name=name)
    return tuple(taken.values())


def _free_name(name: str, taken: Container[str]) -> str:
    """Return a name, or with a number after it where it is taken."""
    others = (f"{name} ({number})" for number in count(2))
    return next(one for one in chain([name], others) if one not in taken)


def _tubes(scene: Scene, runs: Sequence[PlannedRun]) -> Iterator[Model]:
    for run in runs:
        if run.tube_in_place is not None:
            line = run.tube_in_place.centreline
            yield Model(
                name=run.name,
                mesh=tube_mesh(line, radius=scene.tube.radius),
                colour=palette.STRAIGHT,
            )


def _scene(scene: Scene, runs: Sequence[PlannedRun]) -> Iterator[Model]:
    fittings = {
        f"fitting on {end.port.name}": end.fitting
        for run in runs
        for end in chain(*run_ends(scene, run, run.tube_in_place))
    }
    for name, solids in fittings.items():
        for solid in solids:
            yield Model(name=name, mesh=_mesh_of(solid), colour=palette.FITTING)
    for place, part in enumerate(scene.components):
        for body in part.bodies:
            yield Model(
                name=body.name,
                mesh=_mesh_of(body.solid),
                colour=palette.BODIES[place % len(palette.BODIES)],
                opacity=BODY_OPACITY,
            )
    for body in scene.keep_outs:
        yield Model(
            name=body.name,
            mesh=_mesh_of(body.solid),
            colour=palette.KEEP_OUT,
            opacity=KEEP_OUT_OPACITY,
        )


def _mesh_of(solid: Solid) -> TubeMesh:
    """Return the surface of a solid; of a half space, which has no end, nothing."""
    match solid:
        case Box():
            half = 0.5 * np.asarray(solid.size)
            corners = np.array(list(product((-1.0, 1.0), repeat=3))) * half
            placed = np.asarray(solid.frame.origin) + corners @ solid.frame.rotation.T
            return TubeMesh(placed, np.array(_BOX_FACES))
        case Cylinder():
            along = 0.5 * solid.height * np.asarray(solid.frame.axes[2])
            middle = np.asarray(solid.frame.origin)
            axis = Centreline(
                vertices=(point(middle - along), point(middle + along)), radius=1.0
            )
            return tube_mesh(axis, radius=0.5 * solid.diameter)
        case Mesh():
            return TubeMesh(placed_vertices(solid), solid.shape.faces)
        case HalfSpace():
            return TubeMesh(np.empty((0, 3)), np.empty((0, 3), dtype=np.intp))


_BOX_FACES: Final = (
    *((0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5)),
    *((0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6)),
    *((0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)),
)
"""Triangles of a box, looking outwards; of its corners z changes fastest."""


# ------------------------------------------------------------------------------ files


def write_models(
    found: Sequence[Model],
    path: Path,
    *,
    scene: Scene,
    read: Sequence[Path] = (),
    force: bool = False,
) -> None:
    """Write models as the GLB or STL file that the name's ending asks for.

    Parameters
    ----------
    found : sequence of Model
    path : Path
    scene : Scene
        Says what is up: a GLB file has +Y there.
    read : sequence of Path
        Files that are never written over.
    force : bool
        Write over a file that is not as loopsolver wrote it.

    Raises
    ------
    OutputError
        If the name has none of the endings of `ENDINGS`, or the file must not or cannot
        be written.
    """
    check_models_place(path, read=read, force=force)
    ending = path.suffix.lower()
    data = stl_bytes(found) if ending == ".stl" else glb_bytes(found, scene)
    write_whole(path, sealed(data, ending=ending))


def check_models_place(path: Path, *, read: Sequence[Path], force: bool) -> None:
    """Raise where a file of models must not or cannot be put.

    Raises
    ------
    OutputError
        As `write_models` does.
    """
    if path.suffix.lower() not in ENDINGS:
        msg = (
            f"{path}: found a name that ends in {path.suffix or 'nothing'!r}; wanted "
            f"{' or '.join(ENDINGS)}"
        )
        raise OutputError(msg)
    check_own(path, ending=path.suffix.lower(), read=read, force=force)


def file_unit_words(path: Path) -> str:
    """Return in what unit the file of that name is, and what is up in it."""
    if path.suffix.lower() == ".stl":
        return "in mm, which the file itself cannot say: say so to what opens it"
    return "in metres, as its standard has it, +Y up"


def stl_bytes(found: Sequence[Model]) -> bytes:
    """Return models as one binary STL file, in millimetres, which its header says.

    STL itself knows no unit.
    """
    import trimesh

    whole: Any = trimesh.util.concatenate([_trimesh(one) for one in found])
    data: bytes = whole.export(file_type="stl")
    header = b"loopsolver mm " + SUM_PLACE
    return header.ljust(_STL_HEADER) + data[_STL_HEADER:]


_STL_HEADER: Final = 80
"""Bytes that a binary STL file begins with and no reader heeds."""


def glb_bytes(found: Sequence[Model], scene: Scene) -> bytes:
    """Return models as a GLB file, a node each under its own name.

    As the standard has it: in metres, +Y up, and the case's front looks along +Z.

    References
    ----------
    Khronos Group, glTF 2.0 specification, 3.4, coordinate system and units.
    """
    import trimesh

    sides = scene.sides
    standing = np.eye(4)
    axes = np.array([sides.right, sides.up, np.negative(sides.away)])
    standing[:3, :3] = axes / METRE
    whole = trimesh.Scene()
    for one in found:
        mesh = _trimesh(one)
        mesh.apply_transform(standing)
        whole.add_geometry(mesh, node_name=one.name, geom_name=one.name)

    def marked(tree: dict[str, Any]) -> None:
        tree["asset"]["generator"] = "loopsolver"
        tree["asset"]["extras"] = {"loopsolver": SUM_PLACE.decode()}

    exchange: Any = trimesh.exchange.gltf
    data: bytes = exchange.export_glb(whole, tree_postprocessor=marked)
    return data


def _trimesh(model: Model) -> trimesh.Trimesh:
    """Return a model with its colour, as trimesh has it."""
    import trimesh

    *colour, alpha = (*palette.as_fractions(model.colour), model.opacity)
    looks: Any = trimesh.visual
    material = looks.material.PBRMaterial(
        baseColorFactor=[*colour, alpha],
        metallicFactor=0.0,
        roughnessFactor=0.6,
        alphaMode="OPAQUE" if alpha == 1.0 else "BLEND",
    )
    return trimesh.Trimesh(
        vertices=model.mesh.vertices,
        faces=model.mesh.faces,
        visual=looks.TextureVisuals(material=material),
        process=False,
    )
