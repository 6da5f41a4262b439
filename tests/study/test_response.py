"""Steady responses of a study: the file, the sweeps, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from batch_samples import plan_of

from rollsim.errors import InputError
from rollsim.store.maps import open_map
from rollsim.study import response
from rollsim.study.plan import Plan
from rollsim.study.response import response_of, response_to_file
from rollsim.study.workers import Where

TABLES = {
    "ship.levers": (
        'kind = "polynomial"\ngz_m_per_rad = [0.4, 0.0, -0.82]\nkg_m = 5.0\nheel_max_deg = 60.0'
    ),
    "ship.inertia": "gyradius_m = 3.2",
    "ship.damping": "linear_per_s = 0.03\nquadratic = 0.05",
    "sea": 'kind = "regular"\nheight_m = 1.5\nperiod_s = 10.0\nslope_coefficient = 0.9',
    "response": 'key = "sea.period_s"\nfrom = 9.0\nto = 13.0',
    "run": "duration_s = 20.0",
}


def plan(more: str = "", **tables: str) -> Plan:
    return plan_of(TABLES | tables, more)


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(response, "SWEPT", 9)
    monkeypatch.setattr(response, "GRIDS", 2)
    monkeypatch.setattr("rollsim.steady.sweep.FEWEST", 30)
    monkeypatch.setattr("rollsim.steady.sweep.MOST", 30)


@pytest.mark.usefixtures("few")
def test_the_file(tmp_path: Path) -> None:
    path = tmp_path / "x-response.nc"
    more = '[sweep]\n"ship.damping.linear_per_s" = [0.02, 0.4]\n'
    assert response_to_file(plan(more), path, where=Where(1))
    with open_map(path, "response") as ds:
        assert ds["value"].dims == ("case", "branch", "point")
        assert ds["multiplier_real"].dims == ("case", "branch", "point", "multiplier")
        assert ds["value"].attrs["units"] == "s"
        assert ds.attrs["response_key"] == "sea.period_s"
        assert ds["period_ratio"].values.tolist() == [[1], [1]]
        assert ds["grid_value"].values == pytest.approx([10.0, 12.0])
        assert ds["found_by"].values.tolist() == [[1], [1]]
        assert not ds["island"].values.any()
        assert not ds["not_followed"].values.any()
        assert ds["branch_end"].values.tolist() == [[[1, 1]], [[1, 1]]]
        # Little damping folds the curve, much does not.
        folds = ds["fold_value"].values
        assert np.isfinite(folds[0]).sum() == 2
        assert np.isnan(folds[1]).all()
        value, size = ds["value"].values[0, 0], ds["roll_amplitude"].values[0, 0]
        known = np.isfinite(value)
        assert value[known][[0, -1]] == pytest.approx([9.0, 13.0])
        assert ds["stable"].values[0, 0][known].min() == 0
        assert np.all(ds["stable"].values[1, 0][np.isfinite(ds["value"].values[1, 0])] == 1)
        # Outside the folds there is one response: the sweeps must have come to it.
        for name in ("sweep_up", "sweep_down"):
            swept = ds[name].values[0]
            for at in (9.0, 13.0):
                end = swept[0] if at == 9.0 else swept[-1]
                curve = size[known][np.argmin(np.abs(value[known] - at))]
                assert end == pytest.approx(curve, rel=0.05)
        between = (ds["sweep_value"].values > folds[0, 0]) & (
            ds["sweep_value"].values < folds[0, 1]
        )
        assert between.any()
        up, down = (ds[name].values[0][between] for name in ("sweep_up", "sweep_down"))
        assert np.all(up > 1.3 * down)
        free = ds["backbone_value"].values[0, 0]
        assert np.nanmin(free) == pytest.approx(10.16, abs=0.02)


@pytest.mark.usefixtures("few")
def test_over_the_height_there_is_no_backbone(tmp_path: Path) -> None:
    path = tmp_path / "x-response.nc"
    table = 'key = "sea.height_m"\nfrom = 0.5\nto = 2.0'
    assert response_to_file(plan(response=table), path, where=Where(1))
    with open_map(path, "response") as ds:
        assert ds["value"].attrs["units"] == "m"
        assert "backbone_value" not in ds.variables


@pytest.mark.usefixtures("few")
def test_a_range_in_which_she_always_capsizes(tmp_path: Path) -> None:
    made = plan(response='key = "sea.height_m"\nfrom = 2.0\nto = 3.0', limits="capsize_deg = 3.0")
    with pytest.raises(InputError, match=r"has no steady response from 2 to 3: she capsizes"):
        response_to_file(made, tmp_path / "x.nc", where=Where(1))


REFUSED: dict[str, tuple[dict[str, str | None], str]] = {
    "no table": ({"response": None}, r"response: is missing\n  add the table"),
    "from ahead": (
        {"sea": TABLES["sea"] + "\nheading_deg = 180.0"},
        r":\d+:\d+: response: nothing rolls her",
    ),
    "calm": ({"sea": 'kind = "calm"'}, 'response: needs a regular sea, got kind = "calm"'),
    "keeping up": (
        {"sea": TABLES["sea"] + "\nheading_deg = 20.0\nship_speed_mps = 18.0"},
        r":\d+:\d+: response: the ship keeps up with the waves",
    ),
    "turbulence": (
        {
            "wind": 'speed_mps = 10.0\nfrom = "port"\nturbulence = { spectrum = "davenport" }',
            "ship.windage": "area_m2 = 100.0\nlever_m = 3.0",
        },
        "response: needs a wind that does not vary",
    ),
    "downwards": (
        {"response": 'key = "sea.period_s"\nfrom = 13.0\nto = 9.0'},
        "response.to: must be above from, 13, got 9",
    ),
    "another key": (
        {"response": 'key = "sea.heading_deg"\nfrom = 9.0\nto = 13.0'},
        'response.key: must be "sea.period_s" or "sea.height_m", got "sea.heading_deg"',
    ),
}


def test_a_key_that_is_swept_as_well_is_refused() -> None:
    with pytest.raises(InputError, match=r"response.key: stands in the sweep as well"):
        response_of(plan('[sweep]\n"sea.period_s" = [9.0, 10.0]\n'))


@pytest.mark.parametrize("name", REFUSED)
def test_what_has_no_response_is_refused(name: str) -> None:
    changes, words = REFUSED[name]
    tables = {key: text for key, text in {**TABLES, **changes}.items() if text is not None}
    with pytest.raises(InputError, match=words):
        response_of(plan_of(tables))
