"""Calls that write, to be stopped at every event: see `killed`."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np

from loopsolver.files import write_whole
from loopsolver.view.pictures import write_picture
from loopsolver.workshop.folder import check_folder, write_folder
from loopsolver.workshop.sheets import set_of
from tests.contract.killed import Case

ROOT = Path(__file__).parents[2]
OLD_PLAN, NEW_PLAN = "1" * 64, "2" * 64

OLD = {
    "a.pdf": b"old a",
    "a-plane-1.svg": b"old 1",
    "a-plane-2.svg": b"old 2",
    "a-plane-2.dxf": b"the same in both",
    "b.pdf": b"b",
    "b-plane-1.svg": b"b 1",
}
NEW = {
    "fresh": {"a.pdf": b"a", "a-plane-1.svg": b"1", "b.pdf": b"b"},
    "one run": {
        "a.pdf": b"new a",
        "a-plane-1.svg": b"new 1",
        "a-plane-2.dxf": b"the same in both",
    },
    "mirrored": {"a-mirrored.pdf": b"new a", "a-plane-1-mirrored.svg": b"new 1"},
    "forced": {"a.pdf": b"new a", "b.pdf": b"new b"},
}
"""What is written, by the case; of the plan `NEW_PLAN`."""


def sheets(name: str) -> Case:
    def prepare(before: Path) -> None:
        if name != "fresh":
            write_folder(before / "out", OLD, plan_sha256=OLD_PLAN, set_of=set_of)
            (before / "out" / "notes.txt").write_text("mine")
        if name == "forced":
            (before / "out" / "a.pdf").write_text("not as it was written")

    def call(folder: Path) -> None:
        write_folder(
            folder / "out",
            NEW[name],
            plan_sha256=NEW_PLAN,
            set_of=set_of,
            force=name == "forced",
        )

    def after(folder: Path) -> None:
        check_folder(folder / "out")

    return Case(prepare=prepare, call=call, after=after)


def one_file(name: str) -> Case:
    """A plan's or starter scene's text, or a picture, over an older one."""

    def write(path: Path, shade: int) -> None:
        if path.suffix == ".png":
            write_picture(np.full((4, 5, 3), shade, dtype=np.uint8), path)
        else:
            write_whole(path, b"%d" % shade)

    def prepare(before: Path) -> None:
        (before / ".loopsolver-notes.part").write_text("mine")
        write(before / name, 10)

    return Case(
        prepare=prepare,
        call=lambda folder: write(folder / name, 20),
        after=lambda folder: write(folder / f"next{Path(name).suffix}", 30),
    )


def command(*argv: str, before: tuple[str, ...] = ()) -> Case:
    """A whole command in a folder with a scene, after another one where that is given."""

    def run(folder: Path, *words: str) -> None:
        from loopsolver.cli.main import main

        main([word.replace("@", f"{folder}/") for word in words])

    def prepare(folder: Path) -> None:
        shutil.copy(ROOT / "scenes" / "wren.toml", folder)
        (folder / "notes.txt").write_text("mine")
        run(folder, "route", "@wren.toml", "-o", "@wren.plan.json")
        if before:
            run(folder, *before)

    return Case(
        prepare=prepare,
        call=lambda folder: run(folder, *argv),
        after=lambda folder: run(folder, *argv),
    )


SHEETS = ("sheets", "@wren.plan.json", "-o", "@out")
LETTER = (*SHEETS, "--paper", "letter")
CASES = {
    **{name: sheets(name) for name in NEW},
    **{name: one_file(name) for name in ("plan.json", "view.png")},
    "new": command("new", "@new.toml", "--force"),
    "route": command("route", "@wren.toml", "-o", "@wren.plan.json", "--by", "length"),
    "sheets": command(*SHEETS),
    "sheets again": command(*SHEETS, before=LETTER),
    "sheets, one run": command(*SHEETS, "--run", "block to radiator", before=LETTER),
    "sheets, mirrored": command(*SHEETS, "--mirror", before=SHEETS),
    "view": command("view", "@wren.plan.json", "--screenshot", "@view.png"),
}
