"""Every example of the pages for users runs in a newcomer's folder, and prints what is shown."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from pages import GUIDES, ROOT, blocks

MINUTES = 10


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A folder with a copy of the scenarios, as a newcomer has them."""
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    return tmp_path


def calls(page: str) -> list[list[str]]:
    """What Python is called with for every example, shell and Python alike, in their order."""
    examples: list[list[str]] = []
    for language, block in re.findall(r"^```(sh|python)\n(.*?)\n```$", page, re.M | re.S):
        if language == "python":
            examples.append(["-W", "error", "-c", block])
        else:
            lines = [line.removeprefix(".venv/bin/") for line in block.splitlines()]
            shell = [shlex.split(line)[1:] for line in lines if line.startswith("rollsim ")]
            examples += [["-m", "rollsim", *arguments] for arguments in shell]
    return examples


def outputs(folder: Path, examples: list[list[str]]) -> Iterator[str]:
    """What every example prints, run one after the other in `folder`; each must succeed quietly."""
    for arguments in examples:
        done = subprocess.run(
            [sys.executable, *arguments],
            cwd=folder,
            env=os.environ | {"COLUMNS": "100"},
            capture_output=True,
            text=True,
            timeout=60 * MINUTES,
        )
        assert done.returncode == 0, f"{arguments}: {done.stderr}"
        assert "Traceback" not in done.stderr
        assert "Warning" not in done.stderr, done.stderr
        yield done.stdout


def one_spaced(text: str) -> set[str]:
    """The lines of a text, each with single spaces; rules and empty lines left out."""
    return {" ".join(line.split()) for line in text.splitlines() if line.strip("─ ")}


@pytest.mark.slow
@pytest.mark.parametrize("name", GUIDES)
def test_every_example_runs_and_prints_what_is_shown(name: str, copy: Path) -> None:
    examples = calls(GUIDES[name])
    assert len(examples) > 5
    printed = "\n".join(outputs(copy, examples))
    shown = "\n".join(blocks(GUIDES[name], "text"))
    assert one_spaced(shown) <= one_spaced(printed)
    assert not list(copy.glob("*.nc"))
