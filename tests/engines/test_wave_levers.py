"""Levers in waves with levels of their own: the same in both engines, and held past their ends."""

from __future__ import annotations

import math

import numpy as np
import pytest
from comparing import compared
from engine_cases import HEEL, KN, Recipe, case_of

from rollsim.motion.moments import kn
from rollsim.ship.damping import Damping
from rollsim.ship.wave_levers import WaveLevers, from_tables
from rollsim.weather.sea import RegularWave
from rollsim.weather.spectra import bretschneider

KM = 5.659
ELEVATION = np.linspace(-4.0, 4.0, 17)


def bent(change: float, bend: float) -> WaveLevers:
    """GM that changes by change ζ + bend ζ², and with it the whole curve."""
    heel = np.radians(HEEL)
    shift = change * ELEVATION + bend * ELEVATION**2
    rows = np.array(KN) + shift[:, None] * np.sin(heel)
    return from_tables(ELEVATION, heel, rows, KM + shift)


HEAD_SEA = Recipe(
    waves=bretschneider(5.0, peak_period=9.0),
    heading=math.pi,
    speed=1.0,
    start=(0.08, 0.0),
    damping=Damping(0.02, 0.3),
    in_waves=bent(-0.06, 0.02),
    duration=200.0,
)
SEAS = {
    "head sea": HEAD_SEA,
    "quartering": Recipe(**{**HEAD_SEA.__dict__, "heading": math.radians(40.0), "speed": 3.0}),
    "regular, past the levels": Recipe(
        **{
            **HEAD_SEA.__dict__,
            "waves": RegularWave(9.0, 7.5, 0.3),
            "in_waves": bent(-0.03, 0.0),
        }
    ),
}


@pytest.mark.parametrize("name", SEAS)
def test_both_engines_agree(name: str) -> None:
    found = compared(SEAS[name])
    assert found.deviation[0] <= math.degrees(found.engine.case.accuracy)
    assert abs(float(found.reference.numbers["roll_max"][0])) > 2.0


def test_levels_of_the_simple_form_are_the_simple_form() -> None:
    straight = {**HEAD_SEA.__dict__, "in_waves": bent(-0.05, 0.0), "duration": 200.0}
    simple = {**straight, "in_waves": None, "gm_per_m": -0.05}
    ours, theirs = (compared(Recipe(**each), 2).block for each in (straight, simple))
    np.testing.assert_allclose(ours.histories[0], theirs.histories[0], atol=0.005)


def test_a_level_holds_at_its_elevation_and_the_last_ones_beyond() -> None:
    levers = bent(-0.06, 0.02)
    c = case_of(HEAD_SEA).coefficients
    assert levers.elevation[0] == pytest.approx(-4.0)
    for elevation in (-4.0, -1.2, 0.0, 0.5, 3.7):
        shift = -0.06 * elevation + 0.02 * elevation**2
        for heel in (-0.6, 0.1, 0.9):
            calm = HEAD_SEA.levers.kn(heel)
            expected = float(calm) + shift * math.sin(heel)
            assert kn(heel, elevation, c) == pytest.approx(expected, abs=1e-6)
    for heel in (-0.4, 0.7):
        assert kn(heel, 9.0, c) == kn(heel, 4.0, c)
        assert kn(heel, -9.0, c) == kn(heel, -4.0, c)


def test_the_change_of_gm_that_comes_nearest() -> None:
    straight = bent(-0.06, 0.0).simple_form
    assert straight.gm_per_m == pytest.approx(-0.06)
    assert straight.miss < 1e-6
    levers = bent(-0.06, 0.02)
    assert levers.simple_form.gm_per_m == pytest.approx(-0.06)
    assert levers.simple_form.miss == pytest.approx(0.02 * 16.0 * math.sin(math.radians(40.0)))
    assert abs(levers.simple_form.at) == pytest.approx(4.0)
    assert len(levers.levels) == 81
