"""A study of a ship by her hull: what its result holds of her, and that it needs nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from rollsim.scenario.load import load
from rollsim.show.query.section import immersed_area, section
from rollsim.store.reading import open_result
from rollsim.study.plan import make_plan
from rollsim.study.replay import replay
from rollsim.study.run import run_to_file

HULL = """\
format = 1
[[stations]]
along_m = 0.0
half_breadth_m = [5.0, 7.0, 7.0]
height_m = [0.0, 2.0, 8.0]
[[stations]]
along_m = 80.0
half_breadth_m = [5.0, 7.0, 7.0]
height_m = [0.0, 2.0, 8.0]
[[openings]]
name = "vent"
along_m = 40.0
across_m = {across}
height_m = 9.0
"""
SHIP = """\
format = 1
[ship]
name = "Barge"
length_m = 80.0
beam_m = 14.0
draught_m = 3.6
displacement_t = 4000.0
levers = { kind = "hull", file = "barge-hull.toml", heel_max_deg = 80.0 }
gravity = { kg_m = 5.0 }
inertia = { gyradius_m = 5.3 }
[start]
roll_deg = 20.0
[run]
duration_s = 20.0
[sweep]
"ship.displacement_t" = [3000.0, 4000.0]
[[conditions]]
name = "hull"
[[conditions]]
name = "formula"
[conditions.ship.levers]
kind = "wall-sided"
km_m = 6.0
bm_m = 3.0
heel_max_deg = 60.0
"""


def run(folder: Path, across: float = 6.5, text: str = SHIP) -> Path:
    (folder / "barge-hull.toml").write_text(HULL.format(across=across), encoding="utf-8")
    (folder / "barge.toml").write_text(text, encoding="utf-8")
    assert run_to_file(make_plan(load(folder / "barge.toml")), folder / "barge.nc")
    return folder / "barge.nc"


@pytest.fixture(scope="module")
def barge(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return run(tmp_path_factory.mktemp("barge"))


def test_the_result_holds_her_own_section(barge: Path) -> None:
    with open_result(barge) as ds:
        assert ds["section_y"].dims == ("case", "outline")
        own, table = section(ds, 0), section(ds, 2)
        assert (own.schematic, table.schematic) == (False, True)
        assert own.outline.shape == (2, 6)
        assert set(map(tuple, own.outline.T.tolist())) == {
            (5, 0), (7, 2), (7, 8), (-7, 8), (-7, 2), (-5, 0)
        }  # fmt: skip
        area = immersed_area(own.outline, own.heel, own.level)
        np.testing.assert_allclose(area, 3000.0 / 1.025 / 80.0, rtol=1e-3)


def test_openings_are_the_flooding_limit(barge: Path) -> None:
    with open_result(barge) as ds:
        limit = ds["flooding_limit"].values
        assert np.isfinite(limit[:2]).all()
        assert np.isnan(limit[2:]).all()
        assert limit[0] > limit[1] > 30.0


def test_a_given_angle_goes_before_the_openings(tmp_path: Path) -> None:
    text = SHIP.replace("[start]", "[limits]\nflooding_deg = 33.0\n[start]")
    with open_result(run(tmp_path, text=text)) as ds:
        np.testing.assert_allclose(ds["flooding_limit"], 33.0)


def test_a_run_is_made_again_from_the_result_alone(barge: Path, tmp_path: Path) -> None:
    hull = barge.with_name("barge-hull.toml")
    text = hull.read_text(encoding="utf-8")
    hull.unlink()
    try:
        with open_result(barge) as ds:
            assert "[files]" in ds.attrs["scenario_text"]
            assert replay(ds, 1, 0, tmp_path / "again.nc")
        with open_result(tmp_path / "again.nc") as again:
            assert isinstance(again, xr.Dataset)
            assert np.isfinite(again["section_y"].values).any()
    finally:
        hull.write_text(text, encoding="utf-8")
