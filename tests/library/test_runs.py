"""Lists of runs of one case from Python: starts, storms and factors."""

from __future__ import annotations

import numpy as np
import pytest
from library_samples import SCENARIO

import rollsim
from rollsim.library import LoadedStudy


@pytest.fixture(scope="module")
def study() -> LoadedStudy:
    """Two loadings in four storms."""
    return rollsim.loads(SCENARIO)


def test_the_runs_of_the_study_are_the_same_runs(study: LoadedStudy) -> None:
    result = study.run()
    runs = study.runs(1, realisation=np.arange(4), histories=True)
    assert dict(runs.sizes) == {"run": 4, "t": result.sizes["t"]}
    for name in runs.data_vars:
        np.testing.assert_array_equal(runs[name], result[name][1], err_msg=str(name))
        assert runs[name].attrs["units"] == result[name].attrs.get("units", runs[name].units)


def test_starts_and_factors_are_those_asked_for(study: LoadedStudy) -> None:
    roll = np.linspace(-5.0, 5.0, 11)
    runs = study.runs(realisation=2, roll_deg=roll, waves_factor=np.linspace(0.5, 1.5, 11))
    assert runs["roll_max"].dims == ("run",)
    assert "roll_angle" not in runs
    np.testing.assert_allclose(runs["start_roll"], roll, atol=1e-12)
    assert runs["start_roll"].attrs["units"] == "degree"
    assert runs["realisation"].values.tolist() == [2] * 11
    assert runs["waves_factor"].values[-1] == 1.5
    assert np.all(runs["roll_max"] >= roll - 1e-6)


def test_waves_of_no_height_leave_a_free_roll(study: LoadedStudy) -> None:
    runs = study.runs(roll_deg=[3.0, 3.0], realisation=[0, 1], waves_factor=0.0)
    np.testing.assert_array_equal(runs["roll_min"][0], runs["roll_min"][1])
    assert runs["roll_max"].values == pytest.approx([3.0, 3.0])


def test_one_run_may_be_asked_for_by_numbers_alone(study: LoadedStudy) -> None:
    runs = study.runs(roll_rate_deg_per_s=4.0, histories=True)
    assert dict(runs.sizes)["run"] == 1
    assert float(runs["roll_rate"][0, 0]) == pytest.approx(4.0)


def test_many_starts_are_each_the_run_they_are_alone(study: LoadedStudy) -> None:
    roll = np.linspace(-8.0, 8.0, 200)
    together = study.runs(realisation=1, roll_deg=roll, workers=2)
    for i in (0, 63, 64, 199):
        alone = study.runs(realisation=1, roll_deg=roll[i])
        for name in ("outcome", "roll_max", "roll_min", "end_time"):
            assert alone[name].item() == pytest.approx(together[name][i].item(), abs=0.0)
