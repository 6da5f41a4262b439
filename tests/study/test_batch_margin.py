"""The energy margin of whole runs, worked out again by hand from the contract's definition."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pytest
from batch_samples import C1, C3, WINDAGE, Arrays, measured, one, plan_of
from numpy.typing import NDArray

from rollsim.constants import AIR_DENSITY, GRAVITY
from rollsim.engines.at_outputs import AtOutputs
from rollsim.names import Outcome

Floats = NDArray[np.float64]

K = 4.0
"""Gyradius of the samples' ship [m]."""
TOP = C1**2 / (-4.0 * C3)
"""The potential at the vanishing angle [m rad], ∫ (C1 φ + C3 φ³) dφ at √(−C1/C3)."""
INTEGRALS: dict[str, Callable[[Any], Any]] = {
    "constant": lambda phi: phi,
    "cos": np.sin,
    "cos2": lambda phi: 0.5 * phi + 0.25 * np.sin(2.0 * phi),
}
"""Of the heel laws, from upright."""
DAMPED = {"ship.damping": "linear_per_s = 0.05"}


def potential(phi: Floats | float) -> Floats:
    """∫ GZ dφ of the samples' ship [m rad]."""
    return np.asarray(0.5 * C1 * np.square(phi) + 0.25 * C3 * np.power(phi, 4))


def kinetic(rate: Floats | float) -> Floats:
    """k² p² / 2g [m rad]."""
    return np.asarray(K**2 * np.square(rate) / (2.0 * GRAVITY))


def motion(found: Arrays) -> tuple[Floats, Floats]:
    """Stored roll [rad] and rate [rad/s] of the only run."""
    roll, rate = (
        np.radians(found[f"roll_{name}"][0, 0].astype(float)) for name in ("angle", "rate")
    )
    return roll, rate


def well(v: Callable[[Any], Any], capsize_deg: float) -> tuple[float, float]:
    """Bottom of the lowest well and height of its lesser barrier, by looking everywhere."""
    phi = np.radians(np.linspace(-capsize_deg, capsize_deg, 100_001))
    values = v(phi)
    inner = values[1:-1]
    wells = np.flatnonzero((inner <= values[:-2]) & (inner < values[2:])) + 1
    if not wells.size:
        return math.nan, math.nan
    low = wells[np.argmin(values[wells])]
    barrier = min(values[: low + 1].max(), values[low:].max())
    return float(values[low]), float(barrier - values[low])


def v_at(v: Callable[[Any, int], Any], i: int, phi: Any) -> Any:
    """The potential at output point `i`."""
    return v(phi, i)


def by_hand(found: Arrays, v: Callable[[Any, int], Any], capsize_deg: float = 100.0) -> float:
    """The margin of a calm run from its stored histories; `v` the potential at an output point."""
    roll, rate = motion(found)
    ratio = []
    for i in range(int(np.count_nonzero(np.isfinite(roll)))):
        low, height = well(partial(v_at, v, i), capsize_deg)
        ratio.append((kinetic(rate[i]) + v(roll[i], i) - low) / height)
    return float(1.0 - np.max(ratio))


@pytest.mark.parametrize("roll", [20.0, -35.0, 60.0])
def test_a_decaying_run_has_its_energy_of_the_start(roll: float) -> None:
    found = measured(DAMPED | {"start": f"roll_deg = {roll}"})
    expected = 1.0 - potential(math.radians(roll)) / TOP
    assert one(found, "energy_margin") == pytest.approx(expected, rel=1e-9)


def test_the_rate_at_the_start_counts() -> None:
    found = measured(DAMPED | {"start": "roll_deg = 10.0\nroll_rate_deg_per_s = -20.0"})
    energy = potential(math.radians(10.0)) + kinetic(math.radians(20.0))
    assert one(found, "energy_margin") == pytest.approx(1.0 - energy / TOP, rel=1e-9)


def test_at_rest_the_margin_is_one() -> None:
    assert one(measured(), "energy_margin") == 1.0


def test_a_capsize_angle_inside_the_vanishing_angle_is_the_barrier() -> None:
    found = measured(DAMPED | {"start": "roll_deg = 20.0", "limits": "capsize_deg = 40.0"})
    expected = 1.0 - potential(math.radians(20.0)) / potential(math.radians(40.0))
    assert one(found, "energy_margin") == pytest.approx(expected, rel=1e-9)


