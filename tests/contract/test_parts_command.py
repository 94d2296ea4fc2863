"""``loopsolver parts``: the shelf and its parts, as text and as JSON."""

from __future__ import annotations

import json

import jsonschema
import pytest

from loopsolver.cli.main import main
from loopsolver.report.part_drawing import part_drawing
from loopsolver.scene.schema import SceneFile
from loopsolver.shelf.catalogue import KIND_NAMES, part_kind
from loopsolver.shelf.parts import PartOrder, part_of

SIZES = [(name, size) for name in KIND_NAMES for size in part_kind(name).sizes]


def said(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(["parts", *argv]) == 0
    return capsys.readouterr().out


def test_the_shelf_is_listed_with_every_kind_and_size(capsys):
    told = said(capsys)
    for name in KIND_NAMES:
        kind = part_kind(name)
        assert f"{name}: {kind.told}" in told
        assert all(size in told for size in kind.sizes)
    listed = json.loads(said(capsys, "--json"))
    assert [each["name"] for each in listed] == list(KIND_NAMES)
    assert listed[0]["sizes"] == ["ATX", "microATX", "Mini-ITX"]


@pytest.mark.parametrize(("name", "size"), SIZES)
def test_each_part_is_told_with_sizes_points_and_sources(capsys, name, size):
    told = said(capsys, *filter(None, (name, size)))
    document = json.loads(said(capsys, *filter(None, (name, size)), "--json"))
    unwrapped = " ".join(told.split())
    for dimension in document["dimensions"]:
        assert dimension["name"] in told
        assert f"{dimension['value']:g}" in told
        assert dimension["source"] in unwrapped
    for point in (*document["points"], *document["ports"]):
        assert point in told
    measured = [each for each in document["dimensions"] if each["measure"]]
    assert told.count("  measure  ") == len(measured)
    assert document["caution"] in unwrapped


def test_a_part_that_is_not_there_is_refused_with_those_there_are(capsys):
    for argv, words in (
        (["gyroscope"], ("'gyroscope'", "board", "port plate")),
        (["board", "BTX"], ("'BTX'", "ATX, microATX, Mini-ITX")),
        (["tank", "large"], ("'large'", "no sizes of it")),
        (["board", ""], ("''", "ATX")),
    ):
        assert main(["parts", *argv]) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert all(word in told.err for word in words)


# Read by eye: what a person who looks at an ATX board's component side sees, its rear edge
# with the sockets on the left: hole F at the top left, K at the bottom right, the sockets
# above the slots, slot 1 above slot 7.
def test_the_drawing_of_a_board_is_not_mirrored():
    kind = part_kind("board")
    part = part_of(PartOrder(kind=kind, size=kind.sizes["ATX"]))
    drawing = part_drawing(part.layout, seen=kind.seen, wide=60, high=26)

    def at(mark: str) -> tuple[int, int]:
        ((row, column),) = [
            (row, line.index(mark))
            for row, line in enumerate(drawing.lines)
            if mark in line
        ]
        return row, column

    (f_row, f_column), (k_row, k_column) = at("f"), at("k")
    assert f_row < k_row
    assert f_column < k_column
    assert at("1")[0] < at("7")[0]
    sockets = [row for row, line in enumerate(drawing.lines) if line.startswith("#")]
    assert sockets[0] == 0
    assert at("1")[0] > sockets[-1] - 2
    assert (drawing.right, drawing.up) == ("+y", "+z")


@pytest.mark.parametrize(("name", "size"), SIZES)
def test_drawings_fit_and_tell_every_port_and_point_apart(name, size):
    kind = part_kind(name)
    counts = {each.name: each.most for each in kind.counts.values()}
    layout = part_of(PartOrder(kind=kind, size=kind.sizes[size], counts=counts)).layout
    drawing = part_drawing(layout, seen=kind.seen, wide=60, high=26)
    assert len(drawing.lines) <= 26
    assert max(map(len, drawing.lines)) <= 60
    assert set(drawing.marks) == {*layout.points, *layout.ports}
    marks = [each for each in drawing.marks.values() if each != "#"]
    assert len(set(marks)) == len(marks)


@pytest.mark.parametrize(("name", "size"), SIZES)
def test_the_schema_takes_every_part_and_dimension(name, size):
    schema = SceneFile.model_json_schema()
    component = {**schema["$defs"]["ComponentTable"], "$defs": schema["$defs"]}
    kind = part_kind(name)
    keys = {each.name: each.value for each in kind.sizes[size].dimensions.values()}
    counts = {each.name: each.least for each in kind.counts.values()}
    asked = {"name": name, **({"size": size} if size else {}), **keys, **counts}
    jsonschema.validate({"position": [0, 0, 0], "part": asked}, component)
    wrong = {**asked, "tthickness": 3}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"position": [0, 0, 0], "part": wrong}, component)
