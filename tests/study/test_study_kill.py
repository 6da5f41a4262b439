"""A study killed with SIGKILL, at every write it does and at random moments, ends the same."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
import study_killer
from study_samples import TASKS

WRITES = TASKS + 2
"""Files that a study puts in place: its manifest, a file for each task, the result."""


@pytest.mark.slow
def test_killed_at_any_moment_it_goes_on_to_the_same_bytes(tmp_path: Path) -> None:
    script = [sys.executable, study_killer.__file__, str(tmp_path)]
    made = subprocess.run(script, capture_output=True, text=True, timeout=600)
    assert (made.returncode, made.stderr) == (0, "")
    at_calls, at_random = (int(line) for line in made.stdout.split())
    assert at_calls >= (2 + 1 + 2) * WRITES  # two syncs, one replacement, two deletions for each
    assert at_random > 0
    left = sorted(file.name for file in tmp_path.iterdir())
    assert left == ["calls.nc", "random.nc", "whole.nc"]