def test_without_damping_zero_parts_survival_from_capsize() -> None:
    margins = {}
    for share in (0.99, 1.01):
        rate = math.degrees(math.sqrt(share * TOP * 2.0 * GRAVITY) / K)
        found = measured({"start": f"roll_rate_deg_per_s = {rate}"})
        margins[one(found, "outcome")] = one(found, "energy_margin")
    assert margins[Outcome.SURVIVED] == pytest.approx(0.01, abs=1e-6)
    assert margins[Outcome.CAPSIZED] == pytest.approx(-0.01, abs=1e-6)


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_a_capsized_run_has_its_greatest_energy_not_that_of_its_end(method: str) -> None:
    """She is damped on her way over: the energy of the start is the greatest."""
    share = 3.0
    rate = math.degrees(math.sqrt(share * TOP * 2.0 * GRAVITY) / K)
    tables = {"ship.damping": "linear_per_s = 0.2", "start": f"roll_rate_deg_per_s = {rate}"}
    tables["limits"] = "capsize_deg = 80.0"
    found = measured(tables | {"run": f'duration_s = 20.0\nmethod = "{method}"'})
    assert one(found, "outcome") == Outcome.CAPSIZED
    assert one(found, "energy_margin") == pytest.approx(1.0 - share, rel=1e-5)


def test_beyond_the_barrier_s_heel_no_energy_is_too_small() -> None:
    """At rest past the vanishing angle of 66° she has less than the barrier, and goes over."""
    outputs = AtOutputs(plan_of(DAMPED).cases[0])
    heel = np.radians([80.0, -80.0, 50.0])
    ratio = outputs.energy_ratio(np.zeros(3, dtype=np.intp), heel, np.zeros(3))
    assert ratio.tolist() == pytest.approx([1.0, 1.0, float(potential(heel[2])) / TOP])


def test_two_wells_have_no_barrier_between_them() -> None:
    lever = 'kind = "polynomial"\ngz_m_per_rad = [-0.1, 0.0, 0.9, 0.0, -0.5]\n'
    lever += "kg_m = 5.0\nheel_max_deg = 100.0"
    found = measured(DAMPED | {"ship.levers": lever, "start": "roll_deg = 0.5"})

    def v(phi: Any) -> Any:
        return -0.05 * np.square(phi) + 0.225 * np.power(phi, 4) - 0.5 / 6.0 * np.power(phi, 6)

    low, height = well(v, 100.0)
    expected = 1.0 - (v(math.radians(0.5)) - low) / height
    assert found["loll_angle"][0] == pytest.approx(20.0, abs=1.0)
    assert one(found, "energy_margin") == pytest.approx(expected, rel=1e-6)
    assert 0.0 < expected < 1.0


@pytest.mark.parametrize(("law", "side"), [("constant", "port"), ("cos", "starboard"),
                                           ("cos2", "port")])  # fmt: skip
def test_the_mean_wind_lowers_the_barrier_of_its_lee_and_gusts_do_not(law: str, side: str) -> None:
    gust = "[[wind.gust]]\nat_s = 3.0\nrise_s = 1.0\nhold_s = 2.0\nspeed_factor = 1.5"
    wind = f'speed_mps = 40.0\nfrom = "{side}"\nheel_law = "{law}"\n{gust}'
    found = measured(DAMPED | {"ship.windage": WINDAGE, "wind": wind})
    h = 0.5 * AIR_DENSITY * 1.22 * 300.0 * 5.0 * 40.0**2 / (1e6 * GRAVITY)
    h = h if side == "port" else -h
    expected = by_hand(found, lambda phi, _: potential(phi) - h * INTEGRALS[law](phi))
    assert abs(h) > 0.1
    assert one(found, "energy_margin") == pytest.approx(expected, abs=2e-6)


