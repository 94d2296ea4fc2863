"""The notebooks run from top to bottom, and hold no output in the repository.

Every time their cells are run in this process, as a kernel would; in a kernel itself,
which takes longer to start than a notebook to run, where all is asked for.
"""

from __future__ import annotations

import ast
import re
import warnings
from pathlib import Path
from typing import Any

import matplotlib as mpl
import nbformat
import pytest

from tests.full import only_in_full

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))

PRINTED = {
    # The fewest bends by hand: the first run's ports face along lines that cross, so
    # one bend joins them; the second tube comes back from beyond the block's side.
    "first_loop.ipynb": (
        "block to radiator: bends 1,",
        "radiator to block: bends 3,",
    ),
    # By hand: the root of 74.5^2 + 140^2 + 190.75^2 is 248.0, not 257.
    "measuring.ipynb": (
        "pump.out to block.in (257.0 mm) is about 8.9 mm too long",
        # 200 - 35 - 30 less 74.5; 60 + 60 + 140; 90 + 190.75: no reading is a mm off.
        "block.in at 60.5, 260.0, 280.7 mm",
    ),
    "comparing.ipynb": (),
    "mesh_to_bench.ipynb": (
        "[ 60. 60. 150.] mm",  # a cylinder 90 mm high, half a ball of 30 mm at each end
        "sheets/pump-to-block.pdf",
        "jigs/cradle-pump-to-block-bends-1-2.stl",
    ),
}
"""What each notebook prints, among more."""


def test_each_notebook_is_known() -> None:
    assert sorted(PRINTED) == [path.name for path in NOTEBOOKS]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_notebook_is_stripped(path: Path) -> None:
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_cells_run_in_order(path: Path, capsys, monkeypatch) -> None:
    monkeypatch.chdir(FOLDER)
    names: dict[str, Any] = {"__name__": "__main__"}
    cells = nbformat.read(path, as_version=4).cells
    code = [cell.source for cell in cells if cell.cell_type == "code"]
    with mpl.rc_context({"backend": "agg"}):
        shown = [run_cell(source, names) for source in code]
    check_printed(path, capsys.readouterr().out)
    pictures = [html for value in shown if (html := html_of(value))]
    assert all("<svg" in html and "<table" in html for html in pictures)
    assert pictures or path.name not in {"first_loop.ipynb", "comparing.ipynb"}
    if path.name == "comparing.ipynb":
        check_plot(names)


def run_cell(source: str, names: dict[str, Any]) -> object:
    """Run a cell; return what its last line stands for, as a kernel shows it."""
    tree = ast.parse(source)
    last = tree.body[-1]
    if not isinstance(last, ast.Expr):
        exec(compile(tree, "cell", "exec"), names)
        return None
    exec(compile(ast.Module(tree.body[:-1], []), "cell", "exec"), names)
    return eval(compile(ast.Expression(last.value), "cell", "eval"), names)


def html_of(value: object) -> str:
    own = getattr(value, "_repr_html_", None)
    return own() if own is not None else ""


def check_printed(path: Path, printed: str) -> None:
    one_line = " ".join(printed.split())
    for words in PRINTED[path.name]:
        assert words in one_line


def check_plot(names: dict[str, Any]) -> None:
    """Every candidate is a point, blue where no other one betters it in all figures."""
    figures = {
        (one.bends, round(one.length, 1), -round(one.gap.distance, 1))
        for one in names["plan"].runs[0].candidates
    }
    fronts = {
        (own[1], -own[2]): not any(
            other != own and all(a <= b for a, b in zip(other, own, strict=True))
            for other in figures
        )
        for own in figures
    }
    points = names["axis"].collections
    assert len(points) == len(fronts) == len(figures)
    for point in points:
        (x, y), *_ = point.get_offsets()
        red, _, blue, _ = point.get_facecolor()[0]
        assert (blue > red) == fronts[x, y]
    assert 1 < sum(fronts.values()) < len(fronts)
    import matplotlib.pyplot as plt

    plt.close("all")


@only_in_full
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_notebook_runs_in_a_kernel(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    # Jupyter's own packages warn about each other; our code runs in the kernel, whose
    # warnings would stand in the outputs.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from nbclient import NotebookClient

        NotebookClient(
            notebook, timeout=300, resources={"metadata": {"path": str(FOLDER)}}
        ).execute()
    outputs = [
        output
        for cell in notebook.cells
        if cell.cell_type == "code"
        for output in cell.outputs
    ]
    told = {"stdout": "", "stderr": ""}
    for output in outputs:
        assert output.output_type != "error"
        if output.output_type == "stream":
            told[output.name] += output.text
    check_printed(path, told["stdout"])
    # Commands say on standard error what comes next; nobody is warned there.
    assert not re.search("warning", told["stderr"], re.IGNORECASE)
    kinds = {kind for output in outputs for kind in output.get("data", {})}
    assert "text/html" in kinds
    assert ("image/png" in kinds) == (path.name == "comparing.ipynb")
