"""PNG files: small, true to the picture, whole, and never over somebody else's."""

from __future__ import annotations

import io
import os
import stat
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from loopsolver.errors import OutputError
from loopsolver.view import palette, pictures


def shaded(width=160):
    """A picture with a smooth grey ground and a shaded strip in the bend's colour."""
    pixels = np.empty((120, width, 3), dtype=np.uint8)
    pixels[...] = np.linspace(180, 250, width, dtype=np.uint8)[None, :, None]
    strip = np.linspace(0.35, 1.0, 40)[:, None, None]
    pixels[40:80] = (strip * np.array(palette.BEND)).astype(np.uint8)
    pixels[100:110] = palette.PANEL
    return pixels


def test_colours_stay_what_they_were_to_the_eye():
    pixels = shaded()
    with Image.open(io.BytesIO(pictures.png_bytes(pixels))) as picture:
        back = np.asarray(picture.convert("RGB"), dtype=int)
    assert back.shape == pixels.shape
    error = np.abs(back - pixels.astype(int)).max(axis=2)
    assert error.mean() < 1.5
    assert error.max() <= 8
    # Colours with a meaning come back to the letter.
    assert (back[105] == palette.PANEL).all()


def test_same_pixels_give_the_same_bytes():
    assert pictures.png_bytes(shaded()) == pictures.png_bytes(shaded())


@pytest.mark.parametrize("colour", [palette.PAPER, palette.BEND])
def test_picture_of_one_colour_can_be_written(colour):
    pixels = np.empty((8, 9, 3), dtype=np.uint8)
    pixels[...] = colour
    with Image.open(io.BytesIO(pictures.png_bytes(pixels))) as picture:
        assert (np.asarray(picture.convert("RGB")) == colour).all()


def test_own_picture_is_known_again_and_written_over(tmp_path):
    path = tmp_path / "view.png"
    pictures.write_picture(shaded(), path)
    assert pictures.is_own_picture(path)
    pictures.write_picture(shaded(70), path)
    with Image.open(path) as picture:
        assert picture.size == (70, 120)
    assert [entry.name for entry in tmp_path.iterdir()] == ["view.png"]


def test_foreign_file_is_not_written_over_unless_forced(tmp_path):
    path = tmp_path / "holiday.png"
    Image.new("RGB", (4, 4)).save(path)
    before = path.read_bytes()
    with pytest.raises(OutputError, match=r"stands there already.*--force"):
        pictures.write_picture(shaded(), path)
    assert path.read_bytes() == before
    pictures.write_picture(shaded(), path, force=True)
    assert pictures.is_own_picture(path)


def test_a_picture_that_was_cut_short_or_drawn_on_is_no_longer_ours(tmp_path):
    """Its mark alone says nothing: the whole picture must be as it was written."""
    path = tmp_path / "view.png"
    pictures.write_picture(shaded(), path)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    assert not pictures.is_own_picture(path)
    path.write_bytes(whole)
    with Image.open(path) as picture:
        marks = PngInfo()
        for key, value in picture.info.items():
            if isinstance(key, str) and isinstance(value, str):
                marks.add_text(key, value)
        drawn = picture.convert("RGB")
    drawn.save(path, pnginfo=marks)
    assert pictures.is_own_picture(path)  # saved again by another hand, not changed
    drawn.putpixel((3, 4), (255, 0, 0))
    drawn.save(path, pnginfo=marks)
    with pytest.raises(OutputError, match="was changed since"):
        pictures.write_picture(shaded(), path)


@pytest.mark.parametrize("force", [False, True])
def test_what_is_read_is_not_written_over(tmp_path, force):
    path = tmp_path / "scene.png"  # a scene may be called anything
    path.write_text("format = 1")
    (tmp_path / "link.png").symlink_to(path)
    for name in ("scene.png", "link.png"):
        with pytest.raises(OutputError, match="is the file that is read"):
            pictures.write_picture(shaded(), tmp_path / name, read=[path], force=force)
    assert path.read_text() == "format = 1"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("view.jpg", "ends in .png, found '.jpg'"),
        ("view", "ends in .png, found 'no ending'"),
        ("nowhere/view.png", "there is no folder"),
        ("folder.png", "found a folder"),
    ],
)
def test_unusable_names_are_refused(tmp_path, name, words):
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(OutputError) as caught:
        pictures.write_picture(shaded(), tmp_path / name)
    assert words in str(caught.value)
    assert not (tmp_path / "nowhere").exists()


def test_failure_half_way_leaves_nothing_behind(tmp_path, monkeypatch):
    path = tmp_path / "view.png"
    pictures.write_picture(shaded(), path)
    before = path.read_bytes()

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputError, match="No space left on device"):
        pictures.write_picture(shaded(50), path)
    assert path.read_bytes() == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["view.png"]


def test_picture_may_be_read_like_any_other_file(tmp_path):
    path = tmp_path / "view.png"
    before = os.umask(0o022)
    try:
        pictures.write_picture(shaded(), path)
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o644


def test_free_name_counts_up(tmp_path):
    assert pictures.free_name(tmp_path, "teal").name == "teal.png"
    (tmp_path / "teal.png").touch()
    assert pictures.free_name(tmp_path, "teal").name == "teal-2.png"
    (tmp_path / "teal-2.png").touch()
    assert pictures.free_name(tmp_path, "teal").name == "teal-3.png"
