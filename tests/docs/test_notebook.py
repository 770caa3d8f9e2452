"""The notebook of the documentation runs from first cell to last, and shows what it says."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

FILE = Path(__file__).parents[2] / "docs" / "notebook.ipynb"


@cache
def run() -> list[Any]:
    """The code cells after all of them were run in a kernel of their own."""
    notebook = nbformat.read(FILE, as_version=4)  # type: ignore[no-untyped-call]
    NotebookClient(notebook, timeout=600, resources={"metadata": {"path": FILE.parent}}).execute()
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def shown(number: int) -> str:
    """What a cell shows as HTML, else as text."""
    (output,) = run()[number].outputs
    return str(output.data.get("text/html", output.data["text/plain"]))


def test_no_output_is_kept_so_that_none_can_be_stale() -> None:
    cells = json.loads(FILE.read_text("utf-8"))["cells"]
    code = [cell for cell in cells if cell["cell_type"] == "code"]
    assert code
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in code)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of the kernel's own packages
def test_every_cell_runs_and_shows_something() -> None:
    assert [cell.execution_count for cell in run()] == list(range(1, len(run()) + 1))
    for number in range(len(run())):
        assert shown(number)
    assert shown(0).startswith("<img alt=")
    assert shown(1).startswith("<figure")
    assert "Heart rate" in shown(2)
    assert "<caption" in shown(3)
    assert ".pdf" in shown(len(run()) - 1)
