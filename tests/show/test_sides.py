"""Changes of side: counted by hand, drawn with their limits, refused where there is one side."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from show_samples import build

from rollsim.errors import InputError
from rollsim.measures.rates import poisson_limits
from rollsim.names import Outcome
from rollsim.show.figures.sides import sides_figure
from rollsim.show.query.acting import settle
from rollsim.show.query.sides import lines, sides

HEIGHT = {"significant_height": ("m", (3.0, 5.0, 7.0))}


def hopping() -> xr.Dataset:
    ds = build(realisations=4, axes=HEIGHT)
    changes = np.arange(ds.sizes["case"] * 4).reshape(-1, 4)
    return ds.assign(side_changes=(("case", "realisation"), changes))


def test_the_rate_is_the_count_over_the_hours() -> None:
    ds = hopping()
    made = sides(ds)
    for case in range(ds.sizes["case"]):
        solved = ds["outcome"].values[case] != Outcome.NOT_SOLVED
        solved &= ds["end_time"].values[case] > settle(ds)
        hours = np.sum(ds["end_time"].values[case][solved] - settle(ds)) / 3600.0
        changes = ds["side_changes"].values[case][solved].sum()
        assert made.hours[case] == pytest.approx(hours)
        assert made.rate.rate[case] == pytest.approx(changes / hours)
        assert made.rate.upper[case] == pytest.approx(poisson_limits(changes)[1] / hours)


def test_a_line_for_each_condition() -> None:
    ds = hopping()
    found = lines(ds)
    assert [line.name for line in found] == list(dict.fromkeys(ds["condition"].values.tolist()))
    for line in found:
        assert ds["significant_height"].values[line.cases].tolist() == [3.0, 5.0, 7.0]
    axes = sides_figure(ds).axes[0]
    assert axes.get_ylabel() == "changes of side [1/h]"
    assert len(axes.containers) == len(found)


def test_a_ship_with_one_side_is_refused() -> None:
    ds = build(["base"])
    nothing = np.full(ds.sizes["case"], np.nan)
    ds = ds.assign(
        side_changes=(
            ("case", "realisation"),
            np.zeros((ds.sizes["case"], ds.sizes["realisation"])),
        ),
        loll_angle=("case", nothing),
        loll_angle_port=("case", nothing),
    )
    with pytest.raises(InputError, match="no ship here rests on two sides"):
        sides_figure(ds)
