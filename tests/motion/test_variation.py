"""The exact derivatives of the equation of roll against differences of the equation itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_samples import DAMPING, INERTIA, KINDS, Floats

from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.equation import acceleration, on_water, water_at, wind_at
from rollsim.motion.timeline import FILLING, Base, Change, timeline
from rollsim.motion.variation import slopes
from rollsim.ship.levers import Gravity

SEGMENT = timeline(
    50.0, Base(Gravity(5.2, 0.03, 0.1), 14.0), [Change(0.0, 50.0, 0.05, 0.3, 0.02, 0.01)]
)[0]
KEYS = {
    "relative": {"relative": True, "absolute_gm": 0.0, "added_share": 0.0},
    "absolute": {"relative": False, "absolute_gm": 0.6, "added_share": 0.0},
    "following inertia": {"relative": True, "absolute_gm": 0.0, "added_share": 0.25},
}
STEP = 1e-5


def sample(kind: str, how: str, law: str, gm_per_m: float) -> Coefficients:
    calm = calm_coefficients(KINDS[kind], INERTIA, DAMPING, 1e-4, law, gm_per_m)
    waves = np.array([[0.7], [0.4], [0.1], [1.5]])
    return calm._replace(waves=waves, **KEYS[how])  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("how", KEYS)
@pytest.mark.parametrize(("law", "gm_per_m"), [("constant", -0.1), ("cos2", 0.0), ("cos", 0.05)])
def test_slopes(kind: str, how: str, law: str, gm_per_m: float) -> None:
    c = sample(kind, how, law, gm_per_m)
    random = np.random.default_rng(4)
    for _ in range(20):
        time, y, rate = random.uniform([0.0, -0.5, -0.3], [50.0, 0.5, 0.3])
        made = slopes(time, y, rate, c, SEGMENT)
        place = np.array([y, rate, *water_at(time, c, SEGMENT)])
        differences = [
            (at(place + shift, time, c) - at(place - shift, time, c)) / (2.0 * STEP)
            for shift in STEP * np.eye(5)
        ]
        assert list(made) == pytest.approx(differences, abs=2e-6)
        assert at(place, time, c) == acceleration(time, y, rate, c, SEGMENT)


def at(place: Floats, time: float, c: Coefficients, segment: Floats = SEGMENT) -> float:
    """y″ for y, y′, slope, its rate and elevation in `place`."""
    y, rate, *water = map(float, place)
    wet = water[0], water[1], water[2]
    return float(on_water((y, rate), wet, wind_at(time, c, segment), time, c, segment))


def test_slopes_with_tanks_that_fill_and_levers_over_many_elevations() -> None:
    """Rows of any values do: the derivatives are those of the table's own quintics."""
    c = sample("table", "relative", "cos", 0.0)
    random = np.random.default_rng(6)
    rows = c.kn.shape[1]
    heel = c.lever_step * (np.arange(rows) - c.lever_upright)
    wave = np.stack([np.sin(heel), np.cos(heel), -np.sin(heel)], axis=1)
    kn = np.stack([c.kn[0] + size * wave for size in (-0.1, 0.0, 0.15)])
    filling = np.stack([size * wave for size in (0.0, 0.05, 0.02)])
    c = c._replace(kn=kn, filling=filling, first_level=-1.0, level_step=1.0)
    segment = SEGMENT.copy()
    segment[FILLING], segment[FILLING + 1] = 0.2, 0.03
    for _ in range(20):
        time, y, rate = random.uniform([0.0, -0.5, -0.3], [50.0, 0.5, 0.3])
        made = slopes(time, y, rate, c, segment)
        place = np.array([y, rate, *water_at(time, c, segment)])
        if abs(abs(place[4]) - 1.0) < 1e-3 or abs(place[4]) < 1e-3:
            continue  # at a level itself the lever has a corner
        differences = [
            (at(place + shift, time, c, segment) - at(place - shift, time, c, segment))
            / (2.0 * STEP)
            for shift in STEP * np.eye(5)
        ]
        assert list(made) == pytest.approx(differences, abs=2e-6)


def test_beyond_the_levers_the_lever_is_held() -> None:
    c = sample("wall-sided", "relative", "constant", 0.0)
    calm = c._replace(waves=c.waves * np.array([[1.0], [1.0], [0.0], [0.0]]))
    heel = math.radians(60.0)
    made = slopes(0.0, heel, 0.0, calm, SEGMENT)
    kg, off = 5.2 + 0.1, 0.03
    lost = kg * math.cos(heel) - off * math.sin(heel)
    assert made.angle == pytest.approx(lost / INERTIA, rel=1e-9)
