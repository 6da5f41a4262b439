"""The numbers at rest against closed forms of a wall-sided ship, and what stands where none is."""

from __future__ import annotations

import math

import numpy as np
import pytest
import xarray as xr
from show_samples import Make

from rollsim.constants import GRAVITY
from rollsim.scenario.load import loads
from rollsim.show.tables import at_rest
from rollsim.show.tables.cells import statics
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import Row
from rollsim.study.plan import make_plan
from rollsim.study.stability import static_dataset

KM, BM, KG, K, SPEED = 5.8, 3.0, 5.3, 5.3, 6.0
BOX = f"""
format = 1
[ship]
name = "box"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = {{ kind = "wall-sided", km_m = {KM}, bm_m = {BM}, heel_max_deg = 50.0 }}
gravity = {{ kg_m = {KG} }}
inertia = {{ gyradius_m = {K} }}
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 4.0
peak_period_s = 10.0
heading_deg = 180.0
ship_speed_mps = {SPEED}
[run]
duration_s = 60.0
"""


def at_start(text: str = BOX) -> xr.Dataset:
    """The static picture of a scenario."""
    return static_dataset(make_plan(loads(text)))


@pytest.fixture(scope="module")
def box() -> Row:
    """The numbers at rest of the box."""
    return at_rest.rest_row(at_start(), 0)


def area(low_deg: float, high_deg: float) -> float:
    """Exact: ∫ sin φ (GM + ½ BM tan² φ) dφ = −GM cos φ + ½ BM (sec φ + cos φ)."""

    def whole(degrees: float) -> float:
        c = math.cos(math.radians(degrees))
        return -(KM - KG) * c + 0.5 * BM * (1.0 / c + c)

    return whole(high_deg) - whole(low_deg)


@pytest.mark.parametrize(("low", "high"), at_rest.AREAS)
def test_areas_are_those_of_the_wall_sided_form(box: Row, low: int, high: int) -> None:
    assert box[f"area_{low}_{high}_m_rad"] == pytest.approx(area(low, high), rel=1e-8)


def test_loading_levers_and_periods(box: Row) -> None:
    """Exact: T = 2πk/√(g GM); ω_e = ω + ω² U/g from ahead."""
    assert (box["displacement_t"], box["kg_m"]) == (4250.0, KG)
    assert box["km_m"] == pytest.approx(KM, abs=1e-12)
    assert box["greatest_gz_deg"] == pytest.approx(50.0)
    phi = math.radians(50.0)
    gz = math.sin(phi) * (KM - KG + 0.5 * BM * math.tan(phi) ** 2)
    assert box["greatest_gz_m"] == pytest.approx(gz, rel=1e-9)
    period = 2.0 * math.pi * K / math.sqrt(GRAVITY * (KM - KG))
    assert box["roll_period_upright_s"] == pytest.approx(period, rel=1e-12)
    assert box["roll_period_s"] == pytest.approx(period, rel=1e-9)
    omega = 2.0 * math.pi / 10.0
    met = omega + omega**2 * SPEED / GRAVITY
    assert box["encounter_period_s"] == pytest.approx(2.0 * math.pi / met, rel=1e-12)


def test_levers_that_end_while_they_right_her_are_told_as_such(box: Row) -> None:
    assert (box["vanishing_angle_deg"], box["gz_positive_to_deg"]) == (None, 50.0)
    assert box["gz_positive_to_port_deg"] == -50.0
    assert statics([box])[3].cells == ["< -50 / > 50 (end of levers)"]
    (greatest,) = (c for c in at_rest.columns([box]) if c.header == "at heel [°]")
    assert greatest.cells == ["50.0 (end of levers)"]
    assert box["area_to_vanishing_m_rad"] == pytest.approx(area(0, 50), rel=1e-8)


def test_without_stability_there_is_no_vanishing_angle(
    make: Make,
) -> None:
    ds = make()
    assert statics([at_rest.rest_row(ds, 0)])[3].cells == ["-54.0 / 54.0"]
    ds["righting_lever"].values[0] = -np.abs(ds["righting_lever"].values[0]) * np.sign(ds["heel"])
    for name in ("vanishing_angle", "vanishing_angle_port"):
        ds[name].values[0] = np.nan
    row = at_rest.rest_row(ds, 0)
    assert statics([row])[3].cells == ["–"]
    assert row["area_to_vanishing_m_rad"] is None


def test_one_side_may_end_and_the_other_vanish(box: Row) -> None:
    one = box | {"vanishing_angle_port_deg": -41.23, "gz_positive_to_port_deg": None}
    assert statics([one])[3].cells == ["-41.2 / > 50 (end of levers)"]


@pytest.mark.parametrize(
    ("sea", "period"),
    [
        ('kind = "calm"', None),
        # ω²U/g = ω: she keeps pace with the wave.
        (f'kind = "regular"\nheight_m = 1.0\nperiod_s = {2.0 * math.pi}\nheading_deg = 0.0\n'
         f"ship_speed_mps = {GRAVITY}", None),
        ('kind = "regular"\nheight_m = 1.0\nperiod_s = 9.0', 9.0),
    ],
)  # fmt: skip
def test_the_encounter_period_of_other_seas(sea: str, period: float | None) -> None:
    head, _, tail = BOX.partition("[sea]")
    text = f"{head}[sea]\n{sea}\n[run]{tail.partition('[run]')[2]}"
    found = at_rest.rest_row(at_start(text), 0)["encounter_period_s"]
    assert found == (period if period is None else pytest.approx(period, rel=1e-12))


def test_columns_name_what_a_file_of_an_older_program_lacks_not_at_all(make: Make) -> None:
    headers = [column.header for column in at_rest.columns([at_rest.rest_row(make(), 0)])]
    assert "KM [m]" in headers
    assert not [name for name in headers if "period" in name or "displacement" in name]
    assert all(isinstance(c, Column) for c in at_rest.columns([at_rest.rest_row(make(), 0)]))
