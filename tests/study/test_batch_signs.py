"""Which way is which: wind, off-centre weight and waves, each on its own."""

from __future__ import annotations

import math

import numpy as np
import pytest
from batch_samples import C1, KG, WINDAGE, Arrays, measured, one

from rollsim.constants import AIR_DENSITY, GRAVITY


def wind(side: str) -> Arrays:
    """A run in a wind from a side, from upright."""
    table = f'speed_mps = 20.0\nfrom = "{side}"'
    return measured({"ship.windage": WINDAGE, "wind": table})


def test_wind_from_port_heels_to_starboard() -> None:
    found = wind("port")
    lever = 0.5 * AIR_DENSITY * 1.22 * 300.0 * 5.0 * 400.0 / (1e6 * GRAVITY)
    assert one(found, "static_heel") == pytest.approx(math.degrees(lever / C1), rel=0.01)
    np.testing.assert_allclose(found["steady_heeling_lever"], lever, rtol=1e-12)
    np.testing.assert_allclose(found["heeling_lever"], lever, rtol=1e-6)
    assert found["roll_angle"][0, 0, 1] > 0.0
    assert one(found, "roll_min") == pytest.approx(0.0, abs=1e-6)


def test_wind_from_starboard_is_the_mirror_image() -> None:
    port, starboard = wind("port"), wind("starboard")
    for name in ("roll_angle", "roll_rate", "heeling_lever", "static_heel"):
        np.testing.assert_allclose(starboard[name], -port[name], rtol=1e-6, err_msg=name)
    assert one(starboard, "roll_min") == pytest.approx(-one(port, "roll_max"), rel=1e-9)
    assert one(starboard, "energy_margin") == pytest.approx(one(port, "energy_margin"), rel=1e-9)


def test_a_weight_off_centre_to_starboard_heels_to_starboard() -> None:
    found = measured({"ship.gravity": f"kg_m = {KG}\noff_centre_m = 0.05"})
    assert one(found, "static_heel") == pytest.approx(math.degrees(0.05 / C1), rel=0.02)
    assert found["roll_angle"][0, 0, 1] > 0.0
    assert found["righting_lever"][0, found["heel"] == 0.0] == pytest.approx(-0.05)
    np.testing.assert_allclose(found["centre_of_gravity_y"], 0.05, rtol=1e-12)


def test_a_positive_heeling_lever_heels_to_starboard() -> None:
    event = '[[events]]\nkind = "heeling-lever"\nat_s = 0.0\nover_s = 0.0\nlever_m = 0.02\n'
    found = measured(more=event)
    assert found["roll_angle"][0, 0, 1] > 0.0
    np.testing.assert_allclose(found["heeling_lever"], 0.02, rtol=1e-6)
    assert one(found, "static_heel") == 0.0
    assert not found["steady_heeling_lever"].any()


@pytest.mark.parametrize(("heading", "side"), [(90.0, 1.0), (270.0, -1.0), (-90.0, -1.0)])
def test_waves_at_heading_90_come_from_port(heading: float, side: float) -> None:
    # With phase −90° the crest is a quarter of a period away: the surface between it and the
    # ship is highest on the side that it comes from, and tips her the other way.
    sea = 'kind = "regular"\nheight_m = 1.0\nperiod_s = 6.0\nphase_deg = -90.0\n'
    found = measured({"sea": sea + f"slope_coefficient = 1.0\nheading_deg = {heading}"})
    omega = math.tau / 6.0
    steepest = math.degrees(0.5 * omega**2 / GRAVITY)
    assert found["wave_slope"][0, 0, 0] == pytest.approx(side * steepest, rel=1e-6)
    assert side * found["roll_angle"][0, 0, 1] > 0.0


@pytest.mark.parametrize("heading", [0.0, 180.0, 360.0])
def test_waves_along_the_ship_do_not_roll_her(heading: float) -> None:
    found = measured({"sea": f'kind = "regular"\nheight_m = 3.0\nperiod_s = 6.0\n'
                      f"heading_deg = {heading}"})  # fmt: skip
    assert not found["wave_slope"].any()
    assert not found["roll_angle"].any()


@pytest.mark.parametrize(("heading", "against"), [(135.0, True), (45.0, False)])
def test_waves_from_ahead_come_faster_the_faster_she_goes(heading: float, against: bool) -> None:
    sea = 'kind = "regular"\nheight_m = 1.0\nperiod_s = 10.0\nship_speed_mps = 5.0\n'
    found = measured({"sea": sea + f"heading_deg = {heading}"})
    omega = math.tau / 10.0
    met = omega - omega**2 * 5.0 * math.cos(math.radians(heading)) / GRAVITY
    assert (met > omega) is against
    slope = found["wave_slope"][0, 0]
    fitted = np.sin(met * found["t"])
    np.testing.assert_allclose(slope, np.min(slope) / np.max(fitted) * fitted, atol=0.02)
