"""The notebooks: they run from top to bottom, draw their figures and are kept clean."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from rollsim.cautions import CAUTION

FOLDER = Path(__file__).parents[2] / "scenarios"
NOTEBOOKS = {
    "tutorial": (4, "ballast against deck cargo"),
    "researcher": (3, "next: roll period by stop-watch"),
}
"""How many pictures each draws, and words that it prints."""


def cells(name: str, kind: str) -> list[dict[str, Any]]:
    """The cells of a kind."""
    held = json.loads((FOLDER / f"{name}.ipynb").read_text(encoding="utf-8"))
    return [cell for cell in held["cells"] if cell["cell_type"] == kind]


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_outputs_are_stripped_and_the_caution_is_in_it(name: str) -> None:
    codes = cells(name, "code")
    assert all(not cell["outputs"] and cell["execution_count"] is None for cell in codes)
    assert any(CAUTION in "".join(cell["source"]) for cell in cells(name, "markdown"))


@pytest.mark.slow
@pytest.mark.parametrize("name", NOTEBOOKS)
def test_it_runs_and_draws_its_figures(name: str, tmp_path: Path) -> None:
    file = FOLDER / f"{name}.ipynb"
    notebook = nbformat.read(file, as_version=4)  # type: ignore[no-untyped-call]
    resources = {"metadata": {"path": str(tmp_path)}}
    NotebookClient(notebook, timeout=600, kernel_name="python3", resources=resources).execute()
    outputs = [out for cell in notebook.cells for out in cell.get("outputs", [])]
    pictures = [out for out in outputs if "image/png" in out.get("data", {})]
    count, words = NOTEBOOKS[name]
    assert len(pictures) == count
    assert not [out for out in outputs if out.get("name") == "stderr"]
    printed = "".join(out["text"] for out in outputs if out.get("name") == "stdout")
    assert words in printed
    assert not list(tmp_path.iterdir())
