"""Broken mesh files: each is told for what it is, within a gigabyte of memory."""

import subprocess
import sys

import pytest

from loopsolver.errors import SceneError
from loopsolver.scene.reader import load_scene
from tests.builders.broken_meshes import BROKEN
from tests.full import only_in_full

SCENE = """format = 1
[case]
inner = [200, 200, 200]
axes = ["right", "away", "up"]
[tube]
material = "acrylic"
outer_diameter = 14
inner_diameter = 10
[components.card]
position = [20, 20, 20]
[[components.card.bodies]]
mesh = {name}
unit = "{unit}"
"""

LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (1 << 30, 1 << 30))
resource.setrlimit(resource.RLIMIT_CPU, (10, 10))
from loopsolver.errors import SceneError
from loopsolver.scene.reader import load_scene
for path in sys.argv[1:]:
    try:
        load_scene(path)
    except SceneError:
        continue
    sys.exit(path)
"""


def written(folder, broken):
    home = folder / "case"
    home.mkdir()
    broken.write(home / broken.name)
    scene = home / "scene.toml"
    scene.write_text(
        SCENE.replace("{name}", f'"{broken.name}"').replace("{unit}", broken.unit)
    )
    return scene


def test_there_are_forty_and_more() -> None:
    assert len(BROKEN) >= 40


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_mesh_is_told_with_its_place(tmp_path, name) -> None:
    broken = BROKEN[name]
    scene = written(tmp_path, broken)
    with pytest.raises(SceneError) as caught:
        load_scene(scene)
    (fault,) = caught.value.faults
    assert fault.key_path == "components.card.bodies[1].mesh"
    assert fault.line == 12
    assert broken.words in f"found {fault.found}; wanted {fault.wanted}"


@only_in_full
@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_mesh_takes_no_more_than_a_gigabyte_and_ten_seconds(
    tmp_path, name
) -> None:
    """Both are held by the system: of memory mapped, and of processor time."""
    scene = written(tmp_path, BROKEN[name])
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(scene)],
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
