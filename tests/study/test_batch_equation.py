"""A run with everything on, against the contract's equation written out here in plain Python."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from batch_samples import C1, C3, WINDAGE, measured
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rollsim.constants import AIR_DENSITY, GRAVITY

Floats = NDArray[np.float64]

GYRADIUS, B1, B2, B3 = 3.5, 0.02, 0.3, 0.4
KG, ACROSS, RISE = 4.9, 0.01, 0.06
HEIGHT, PERIOD, PHASE, HEADING, SPEED, FACTOR, RAMP = 1.2, 7.0, 0.4, 2.0, 4.0, 0.7, 5.0
TABLES = {
    "ship.inertia": f"gyradius_m = {GYRADIUS}",
    "ship.damping": f"linear_per_s = {B1}\nquadratic = {B2}\ncubic_s = {B3}",
    "ship.gravity": f"kg_m = {KG}\noff_centre_m = {ACROSS}\nfree_surface_m = {RISE}",
    "ship.windage": WINDAGE,
    "wind": 'speed_mps = 18.0\nfrom = "starboard"\nheel_law = "cos2"\ndrag_coefficient = 1.1\n'
    "[[wind.gust]]\nat_s = 6.0\nrise_s = 2.0\nhold_s = 3.0\nspeed_factor = 1.4",
    "start": "roll_deg = 6.0\nroll_rate_deg_per_s = -2.0",
}
EVENTS = (
    '[[events]]\nkind = "add-weight"\nat_s = 4.0\nover_s = 6.0\nmass_t = 30.0\n'
    "height_m = 7.0\nacross_m = 1.0\n"
    '[[events]]\nkind = "heeling-lever"\nat_s = 9.0\nover_s = 0.0\nlever_m = -0.015\n'
)
CORNERS = (0.0, 4.0, 5.0, 6.0, 8.0, 9.0, 10.0, 11.0, 13.0, 20.0)


def wave(t: float) -> tuple[float, float]:
    """Effective slope [rad] and its rate [rad/s]."""
    omega = math.tau / PERIOD
    met = omega - omega**2 * SPEED * math.cos(HEADING) / GRAVITY
    size = FACTOR * 0.5 * HEIGHT * omega**2 / GRAVITY * math.sin(HEADING)
    slope, rate = -size * math.sin(met * t + PHASE), -size * met * math.cos(met * t + PHASE)
    if t >= RAMP:
        return slope, rate
    turn = math.pi / RAMP
    grown = 0.5 * (1.0 - math.cos(turn * t))
    return grown * slope, grown * rate + 0.5 * turn * math.sin(turn * t) * slope


def lever_on(t: float, roll: float, before: bool) -> float:
    """Wind and heeling levers [m]; `before` a sudden change at this very moment."""
    mass = 1.0 + 0.03 * min(max((t - 4.0) / 6.0, 0.0), 1.0)
    speed = 18.0 * float(np.interp(t, [6.0, 8.0, 11.0, 13.0], [1.0, 1.4, 1.4, 1.0]))
    moment = 0.5 * AIR_DENSITY * 1.1 * 300.0 * 5.0 * speed**2 * math.cos(roll) ** 2
    on = t > 9.0 or (t == 9.0 and not before)
    return -moment / (1e6 * GRAVITY * mass) - (0.015 if on else 0.0)


def righting(t: float, heel: float) -> float:
    """GZ [m] with the weight that has come by now."""
    share = 0.03 * min(max((t - 4.0) / 6.0, 0.0), 1.0)
    kg = (KG + 7.0 * share) / (1.0 + share)
    across = (ACROSS + 1.0 * share) / (1.0 + share)
    kn = C1 * heel + C3 * heel**3 + 5.0 * math.sin(heel)
    return kn - (kg + RISE) * math.sin(heel) - across * math.cos(heel)


def rolled(absolute: bool) -> tuple[Floats, Floats]:
    """Times [s] and roll [rad] of the equation above."""
    gm = C1 + 5.0 - KG - RISE
    inertia = GYRADIUS**2 / GRAVITY

    def equation(t: float, y: Floats, end: float) -> list[float]:
        slope, slope_rate = wave(t)
        heel, p = (y[0], y[1]) if absolute else (y[0] - slope, y[1] - slope_rate)
        moment = lever_on(t, y[0], before=t == end) + (gm * slope if absolute else 0.0)
        damping = B1 * p + B2 * abs(p) * p + B3 * p**3
        return [y[1], (moment - righting(t, heel)) / inertia - damping]

    state = np.radians([6.0, -2.0])
    times, rolls = [], []
    for start, end in pairwise(CORNERS):
        grid = np.arange(start, end + 0.25, 0.5)
        found = solve_ivp(
            equation, (start, end), state, "DOP853", grid, args=(end,), rtol=1e-11, atol=1e-12
        )
        state = found.y[:, -1]
        times.append(grid[:-1])
        rolls.append(found.y[0, :-1])
    return np.append(np.concatenate(times), 20.0), np.append(np.concatenate(rolls), state[0])


@pytest.mark.parametrize("excitation", ["relative", "absolute"])
def test_a_run_obeys_the_equation(excitation: str) -> None:
    sea = (
        f'kind = "regular"\nheight_m = {HEIGHT}\nperiod_s = {PERIOD}\nramp_s = {RAMP}\n'
        f"phase_deg = {math.degrees(PHASE)}\nheading_deg = {math.degrees(HEADING)}\n"
        f'ship_speed_mps = {SPEED}\nslope_coefficient = {FACTOR}\nexcitation = "{excitation}"'
    )
    found = measured(TABLES | {"sea": sea}, EVENTS)
    times, roll = rolled(absolute=excitation == "absolute")
    np.testing.assert_allclose(found["t"], times)
    np.testing.assert_allclose(found["roll_angle"][0, 0], np.degrees(roll), atol=2e-5)
    assert np.ptp(roll) > 0.2
    lever = [lever_on(t, phi, before=False) for t, phi in zip(times, roll, strict=True)]
    np.testing.assert_allclose(found["heeling_lever"][0, 0], lever, atol=1e-6)
    np.testing.assert_allclose(
        np.radians(found["wave_slope"][0, 0]), [wave(t)[0] for t in times], atol=1e-7
    )
