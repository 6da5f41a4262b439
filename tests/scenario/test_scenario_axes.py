"""The values of an axis, and its name as a coordinate of the result."""

from __future__ import annotations

from keyword import iskeyword

import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.names import COORDINATES, VARIABLES
from rollsim.scenario.expand.axes import coordinate_names, spaced
from rollsim.scenario.schema.catalogue import catalogue


def test_a_range_holds_both_ends_and_even_steps() -> None:
    assert spaced(5.1, 5.3, 3) == (5.1, 5.2, 5.3)
    assert spaced(1.0, -1.0, 2) == (1.0, -1.0)


@settings(deadline=None, derandomize=True)
@given(st.floats(-1e3, 1e3), st.floats(-1e3, 1e3), st.integers(2, 200))
def test_a_range_is_even(first: float, last: float, steps: int) -> None:
    values = spaced(first, last, steps)
    assert len(values) == steps
    assert (values[0], values[-1]) == (first, last)
    step = (last - first) / (steps - 1)
    for i, value in enumerate(values):
        assert value == pytest.approx(first + i * step, rel=1e-11, abs=1e-11 * 1e3)


@pytest.mark.parametrize(
    ("keys", "names"),
    [
        (["ship.gravity.kg_m"], ["kg"]),
        (["sea.significant_height_m", "wind.speed_mps"], ["significant_height", "speed"]),
        (["wind.speed_mps", "sea.ship_speed_mps"], ["speed", "ship_speed"]),
        (["ship.gravity.kg_m", "ship.levers.kg_m"], ["gravity_kg", "levers_kg"]),
        (["limits.roll_deg"], ["limits_roll"]),
        (["limits.roll_deg", "start.roll_deg"], ["limits_roll", "start_roll"]),
        (["start.roll_rate_deg_per_s"], ["start_roll_rate"]),
        (["wind.from"], ["wind_from"]),
        (["ship.damping.linear_per_s", "ship.damping.cubic_s"], ["linear", "cubic"]),
        (["events.0.mass_t", "events.1.mass_t"], ["events_0_mass", "events_1_mass"]),
        (["events.0.mass_t", "events.1.at_s"], ["mass", "at"]),
        (["ship.levers.gz_m_per_rad.2"], ["gz_2"]),
        (["ship.displacement_t", "ship.windage.area_m2"], ["ship_displacement", "area"]),
    ],
)
def test_coordinate_names(keys: list[str], names: list[str]) -> None:
    assert coordinate_names(keys) == names


def test_no_coordinate_name_is_taken() -> None:
    leaves = [".".join(p).replace("*", "0") for p, e in catalogue().items() if e.is_leaf]
    # No axes, and what never stands beside a table of gz_m or a change of a value.
    apart = ("conditions", "output", "run.until", "ship.levers.gz_m_per_rad", "events.0.to_percent")
    swept = [key for key in leaves if "." in key and not key.startswith(apart)]
    together = coordinate_names(swept)
    assert len(set(together)) == len(swept)
    for name in [*together, *(coordinate_names([key])[0] for key in swept)]:
        assert name.isidentifier()
        assert not iskeyword(name)
        assert not hasattr(xr.Dataset, name), name
        assert name not in VARIABLES
        assert name not in COORDINATES
