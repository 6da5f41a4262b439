"""Basins and steady responses from Python are those of the shell."""

from __future__ import annotations

from pathlib import Path

import pytest

import rollsim
from rollsim.errors import InputError
from rollsim.steady import sweep
from rollsim.study import response

TEXT = """format = 1
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
[sea]
kind = "regular"
height_m = 0.6
period_s = 9.0
[run]
duration_s = 20.0
[basin]
roll_deg = { from = -60.0, to = 60.0, steps = 5 }
roll_rate_deg_per_s = { from = -9.0, to = 9.0, steps = 3 }
[response]
key = "sea.period_s"
from = 8.0
to = 10.0
[equilibria]
key = "ship.gravity.kg_m"
from = 5.0
to = 5.9
[observed]
heel_deg = 5.0
heel_sd_deg = 1.0
kg_m = 5.7
kg_sd_m = 0.1
off_centre_sd_m = 0.02
"""


def test_a_basin(tmp_path: Path) -> None:
    study = rollsim.loads(TEXT)
    ds = study.basin(workers=1)
    assert ds["outcome"].shape == (1, 3, 5)
    kept = study.basin(tmp_path / "b.nc", workers=1)
    assert kept["outcome"].equals(ds["outcome"])


def test_a_response(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(response, "SWEPT", 3)
    monkeypatch.setattr(sweep, "FEWEST", 10)
    monkeypatch.setattr(sweep, "MOST", 10)
    ds = rollsim.loads(TEXT).response(workers=1)
    assert ds["period_ratio"].values.tolist() == [[1]]


def test_heels_of_rest() -> None:
    ds = rollsim.loads(TEXT).equilibria(workers=1)
    assert ds["branching_value"].values[0] == pytest.approx([5.8])


def test_a_heel_cause() -> None:
    (row,) = rollsim.loads(TEXT).heel_cause()
    assert row["list"] + row["loll"] + row["both"] == pytest.approx(1.0)


def test_without_the_table_there_is_none() -> None:
    with pytest.raises(InputError, match="basin: is missing"):
        rollsim.loads(TEXT.partition("[basin]")[0]).basin()
