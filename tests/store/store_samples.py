"""Results made up for the tests of the store: right in form, free in content."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.names import VARIABLES, Outcome
from rollsim.store.form import FINITE
from rollsim.store.netcdf import AxisCoordinate, write_result

TEXT = 'format = 1\r\ntitle = "Küstenschiff – ζ"\n'
AXES = (
    AxisCoordinate("kg", "ship.gravity.kg_m", "m", [5.1, 5.3, 5.45]),
    AxisCoordinate("spectrum", "sea.spectrum", "", ["jonswap", "bretschneider", "jonswap"]),
    AxisCoordinate("start_roll", "start.roll_deg", "degree", [0.0, "static", -12.5]),
)
ATTRIBUTES: dict[str, str | int | float] = {
    "title": "A trial",
    "history": "rollsim run trial.toml",
    "seed": 7,
    "method": "DOP853",
    "relative_tolerance": 1e-8,
    "severity_on": "waves",
    "severity_of": "failure",
    "severity_from": 0.5,
    "severity_to": 2.5,
}


def made_up(
    cases: int = 3, realisations: int = 4, samples: int = 21, heels: int = 9, seed: int = 1
) -> dict[str, NDArray[Any]]:
    """Every variable of the table with random content, some of it missing."""
    random = np.random.default_rng(seed)
    sizes = {"case": cases, "realisation": realisations, "t": samples, "heel": heels}
    sizes |= {"outline": 7, "filling": 3}
    arrays: dict[str, NDArray[Any]] = {}
    for name, variable in VARIABLES.items():
        shape = [sizes[dimension] for dimension in variable.dims]
        if variable.dtype == "str":
            arrays[name] = random.choice(["", "step too small", "Schrittweite ü"], shape)
        elif variable.dtype == "i1":
            top = len(Outcome) if name == "outcome" else 2
            arrays[name] = random.integers(0, top, shape).astype(np.int8)
            arrays[name][0, 0] = 1
        elif variable.dtype == "i4":
            arrays[name] = random.integers(0, 3, shape).astype(np.int32)
        else:
            values = random.normal(size=shape).astype(variable.dtype)
            missing = random.random(shape) < (0.0 if name in FINITE else 0.1)
            if name.endswith(("_lower", "_upper")):
                base, side = arrays[name.rpartition("_")[0]], name.rpartition("_")[2]
                missing = np.isnan(base)
                values = base + np.abs(values) * (-1.0 if side == "lower" else 1.0)
            arrays[name] = np.where(missing, np.nan, values)
    arrays["severity_factor"] = np.abs(arrays["severity_factor"])
    arrays["severity_found"] = np.isfinite(arrays["severity_factor"]).astype(np.int8)
    arrays["t"] = 0.5 * np.arange(samples)
    arrays["heel"] = np.linspace(-60.0, 60.0, heels)
    arrays["condition"] = np.array([f"loading {i} ü" for i in range(cases)])
    return arrays


def write_sample(path: Path, text: str = TEXT, **sizes: int) -> dict[str, NDArray[Any]]:
    """Write a made-up result with three sweep axes; returns what was written."""
    arrays = made_up(**sizes)
    axes = AXES if arrays["outcome"].shape[0] == 3 else ()
    write_result(path, arrays, axes, ATTRIBUTES, text)
    return arrays
