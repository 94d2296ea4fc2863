"""The files of jigs: one to print in 3D for each, and a sheet of what they are for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from loopsolver.drafting.blocks import (
    TITLE,
    Block,
    beside,
    drawing_block,
    flowed,
    heading,
    paragraph,
    space,
    stacked,
    titled,
)
from loopsolver.drafting.drawing import Drawing, Face
from loopsolver.drafting.lettering import broken
from loopsolver.drafting.paging import (
    Foot,
    Paper,
    bound,
    pages_of_extracts,
    room,
    whole_drawing,
)
from loopsolver.drafting.writers.pdf import pdf_document
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.scene.model import Scene
from loopsolver.workshop.jigs.cradle import LEAST_WALL, WALL
from loopsolver.workshop.jigs.part_picture import part_picture
from loopsolver.workshop.jigs.parts import SOFTENS, Jig, Printer, former_caution
from loopsolver.workshop.jigs.shell import Shell
from loopsolver.workshop.layers import Layers
from loopsolver.workshop.sheets import JIGS, SheetFile

_PICTURE: Final = (58.0, 42.0)  # of a part [mm]
_BESIDE: Final = 6.0  # between picture and words [mm]


def jig_files(
    scene: Scene,
    jigs: Sequence[Jig],
    *,
    printer: Printer,
    paper: Paper,
    belongs: str,
) -> tuple[SheetFile, ...]:
    """Return the sheet of some jigs, and each of them to be printed in 3D.

    Parameters
    ----------
    belongs : str
        To which plan or scene they belong, in words.
    """
    low, high = room(paper.sizes[0])
    width, height = high[0] - low[0], high[1] - low[1]
    blocks = tuple(_blocks(scene, jigs, printer, width))
    foot = Foot(
        what="Jigs to print in 3D",
        lines=(scene.title, "The pictures are not at true size."),
        units=scene.units,
        belongs=belongs,
    )
    extracts = [
        whole_drawing(drawing) for drawing in flowed(blocks, width=width, height=height)
    ]
    pages = bound(pages_of_extracts(extracts, size=paper.sizes[0], foot=foot))
    content = pdf_document(pages, title=f"{scene.title}: jigs to print in 3D")
    return (
        SheetFile(name=f"{JIGS}.pdf", content=content, pages=len(pages)),
        *(SheetFile(name=f"{one.stem}.stl", content=stl(one.shell)) for one in jigs),
    )


def stl(shell: Shell) -> bytes:
    """Return a part as a binary STL file, its lengths in millimetres."""
    from trimesh import Trimesh
    from trimesh.exchange.stl import export_stl

    mesh = Trimesh(vertices=shell.vertices, faces=shell.triangles, process=False)
    content: bytes = export_stl(mesh)
    return content


def _blocks(
    scene: Scene, jigs: Sequence[Jig], printer: Printer, width: float
) -> Iterator[Block]:
    """Yield the sheet from its title down."""
    lengths = lengths_for(scene.units)
    lines = broken(scene.title, width=width, size=TITLE, face=Face.STRONG)[:2]
    yield titled(
        lines, "Jigs to print in 3D", width=width, layer=Layers.TURN, below=12.0
    )
    if any(SOFTENS in one.stem for one in jigs):
        yield paragraph(
            former_caution(scene.tube.material), width=width, face=Face.STRONG
        )
    yield paragraph(
        "Cradle, stop and stand are for cold tube: a freshly heated one softens common "
        "printing plastics and sticks to them.",
        width=width,
        face=Face.STRONG,
    )
    yield paragraph(
        "STL files hold millimetres. Print the parts as they lie, the flat side down: "
        f"nothing needs support. Walls are {lengths.brief(WALL)} thick, nowhere less "
        f"than {lengths.brief(LEAST_WALL)}. Print the chamfer stop first and try the "
        "tube in its guide: where that is tight or loose, give another --play (now "
        f"{lengths.brief(printer.play)}).",
        width=width,
        below=3.0,
    )
    for one in jigs:
        yield _part(one, lengths, width)


def _part(jig: Jig, lengths: Lengths, width: float) -> Block:
    """Return what is said of one part, beside its picture."""
    at = _PICTURE[0] + _BESIDE
    size = " x ".join(lengths.short(one) for one in jig.shell.size)
    times = f", print {jig.count}" if jig.count > 1 else ""
    picture = part_picture(jig.shell, width=_PICTURE[0], height=_PICTURE[1])
    shown = Drawing(entities=(picture,), low=(0.0, 0.0), high=_PICTURE)
    told = stacked(
        [
            paragraph(f"{jig.stem}.stl", width=width - at, face=Face.STRONG),
            *(
                paragraph(one, width=width - at)
                for one in (f"{size} {lengths.unit}{times}", *jig.says)
            ),
        ]
    )
    head = heading(jig.title, width=width)
    return stacked([head, beside(drawing_block(shown), told, at=at), space(3.0)])
