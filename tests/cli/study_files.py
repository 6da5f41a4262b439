"""Scenario files for the tests of the commands that run, replay and check."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
from numpy.typing import NDArray

from rollsim.names import VARIABLES

SHIP = """format = 1
[ship]
name = "Trial"
length_m = 60.0
beam_m = 12.0
draught_m = 4.0
displacement_t = 1000.0
[ship.levers]
kind = "polynomial"
gz_m_per_rad = [0.8, 0.0, -0.6]
kg_m = 5.0
heel_max_deg = 100.0
[ship.gravity]
kg_m = 5.0
[ship.inertia]
gyradius_m = 4.0
[ship.damping]
linear_per_s = 0.2
quadratic = 0.5
[limits]
roll_deg = 8.0
capsize_deg = 20.0
"""
STORM = """[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 5.0
peak_period_s = 8.0
"""
CONDITIONS = """[[conditions]]
name = "light"
[[conditions]]
name = "deep"
"ship.gravity.kg_m" = 5.2
"""
RUN = "duration_s = 30.0\noutput_step_s = 1.0\nrealisations = 192\nseed = 5\n"


def scenario(run: str = RUN, output: str = "", sea: str = STORM, more: str = CONDITIONS) -> str:
    """A scenario: two loadings in the storms of `run`."""
    return f"{SHIP}{sea}[run]\n{run}[output]\n{output}\n{more}"


def written(folder: Path, text: str, name: str = "trial.toml") -> Path:
    """A scenario as a file."""
    path = folder / name
    path.write_text(text)
    return path


def arrays(path: Path) -> dict[str, NDArray[np.generic]]:
    """The variables of a result as they are stored."""
    with netCDF4.Dataset(str(path)) as file:
        file.set_auto_maskandscale(False)
        file.set_auto_chartostring(False)
        return {name: file[name][...] for name in VARIABLES if name in file.variables}


def array_bytes(array: NDArray[Any]) -> bytes:
    """The bytes of an array, or of its texts."""
    return repr(array.tolist()).encode() if array.dtype == object else array.tobytes()


def assert_same_bytes(a: Path, b: Path) -> None:
    """The same variables with the same bytes in two results."""
    first, second = arrays(a), arrays(b)
    assert first.keys() == second.keys()
    for name, array in first.items():
        assert array.shape == second[name].shape, name
        assert array_bytes(array) == array_bytes(second[name]), name
