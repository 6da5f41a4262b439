"""Changes of side: counted by hand, drawn with their limits, refused where there is one side."""

from __future__ import annotations

from io import StringIO

import numpy as np
import pytest
import xarray as xr
from rich.console import Console
from show_samples import build

from rollsim.errors import InputError
from rollsim.measures.rates import poisson_limits
from rollsim.names import Outcome
from rollsim.show.figures.sides import sides_figure
from rollsim.show.query.acting import settle
from rollsim.show.query.sides import lines, sides
from rollsim.show.tables.cells import stays as columns
from rollsim.show.tables.margins import margins_table
from rollsim.show.tables.summary import case_row

HEIGHT = {"significant_height": ("m", (3.0, 5.0, 7.0))}


def hopping() -> xr.Dataset:
    ds = build(realisations=4, axes=HEIGHT)
    changes = np.arange(ds.sizes["case"] * 4).reshape(-1, 4)
    changes[1] = 0
    numbers = {
        "side_changes": changes,
        "side_changes_to_starboard": changes // 2,
        "time_to_port": 0.25 * (ds["end_time"].values - settle(ds)),
        "time_to_starboard": 0.75 * (ds["end_time"].values - settle(ds)),
    }
    return ds.assign({name: (("case", "realisation"), held) for name, held in numbers.items()})


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


def test_a_mean_stay_is_the_hours_over_the_departures() -> None:
    """Unfinished stays count by their hours; the limits are those of a Poisson count in them."""
    ds = hopping()
    made = sides(ds)
    stays = made.stays
    assert stays is not None
    assert stays.share == pytest.approx(0.75)
    for case in (0, 2):
        solved = ds["outcome"].values[case] != Outcome.NOT_SOLVED
        hours = made.hours[case]
        risen = ds["side_changes_to_starboard"].values[case][solved].sum()
        fallen = ds["side_changes"].values[case][solved].sum() - risen
        for part, left, stay in ((0.25, risen, stays.port), (0.75, fallen, stays.starboard)):
            assert stay.mean[case] == pytest.approx(part * hours / left)
            low, high = poisson_limits(left)
            assert stay.lower[case] == pytest.approx(part * hours / high)
            assert stay.upper[case] == pytest.approx(part * hours / low)
    assert np.isinf([stays.port.mean[1], stays.port.upper[1]]).all()
    assert stays.port.lower[1] == pytest.approx(0.25 * made.hours[1] / poisson_limits(0)[1])


def test_tables_tell_of_the_sides() -> None:
    ds = hopping()
    row = case_row(ds, 2)
    stays = sides(ds).stays
    assert stays is not None
    assert row["share_to_starboard"] == pytest.approx(0.75)
    assert row["stay_to_port_h"] == pytest.approx(stays.port.mean[2])
    assert row["stay_to_starboard_h_upper"] == pytest.approx(stays.starboard.upper[2])
    assert case_row(ds, 1)["stay_to_port_h"] is None
    texts = {column.header: column.cells for column in columns([case_row(ds, 1), row])}
    assert texts["time to starboard [%]"] == ["75.0", "75.0"]
    assert texts["mean stay P [h]"][0].endswith(", ∞]")
    assert columns([case_row(build(), 0)]) == []
    stream = StringIO()
    Console(file=stream, width=200).print(margins_table(ds))
    assert "an unfinished stay counts by its hours" in " ".join(stream.getvalue().split())


def test_a_line_for_each_condition() -> None:
    ds = hopping()
    found = lines(ds)
    assert [line.name for line in found] == list(dict.fromkeys(ds["condition"].values.tolist()))
    for line in found:
        assert ds["significant_height"].values[line.cases].tolist() == [3.0, 5.0, 7.0]
    panels = sides_figure(ds).axes[:4]
    labels = ["changes of side [1/h]", "time to starboard [1]"]
    labels += ["stay to port [h]", "stay to starboard [h]"]
    assert [axes.get_ylabel() for axes in panels] == labels
    assert all(len(axes.containers) == len(found) for axes in panels)
    old = sides_figure(ds.drop_vars(["time_to_port", "time_to_starboard"])).axes
    assert [axes.get_ylabel() for axes in old if axes.containers] == labels[:1]


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
