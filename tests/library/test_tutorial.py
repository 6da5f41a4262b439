"""The tutorial notebook: it runs from top to bottom, draws its figures and is kept clean."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from rollsim.cautions import CAUTION

NOTEBOOK = Path(__file__).parents[2] / "scenarios" / "tutorial.ipynb"


def cells(kind: str) -> list[dict[str, Any]]:
    """The cells of a kind."""
    held = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    return [cell for cell in held["cells"] if cell["cell_type"] == kind]


def test_outputs_are_stripped_and_the_caution_is_in_it() -> None:
    assert all(not cell["outputs"] and cell["execution_count"] is None for cell in cells("code"))
    assert any(CAUTION in "".join(cell["source"]) for cell in cells("markdown"))


@pytest.mark.slow
def test_it_runs_and_draws_its_figures(tmp_path: Path) -> None:
    notebook = nbformat.read(NOTEBOOK, as_version=4)  # type: ignore[no-untyped-call]
    resources = {"metadata": {"path": str(tmp_path)}}
    NotebookClient(notebook, timeout=600, kernel_name="python3", resources=resources).execute()
    outputs = [out for cell in notebook.cells for out in cell.get("outputs", [])]
    pictures = [out for out in outputs if "image/png" in out.get("data", {})]
    assert len(pictures) == 4
    assert not [out for out in outputs if out.get("name") == "stderr"]
    printed = "".join(out["text"] for out in outputs if out.get("name") == "stdout")
    assert "ballast against deck cargo" in printed
    assert not list(tmp_path.iterdir())
