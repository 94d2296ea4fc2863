"""Parts of the shelf: spreads that follow from the dimensions, what must be measured."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import loopsolver
from loopsolver.shelf.catalogue import KIND_NAMES, part_kind
from loopsolver.shelf.layouts import LAYOUTS
from loopsolver.shelf.parts import PartOrder, part_of

DATA = Path(loopsolver.__file__).parent / "shelf" / "data"
ROOT = Path(__file__).parents[3]


def order(name: str, size: str = "", **more: object) -> PartOrder:
    kind = part_kind(name)
    return PartOrder(kind=kind, size=kind.sizes[size], **more)  # type: ignore[arg-type]


def test_every_file_of_data_is_a_part_and_every_part_has_one():
    files = {path.stem for path in DATA.glob("*.toml")} - {"sources"}
    assert (
        files
        == {name.replace(" ", "-") for name in KIND_NAMES}
        == {name.replace(" ", "-") for name in LAYOUTS}
    )


def test_the_data_is_packed_with_the_package():
    packed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert (
        "shelf/data/*.toml"
        in packed["tool"]["setuptools"]["package-data"]["loopsolver"]
    )


@pytest.mark.parametrize(
    "path", sorted(DATA.glob("*.toml")), ids=lambda path: path.stem
)
def test_a_source_stands_beside_every_number(path):
    """Every line with a length in it names its source and how well that is known."""
    if path.stem == "sources":
        return
    sources = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))
    lines = [
        line
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.match(r"\S+ = \{ (mm|at) = ", line)
    ]
    assert lines
    for line in lines:
        ((_, entry),) = tomllib.loads(line).items()
        assert entry["source"] in sources, line
        assert entry["known"] in ("read", "quoted", "practice"), line
        assert (entry["source"] == "practice") == (entry["known"] == "practice"), line
        assert entry["known"] != "practice" or entry["measure"], line


def test_every_source_is_used():
    used = set()
    for path in DATA.glob("*.toml"):
        used |= set(re.findall(r'source = "([^"]+)"', path.read_text(encoding="utf-8")))
    assert used == set(
        tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))
    )


@pytest.mark.parametrize("name", KIND_NAMES)
def test_every_dimension_has_a_spread_and_can_be_overruled(name):
    kind = part_kind(name)
    for size in kind.sizes.values():
        for dimension in size.dimensions.values():
            assert dimension.origin.spread > 0.0
            assert dimension.of
            counts = {each.name: each.most for each in kind.counts.values()}
            asked = PartOrder(
                kind=kind,
                size=size,
                counts=counts,
                overruled={dimension.name: dimension.value + 1.0},
            )
            assert asked.sizes[dimension.name] == dimension.value + 1.0


# Standard dimensions lie 0.3 to 0.5 mm off, rules of thumb 5 mm (common practice, no
# source): the spreads that the shelf uses where a line has no other.
def test_spreads_are_those_of_standards_and_rules_of_thumb():
    board = order("board", "ATX").size.dimensions
    assert board["length"].origin.spread == 0.3
    assert board["card_edge"].origin.spread == 0.5
    assert order("block").size.dimensions["height"].origin.spread == 5.0


# By hand, JCGM 100:2008 equation 10: a radiator's port is at width / 2 - spacing / 2 and
# tank / 2; each of the three lies 5 mm off.
def test_the_spread_of_a_port_follows_from_its_dimensions():
    part = part_of(order("radiator", "120", counts={"fans": 2}))
    assert part.spreads["in"] == pytest.approx((50**0.5 / 2, 2.5, 0.0), abs=1e-12)
    # with the tank measured to 0.5 mm and the spacing too
    measured = {"tank": 22.0, "spacing": 40.0}
    part = part_of(order("radiator", "120", counts={"fans": 2}, overruled=measured))
    across = (2.5**2 + 0.25**2) ** 0.5
    assert part.spreads["in"] == pytest.approx((across, 0.25, 0.0), abs=1e-12)


# By hand: a slot's x is thickness (0.3) and card edge (0.5); y and z are quoted (0.5).
def test_the_spread_of_a_slot():
    part = part_of(order("board", "ATX"))
    expected = ((0.3**2 + 0.5**2) ** 0.5, 0.5, 0.5)
    assert part.spreads["slot_1"] == pytest.approx(expected, abs=1e-12)


def test_what_a_port_stands_on_is_named_until_it_is_measured():
    plain = part_of(order("radiator", "120", counts={"fans": 1}))
    assert plain.unmeasured["in"] == ("width", "tank", "spacing")
    measured = part_of(
        order("radiator", "120", counts={"fans": 1}, overruled={"tank": 24.0})
    )
    assert measured.unmeasured["in"] == ("width", "spacing")
