"""Basins: every start is a run of its own, grids are refused in words, works go on."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from batch_samples import STORM, plan_of

from rollsim.engines.base import run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.errors import InputError
from rollsim.names import Outcome
from rollsim.steady.melnikov import wave_heights
from rollsim.store.maps import open_map
from rollsim.study import basin
from rollsim.study.basin import basin_arrays, basin_of, basin_to_file
from rollsim.study.plan import Plan
from rollsim.study.run import Listener
from rollsim.study.workers import Where

GRID = {
    "basin": "realisation = 2\n"
    "roll_deg = { from = -70.0, to = 65.0, steps = 10 }\n"
    "roll_rate_deg_per_s = { from = -30.0, to = 20.0, steps = 7 }",
    "run": "duration_s = 20.0\nseed = 5",
    "limits": "roll_deg = 30.0\ncapsize_deg = 60.0",
    "ship.damping": "linear_per_s = 0.05\nquadratic = 0.1",
}
SWELL = 'kind = "regular"\nheight_m = 1.5\nperiod_s = 8.0'
SEAS = {"calm": "", "regular": SWELL, "irregular": STORM}


def plan(sea: str = SWELL, more: str = "", **tables: str) -> Plan:
    own = {"sea": sea} if sea else {}
    return plan_of(GRID | own | tables, more)


@pytest.mark.parametrize("sea", SEAS)
@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_every_start_is_a_run(sea: str, method: str) -> None:
    made_plan = plan(SEAS[sea], run=f'duration_s = 20.0\nseed = 5\nmethod = "{method}"')
    (case,), table = made_plan.cases, basin_of(made_plan)
    made = basin_arrays(case, table)
    assert made["outcome"].shape == made["failure_time"].shape == (7, 10)
    roll, rate = basin.grid(table.roll_deg), basin.grid(table.roll_rate_deg_per_s)
    past = np.abs(roll) >= 60.0
    assert np.all(made["outcome"][:, past] == Outcome.CAPSIZED)
    assert np.all(made["failure_time"][:, past] == 0.0)
    rates, rolls = np.meshgrid(np.radians(rate), np.radians(roll[~past]), indexing="ij")
    # By another engine of the case, at the step that it chooses for its own start.
    wanted = run_list(2 if case.random else 0, (rolls.ravel(), rates.ravel()))
    numbers = BlockEngine(case).run(wanted, histories=False).numbers
    outcome = numbers["outcome"].reshape(rolls.shape)
    assert np.mean(made["outcome"][:, ~past] == outcome) > 0.98
    assert {1, 2, 4} <= set(outcome.ravel().tolist())
    same = made["outcome"][:, ~past] == outcome
    time = numbers["failure_time"].reshape(rolls.shape)[same]
    np.testing.assert_allclose(made["failure_time"][:, ~past][same], time, atol=0.05)
    assert np.all(made["well"] == 0)


def test_another_storm_is_another_map() -> None:
    tables = [plan(STORM), plan(STORM, basin=GRID["basin"].replace("= 2", "= 3"))]
    made = [basin_arrays(each.cases[0], basin_of(each)) for each in tables]
    assert np.any(made[0]["failure_time"] != made[1]["failure_time"])


LOLL = {
    "ship.levers": (
        'kind = "polynomial"\ngz_m_per_rad = [-0.2, 0.0, 1.5, 0.0, -1.0]\nkg_m = 5.0\n'
        "heel_max_deg = 100.0"
    ),
    "limits": "capsize_deg = 60.0",
    "run": "duration_s = 200.0",
    "ship.damping": "linear_per_s = 0.3",
}


def test_two_lolls_are_two_kinds_of_safe() -> None:
    made_plan = plan("", basin=GRID["basin"].replace("steps = 10", "steps = 9"), **LOLL)
    made = basin_arrays(made_plan.cases[0], basin_of(made_plan))
    safe, well = made["outcome"] == Outcome.SURVIVED, made["well"]
    assert np.all(well[~safe] == 0)
    assert set(well[safe].tolist()) == {-1, 1}
    # At no rate she settles to the side that she starts on.
    roll = np.linspace(-70.0, 65.0, 9)
    still = plan(
        "",
        basin="roll_deg = { from = -40.0, to = 40.0, steps = 8 }\n"
        "roll_rate_deg_per_s = { from = 0.0, to = 0.01, steps = 2 }",
        **LOLL,
    )
    wells = basin_arrays(still.cases[0], basin_of(still))["well"][0]
    assert wells.tolist() == [-1] * 4 + [1] * 4
    assert roll.size == 9


def test_the_file(tmp_path: Path) -> None:
    path = tmp_path / "x-basin.nc"
    more = '[sweep]\n"sea.height_m" = [0.5, 1.5]\n'
    assert basin_to_file(plan(more=more, limits="capsize_deg = 85.0"), path, where=Where(2))
    with open_map(path, "basin") as ds:
        assert ds["outcome"].dims == ("case", "roll_rate", "roll")
        assert ds["height"].values.tolist() == [0.5, 1.5]
        assert ds["wave_height"].values.tolist() == [0.5, 1.5]
        safe = (ds["outcome"].values == Outcome.SURVIVED).sum(axis=(1, 2))
        assert ds["safe_share"].values == pytest.approx(safe / 70.0)
        cell = math.radians(15.0) * math.radians(50.0 / 6.0)
        assert ds["safe_area"].values == pytest.approx(safe * cell)
        assert 0.0 < ds["melnikov_height"].values[0] < 20.0
        assert ds["melnikov_height"].values[0] == ds["melnikov_height"].values[1]
        assert np.isnan(ds["melnikov_height_between"].values).all()
        assert ds["roll"].attrs["units"] == "degree"


def test_a_limit_before_the_saddle_leaves_no_estimate() -> None:
    """GZ vanishes at 66 degrees: within the capsize angle, past the roll limit of 30."""
    free, bound = (
        wave_heights(plan(limits=text).cases[0])
        for text in ("capsize_deg = 85.0", "roll_deg = 30.0\ncapsize_deg = 85.0")
    )
    assert 0.0 < free[0] < 20.0
    assert math.isnan(bound[0])


def test_a_broken_map_goes_on_to_the_same_bytes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(basin, "PIECE", 20)
    made_plan, whole, broken = plan(), tmp_path / "a.nc", tmp_path / "b.nc"
    assert basin_to_file(made_plan, whole, where=Where(1))
    calls, make = [], basin._made

    def breaking(*arguments: object) -> object:
        calls.append(1)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return make(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(basin, "_made", breaking)
    assert not basin_to_file(made_plan, broken, where=Where(1))
    assert not broken.exists()
    told: list[str] = []
    done: list[int] = []
    listener = Listener(done.append, told.append)
    assert basin_to_file(made_plan, broken, where=Where(1), listener=listener)
    assert "going on" in told[0]
    # Of four pieces two or three were there; they are told with their case.
    assert (done[0], done[-1]) == (1, 4)
    assert len(calls) == 5
    with open_map(whole, "basin") as a, open_map(broken, "basin") as b:
        np.testing.assert_array_equal(a["outcome"], b["outcome"])
        np.testing.assert_array_equal(a["failure_time"], b["failure_time"])


def test_a_file_without_the_table_is_refused() -> None:
    bare = {name: text for name, text in GRID.items() if name != "basin"}
    with pytest.raises(InputError, match=r"basin: is missing\n  add the table"):
        basin_of(plan_of(bare))


def test_a_grid_past_the_memory_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(basin, "memory", lambda: 1000)
    with pytest.raises(InputError, match=r":\d+:\d+: basin.roll_deg.steps: 1 x 10 x 7 starts take"):
        basin_of(plan())
