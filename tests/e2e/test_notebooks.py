"""The notebooks run from top to bottom, and hold no output in the repository."""

from __future__ import annotations

import warnings
from pathlib import Path

import nbformat
import pytest

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_notebook_is_stripped(path: Path) -> None:
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_notebook_runs_and_shows_every_run(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    # Jupyter's own packages warn about each other; our code runs in the kernel, whose
    # warnings would stand in the outputs.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from nbclient import NotebookClient

        NotebookClient(
            notebook, timeout=300, resources={"metadata": {"path": str(FOLDER)}}
        ).execute()
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    shown = "".join(
        output.text for output in code[-1].outputs if output.get("name") == "stdout"
    )
    # The fewest bends by hand: the first run's ports face along lines that cross, so one
    # bend joins them; the second tube has to come back from beyond the block's side.
    for line in ("block to radiator: bends 1,", "radiator to block: bends 3,"):
        assert line in shown
    assert not [
        output
        for cell in code
        for output in cell.outputs
        if output.output_type == "error" or output.get("name") == "stderr"
    ]
