"""The command as a shell runs it: exit statuses, pipes, encodings, speed."""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands import SCENES, program


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the smallest demonstration build and its plan."""
    folder = tmp_path_factory.mktemp("bench")
    shutil.copy(SCENES / "wren.toml", folder)
    done = program("route", "wren.toml", folder=folder)
    assert done.returncode == 0, done.stderr
    return folder


def test_a_build_from_scene_to_bend_table(bench: Path) -> None:
    plan = json.loads((bench / "wren.plan.json").read_text("utf-8"))
    assert all(one["candidates"] for one in plan["runs"])
    for command in ("compare", "bends"):
        done = program(command, "wren.plan.json", folder=bench)
        assert done.returncode == 0
        assert done.stderr == ""
        assert max(map(len, done.stdout.splitlines())) <= 80
        assert "\x1b" not in done.stdout


def test_the_same_scene_gives_the_same_plan_byte_for_byte(bench: Path) -> None:
    first = (bench / "wren.plan.json").read_bytes()
    env = {"PYTHONHASHSEED": "12345"}
    assert (
        program("route", "wren.toml", "-o", "2.json", folder=bench, env=env).returncode
        == 0
    )
    assert (bench / "2.json").read_bytes() == first


def test_a_wrong_scene_is_status_2_and_writes_nothing(tmp_path: Path) -> None:
    text = (SCENES / "wren.toml").read_text("utf-8")
    (tmp_path / "bad.toml").write_text(text.replace("[case]", "[caes]"), "utf-8")
    done = program("route", "bad.toml", folder=tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "bad.toml" in done.stderr
    assert "caes" in done.stderr
    assert "Traceback" not in done.stderr
    assert [one.name for one in tmp_path.iterdir()] == ["bad.toml"]


def test_no_room_is_status_3_and_the_plan_says_why(tmp_path: Path) -> None:
    text = (SCENES / "wren.toml").read_text("utf-8")
    # 95 mm from either side wall of a case of 190 mm: no room for any tube.
    lines = [
        "clearance = 95" if line.startswith("clearance") else line
        for line in text.splitlines()
    ]
    (tmp_path / "tight.toml").write_text("\n".join(lines), "utf-8")
    done = program("route", "tight.toml", folder=tmp_path)
    assert done.returncode == 3, done.stderr
    plan = json.loads((tmp_path / "tight.plan.json").read_text("utf-8"))
    for one in plan["runs"]:
        assert one["candidates"] == []
        assert one["chosen"] is None
        assert one["why"]
        assert " ".join(one["why"].split()[:3]) in " ".join(done.stdout.split())


def test_a_reader_that_goes_away_is_no_failure(bench: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "loopsolver", "bends", "wren.plan.json", "--json"],
        cwd=bench,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()  # before anything is printed
        told = process.stderr.read()
        assert process.wait(timeout=60) == 141
    assert told == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_output_is_told_in_one_line(bench: Path) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "loopsolver", "compare", "wren.plan.json"],
            cwd=bench,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert "No space left on device" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_disk_that_takes_no_more_leaves_no_half_a_plan(bench: Path) -> None:
    def no_large_files() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))  # bytes

    done = subprocess.run(
        [sys.executable, "-m", "loopsolver", "route", "wren.toml", "-o", "new.json"],
        cwd=bench,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=no_large_files,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
    )
    assert done.returncode == 2
    assert "new.json: could not be written, nothing was changed" in done.stderr
    assert not [
        one for one in bench.iterdir() if "new" in one.name or "part" in one.name
    ]


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_old_encodings_get_every_number(bench: Path, encoding: str) -> None:
    done = program(
        "compare", "wren.plan.json", folder=bench, env={"PYTHONIOENCODING": encoding}
    )
    assert done.returncode == 0
    plain = program("compare", "wren.plan.json", folder=bench)

    def numbers(text: str) -> list[str]:
        words = text.replace("|", " ").split()
        return [word for word in words if word.replace(".", "").isdigit()]

    assert numbers(done.stdout) == numbers(plain.stdout)
    assert done.stdout.isascii()


def test_help_to_a_reader_that_goes_away_is_no_failure(tmp_path: Path) -> None:
    command = f"{sys.executable} -m loopsolver --help | true"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {command}"],
        cwd=tmp_path,
        capture_output=True,
        check=False,
        timeout=60,
    )
    assert done.returncode in {0, 141}
    assert done.stderr == b""


@pytest.mark.parametrize(
    ("command", "closed", "told"),
    [
        ("bends", ">&-", ["standard output is closed"]),
        ("compare", ">&- 2>&-", []),
        ("bends", "<&- >&- 2>&-", []),
    ],
)
def test_a_result_that_nobody_sees_is_told(
    bench: Path, command: str, closed: str, told: list[str]
) -> None:
    """As GNU's tools do it: closed standard output is a failure, not a silent success."""
    line = f"{sys.executable} -m loopsolver {command} wren.plan.json {closed}"
    done = subprocess.run(
        ["sh", "-c", line],
        cwd=bench,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2
    assert [line.rpartition(": ")[2] for line in done.stderr.splitlines()] == told


def test_with_closed_messages_the_result_holds_no_message(bench: Path) -> None:
    line = f"{sys.executable} -m loopsolver check wren.toml"
    both, alone = (
        subprocess.run(
            ["sh", "-c", f"{line} {closed}"],
            cwd=bench,
            capture_output=True,
            text=True,
            check=True,
        )
        for closed in ("", "2>&-")
    )
    assert "Next:" in both.stderr
    assert alone.stdout == both.stdout


def test_no_file_takes_the_place_of_a_closed_stream(bench: Path) -> None:
    """A library that prints to stream 1 or 2 by number must not print into a plan."""
    code = (
        "import os, sys\n"
        "from loopsolver.cli import main as commands\n"
        "def main(**_): print(os.open('new.txt', os.O_CREAT), file=open('n', 'w'))\n"
        "commands.main = main\n"
        "commands.run()"
    )
    line = f'{sys.executable} -c "{code}" <&- >&- 2>&-'
    done = subprocess.run(["sh", "-c", line], cwd=bench, check=False)
    assert done.returncode == 0
    assert int((bench / "n").read_text()) > 2


def test_a_working_folder_that_was_deleted_is_told(bench: Path) -> None:
    (bench / "gone").mkdir()
    python = f"{sys.executable} -m loopsolver"
    for command in (
        f"route {bench}/wren.toml",
        "new mine.toml",
        f"sheets {bench}/wren.plan.json -o out",
    ):
        done = subprocess.run(
            [
                "sh",
                "-c",
                f"mkdir -p gone && cd gone && rmdir ../gone && {python} {command}",
            ],
            cwd=bench,
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "COLUMNS": "80"},
        )
        assert done.returncode == 2, done.stderr
        assert "no longer there; change to one that is" in done.stderr
        assert len(done.stderr.splitlines()) == 1
    done = subprocess.run(
        [
            "sh",
            "-c",
            f"mkdir gone; cd gone; rmdir ../gone; {python} check {bench}/wren.toml",
        ],
        cwd=bench,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, "whole paths need no working folder"


def test_help_and_import_load_nothing_heavy() -> None:
    heavy = {"numpy", "scipy", "pydantic", "rich", "pyvista", "trimesh", "networkx"}
    for code in (
        "import loopsolver",
        "from loopsolver.cli.main import main; main(['--help'])",
    ):
        done = subprocess.run(
            [sys.executable, "-c", f"{code}; import sys; print(*sys.modules)"],
            capture_output=True,
            text=True,
            check=True,
        )
        assert not heavy & set(done.stdout.splitlines()[-1].split())
