"""Results for the tests of the classroom page: run for them, or invented."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import xarray as xr
from click.testing import CliRunner
from show_samples import build

from rollsim.cli.main import rollsim

HOSTILE = "</script><img src=x onerror=alert(1)>&<!--\u2028'\"$x$"
"""A name that ends a script, starts an image, breaks a line of JavaScript and is a formula."""

KM, BM, KB = 5.66, 2.9, 2.76

SCENARIO = """
format = 1
title = 'TITLE'
[ship]
name = 'SHIP'
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
depth_m = 8.1
displacement_t = 4250.0
[ship.levers]
kind = "wall-sided"
km_m = 5.66
bm_m = 2.9
heel_max_deg = 60.0
[ship.gravity]
kg_m = 5.30
[ship.inertia]
gyradius_m = 5.3
[ship.damping]
linear_per_s = 0.05
[sea]
kind = "regular"
height_m = 1.0
period_s = 11.0
[start]
roll_deg = 8.0
[run]
duration_s = 40.0
output_step_s = 0.25
[[events]]
kind = "move-weight"
at_s = 10.0
over_s = 10.0
mass_t = 10.0
across_m = 3.0
up_m = 2.0
[sweep]
"ship.gravity.kg_m" = [5.30, 5.80, 5.50]
"ship.gravity.free_surface_m" = [0.1]
"""


def toml_text(text: str) -> str:
    """A text as TOML writes it between the quotes of a basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped)


def wall_sided(
    path: Path,
    title: str = "three heights of G",
    ship: str = "Marit",
    changes: Mapping[str, str] | None = None,
) -> Path:
    """The result of three heights of G of a wall-sided hull, in a regular wave if not changed."""
    text = SCENARIO.replace("'TITLE'", f'"{toml_text(title)}"')
    text = text.replace("'SHIP'", f'"{toml_text(ship)}"')
    for old, new in (changes or {}).items():
        assert old in text
        text = text.replace(old, new)
    file = path.with_suffix(".toml")
    file.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(rollsim, ["run", str(file), "--out", str(path), "--no-plots"])
    assert done.exit_code == 0, done.output
    return path


def invented(*arguments: Any, **named: Any) -> xr.Dataset:
    """An invented study with the sizes that a section is drawn from."""
    ds = build(*arguments, **named)
    sizes = {"beam": 14.0, "draught": 5.2, "depth": 8.1}
    return ds.assign({name: ("case", [size] * ds.sizes["case"]) for name, size in sizes.items()})


def kept(ds: xr.Dataset, runs: list[tuple[int, int]]) -> xr.Dataset:
    """The study as a result that keeps the histories of some runs (case, realisation) only."""
    held = ds.assign_coords(
        kept_case=("kept", [case for case, _ in runs]),
        kept_realisation=("kept", [run for _, run in runs]),
    )
    for name in ("roll_angle", "roll_rate", "wave_slope", "heeling_lever"):
        histories = [ds[name].values[case, run] for case, run in runs]
        held = held.drop_vars(name).assign({name: (("kept", "t"), histories)})
    return held
