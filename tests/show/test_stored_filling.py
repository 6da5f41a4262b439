"""Levers while tanks fill, read from a result: those that the run itself had."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from rollsim.engines.at_outputs import AtOutputs
from rollsim.library import LoadedStudy
from rollsim.scenario.load import loads
from rollsim.show.page.data import Chosen, page_data
from rollsim.show.query.filling import stored_filling
from rollsim.show.query.track import track

LESSON = Path(__file__).parents[2] / "scenarios" / "lessons" / "loll-tanks.toml"


@pytest.fixture(scope="module")
def study() -> LoadedStudy:
    text = LESSON.read_text(encoding="utf-8")
    for old, new in (("900.0", "60.0"), ("= 60.0\nover_s = 600.0", "= 10.0\nover_s = 30.0"),
                     ("= 60.0\nover_s = 300.0", "= 10.0\nover_s = 30.0"),
                     ("at_s = 400.0", "at_s = 41.0")):  # fmt: skip
        text = text.replace(old, new)
    return LoadedStudy(loads(text))


@pytest.fixture(scope="module")
def ds(study: LoadedStudy) -> xr.Dataset:
    return study.run()


@pytest.mark.parametrize("case", [0, 2])
def test_the_lever_of_a_moment_is_that_of_the_run(
    study: LoadedStudy, ds: xr.Dataset, case: int
) -> None:
    times = np.array([0.0, 5.0, 11.0, 25.0, 39.5, 45.0, 60.0])
    outputs = AtOutputs(study.plan.cases[case])
    which = np.searchsorted(outputs.times, times)
    seen = track(ds, case, 0, times)
    heel = np.radians(seen.heel)
    curves = outputs.loadings.at(which).curves
    assert seen.scene.lever == pytest.approx(curves.value(heel), abs=3e-4)
    for frame, i in enumerate(which):
        grid = np.radians(seen.grid)
        assert seen.curve(frame) == pytest.approx(
            outputs.loadings.curve(int(i)).value(grid), abs=3e-4
        )
        moment = seen.moment(frame, 0.0)
        assert moment is not None
        assert moment.well.low == pytest.approx(outputs.wells[i, 0], abs=3e-4)
    loading = outputs.loading[which]
    km = float(ds["gm"][case]) + float(ds["centre_of_gravity_z"][case, 0])
    assert seen.gm == pytest.approx(km - loading[:, 1] - loading[:, 4], abs=1e-9)


def test_a_page_carries_the_levers_of_tanks_that_fill(ds: xr.Dataset) -> None:
    (entry,) = page_data([Chosen("x.nc", ds, [0], [0])], 1)["cases"]
    stored = stored_filling(ds, 0)
    assert stored is not None
    assert entry["filling"]["times"] == stored.times.tolist()
    assert len(entry["filling"]["curves"]) == stored.times.size
    assert stored_filling(ds.drop_vars("filled_lever"), 0) is None