def test_a_growing_heeling_lever_moves_the_barrier() -> None:
    event = '[[events]]\nkind = "heeling-lever"\nat_s = 4.0\nover_s = 10.0\nlever_m = 0.2\n'
    found = measured(DAMPED | {"start": "roll_deg = 15.0"}, event)
    lever = 0.2 * np.clip((found["t"] - 4.0) / 10.0, 0.0, 1.0)
    np.testing.assert_allclose(found["heeling_lever"][0, 0], lever, atol=1e-7)
    expected = by_hand(found, lambda phi, i: potential(phi) - lever[i] * phi)
    at_start = 1.0 - float(potential(math.radians(15.0))) / TOP
    assert one(found, "energy_margin") == pytest.approx(expected, abs=2e-6)
    assert expected < at_start - 0.05


@pytest.mark.parametrize("height", ["kg_m = 4.8", "kg_m = 4.6\nfree_surface_m = 0.2"])
def test_moved_weights_move_well_and_barrier(height: str) -> None:
    event = '[[events]]\nkind = "move-weight"\nat_s = 2.0\nover_s = 5.0\nmass_t = 50.0\n'
    event += "across_m = 3.0\nup_m = 2.0\n"
    found = measured(DAMPED | {"ship.gravity": f"{height}\noff_centre_m = -0.02"}, event)
    share = np.clip((found["t"] - 2.0) / 5.0, 0.0, 1.0)
    kg, across = 4.8 + 0.1 * share, -0.02 + 0.15 * share

    def v(phi: Any, i: int) -> Any:
        return potential(phi) + (5.0 - kg[i]) * (1.0 - np.cos(phi)) - across[i] * np.sin(phi)

    assert one(found, "energy_margin") == pytest.approx(by_hand(found, v), abs=2e-6)


def test_a_heavier_ship_feels_the_wind_less() -> None:
    """A weight loaded at the height of G, a tenth of the ship's: the wind's lever over 1.1."""
    event = '[[events]]\nkind = "add-weight"\nat_s = 0.0\nmass_t = 100.0\nheight_m = 5.0\n'
    wind = 'speed_mps = 40.0\nfrom = "port"\nheel_law = "constant"'
    found = measured(DAMPED | {"ship.windage": WINDAGE, "wind": wind}, event)
    h = 0.5 * AIR_DENSITY * 1.22 * 300.0 * 5.0 * 40.0**2 / (1e6 * GRAVITY) / 1.1
    expected = by_hand(found, lambda phi, _: potential(phi) - h * phi)
    assert one(found, "energy_margin") == pytest.approx(expected, abs=2e-6)


def test_in_waves_the_heel_against_the_water_counts() -> None:
    sea = 'kind = "regular"\nheight_m = 2.0\nperiod_s = 7.0\nslope_coefficient = 0.8'
    found = measured(DAMPED | {"sea": sea})
    omega = math.tau / 7.0
    steepness = 0.8 * omega**2 / GRAVITY
    slope = -steepness * np.sin(omega * found["t"])
    np.testing.assert_allclose(np.radians(found["wave_slope"][0, 0]), slope, atol=1e-7)
    roll, rate = motion(found)
    water = -steepness * omega * np.cos(omega * found["t"])
    energy = kinetic(rate - water) + potential(roll - slope)
    assert one(found, "energy_margin") == pytest.approx(1.0 - energy.max() / TOP, abs=2e-6)

    absolute = measured(DAMPED | {"sea": sea + '\nexcitation = "absolute"'})
    roll, rate = motion(absolute)
    energy = kinetic(rate) + potential(roll)
    assert one(absolute, "energy_margin") == pytest.approx(1.0 - energy.max() / TOP, abs=2e-6)


def test_it_is_missing_where_at_some_moment_nothing_holds_her() -> None:
    event = '[[events]]\nkind = "heeling-lever"\nat_s = 19.0\nover_s = 0.5\nlever_m = 0.5\n'
    found = measured(DAMPED, event)
    assert one(found, "outcome") == Outcome.SURVIVED
    assert math.isnan(one(found, "energy_margin"))


def test_only_the_time_from_settle_on_counts() -> None:
    run = 'duration_s = 20.0\nsettle_s = 10.0\nmethod = "DOP853"'
    found = measured(DAMPED | {"start": "roll_deg = 30.0", "run": run})
    later = found["t"] >= 10.0
    roll, rate = motion(found)
    energy = kinetic(rate[later]) + potential(roll[later])
    assert one(found, "energy_margin") == pytest.approx(1.0 - energy.max() / TOP, abs=1e-6)
    assert one(found, "roll_max") < 29.0
