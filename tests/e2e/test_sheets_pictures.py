"""Rendered pictures on the bench sheets, where this machine can render them."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw
import pytest
from PIL import Image

from loopsolver.cli.main import main
from loopsolver.errors import MissingExtraError
from loopsolver.geometry.vectors import Array
from loopsolver.plan import Plan
from loopsolver.tube.centreline import sample
from loopsolver.view import window
from loopsolver.view.palette import BEND, STRAIGHT
from loopsolver.view.window import pictures_of_build
from tests.commands import SCENES
from tests.interleaved import Measured, in_turn


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("plans") / "heron.plan.json"
    assert main(["route", str(SCENES / "heron.toml"), "-o", str(path)]) == 0
    return path


def is_of_tube(pixels: Array) -> Array:
    """Return whether pixels (n, 3) have the strong colours of the run's tube.

    Of their hue, which shading leaves, and far from grey, as no body is.
    """
    strong = np.ptp(pixels, axis=1) > 60.0
    hue = pixels - pixels.mean(axis=1, keepdims=True)
    found = np.zeros(len(pixels))
    for colour in (STRAIGHT, BEND):
        other = np.array(colour, float) - np.mean(colour)
        lengths = np.linalg.norm(hue, axis=1) * np.linalg.norm(other)
        found = np.maximum(found, hue @ other / np.maximum(lengths, 1e-9))
    return (found > 0.9) & strong


def test_the_tube_is_where_the_projection_says(plan_file: Path) -> None:
    """Along its centre line the picture of a run has the colours of its tube."""
    plan = Plan.read(plan_file)
    names = [run.name for run in plan.runs]
    pictures = pictures_of_build(plan, runs=names, size=(460, 400))
    assert len(pictures) == len(names)
    for run, picture in zip(plan.runs, pictures, strict=True):
        pixels = np.array(Image.open(io.BytesIO(picture.png)).convert("RGB"), float)
        assert pixels.shape == (400, 460, 3)
        assert run.chosen_candidate is not None
        points = sample(run.chosen_candidate.centreline, spacing=4.0)
        flat = np.column_stack([points, np.ones(len(points))]) @ picture.projection.T
        x, y = (flat[:, :2] / flat[:, 3:4]).T
        # Half a pixel's worth beside the middle of the tube is still the tube.
        column = np.clip((x * 460.0).astype(int), 0, 459)
        row = np.clip((400.0 - y * 400.0).astype(int), 0, 399)
        # Fittings hide both ends, and other tubes may stand before some of it.
        on_it = is_of_tube(pixels[row, column]).mean()
        beside = is_of_tube(pixels[row, np.clip(column + 60, 0, 459)]).mean()
        assert on_it > 0.5, run.name
        assert beside < 0.3 * on_it, run.name


def images_on(path: Path) -> int:
    page = pypdfium2.PdfDocument(path)[0]
    kinds = [pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]
    return len(list(page.get_objects(filter=kinds)))


def test_pictures_stand_on_the_bench_sheets(plan_file: Path, tmp_path: Path) -> None:
    command = ["sheets", str(plan_file), "--run", "pump to meter", "--pictures"]
    for name in ("one", "two"):
        assert main([*command, "-o", str(tmp_path / name)]) == 0
    one, two = (tmp_path / name / "pump-to-meter.pdf" for name in ("one", "two"))
    assert images_on(one) == 1
    assert one.read_bytes() == two.read_bytes()


def test_without_rendering_the_views_are_drawn(
    plan_file: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fails(*_given: object, **_more: object) -> None:
        msg = "3D drawing does not work on this machine"
        raise MissingExtraError(msg)

    monkeypatch.setattr(window, "pictures_of_build", fails)
    command = ["sheets", str(plan_file), "--run", "pump to meter", "--pictures"]
    assert main([*command, "-o", str(tmp_path)]) == 0
    assert "drawn views instead: 3D drawing does not work" in capsys.readouterr().err
    assert images_on(tmp_path / "pump-to-meter.pdf") == 0


@pytest.mark.bench
def test_sheets_with_pictures_against_those_without(
    plan_file: Path, tmp_path: Path, measured: Measured
) -> None:
    """Rendering takes a few times as long as all the drawing, on a quiet machine."""
    command = ["sheets", str(plan_file), "-o"]

    def rendered() -> None:
        assert main([*command, str(tmp_path / "rendered"), "--pictures"]) == 0

    def drawn() -> None:
        assert main([*command, str(tmp_path / "drawn")]) == 0

    pair = in_turn({"rendered": rendered, "drawn": drawn}, pairs=1)
    measured("sheets of six runs, views of the case", pair, most=25.0)
    assert pair.ratio <= 25.0
