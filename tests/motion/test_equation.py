"""The sum of the moments is the design's equation, term by term.

The reference below is written in φ and ψ = φ − α with the true α″; the code carries y = φ − s α,
whose second derivative must then be φ″ − s α″.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_samples import DAMPING, INERTIA, KINDS, direct, raised, sea

from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients, pack
from rollsim.motion.equation import acceleration, along, derivative
from rollsim.motion.timeline import Base, Change, Setting, loading_at, segment_at, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.weather.wind import Gust

WAVES = sea(4)
TABLE = KINDS["table"]
CHANGES = [Change(5.0, 20.0, 0.1, 0.9, 0.2), Change(10.0, 0.0, lever=0.05)]
SETTINGS = [Setting("waves", 1.5, 2.0, 20.0)]
GUSTS = (Gust(12.0, 4.0, 10.0, 1.4),)
SEGMENTS = timeline(40.0, Base(Gravity(5.2, 0.02, 0.1), 20.0), CHANGES, SETTINGS, GUSTS)
GM_PER_M = -0.05
TABLE_ERROR = 1e-10
"""Of a lever from the table [m]: what the table promises."""


def in_waves(
    relative: bool, added: float = 0.0, heel_law: str = "cos2", gm_per_m: float = 0.0
) -> Coefficients:
    calm = calm_coefficients(TABLE, INERTIA, DAMPING, 2e-4, heel_law, gm_per_m)
    calm = calm._replace(relative=relative, absolute_gm=0.0 if relative else 0.36)
    waves = with_waves(calm._replace(added_share=added), WAVES, 40.0, elevation=gm_per_m != 0.0)
    return waves._replace(wind_factor=1.1)


def water(time: float) -> tuple[float, float, float]:
    """Slope, its rate and the elevation by the contract's sums, times the event's factor."""
    slope, rate = (float(value[0]) for value in direct(WAVES, np.array([time])))
    elevation = float(raised(WAVES, np.array([time]))[0])
    factor = 1.0 + 0.5 * min(max((time - 2.0) / 20.0, 0.0), 1.0)
    growth = 0.025 if 2.0 <= time < 22.0 else 0.0
    return factor * slope, factor * rate + growth * slope, factor * elevation


def by_hand(time: float, roll: float, rate: float, relative: bool, gm_per_m: float = 0.0) -> float:
    """φ″ − s α″ of the design's equation in plain Python, per unit weight at t = 0."""
    slope, slope_rate, elevation = water(time)
    grown = min(max((time - 5.0) / 20.0, 0.0), 1.0)
    mass = 1.0 + 0.1 * grown
    kg = (5.2 + 0.9 * grown) / mass + 0.1
    off_centre = (0.02 + 0.2 * grown) / mass
    speed = 1.1 * 20.0 * (1.0 + 0.4 * min(max((time - 12.0) / 4.0, 0.0), 1.0))
    heel, heel_rate = (roll - slope, rate - slope_rate) if relative else (roll, rate)
    kn = float(TABLE.kn(heel)) + gm_per_m * elevation * math.sin(heel)
    gz = kn - kg * math.sin(heel) - off_centre * math.cos(heel)
    lever = 2e-4 * speed**2 * math.cos(roll) ** 2 / mass + (0.05 if time >= 10.0 else 0.0)
    if not relative:
        lever += 0.36 * slope
    b1, b2, b3 = DAMPING
    drag = b1 * heel_rate + b2 * abs(heel_rate) * heel_rate + b3 * heel_rate**3
    return (lever - gz) / INERTIA - drag


@pytest.mark.parametrize(
    ("relative", "added", "gm_per_m"),
    [(True, 0.0, 0.0), (False, 0.0, 0.0), (True, 0.25, 0.0), (True, 0.4, GM_PER_M)],
)
@settings(deadline=None)
@given(time=st.floats(0.0, 25.0), roll=st.floats(-1.2, 1.2), rate=st.floats(-1.0, 1.0))
def test_the_acceleration_is_the_equation_by_hand(
    relative: bool, added: float, gm_per_m: float, time: float, roll: float, rate: float
) -> None:
    c = in_waves(relative, added, gm_per_m=gm_per_m)
    segment = SEGMENTS[segment_at(np.array([time]), SEGMENTS)[0]]
    expected = by_hand(time, roll, rate, relative, gm_per_m)
    slope, slope_rate, _ = water(time)
    y, y_rate = roll - added * slope, rate - added * slope_rate
    assert acceleration(time, y, y_rate, c, segment) == pytest.approx(expected, abs=TABLE_ERROR)
    found = derivative(time, np.array([y, y_rate]), *pack(c), segment)
    assert found == pytest.approx([y_rate, expected], abs=TABLE_ERROR)


@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
@pytest.mark.parametrize("law", ["constant", "cos", "cos2"])
def test_without_damping_the_force_is_the_slope_of_the_statics_potential(
    levers: Levers, law: str
) -> None:
    """The energy of statics and the equation of motion are of one piece."""
    gravity, speed = Gravity(5.1, 0.03, 0.08), 25.0
    c = calm_coefficients(levers, INERTIA, Damping(), 2e-4, law)
    segment = timeline(10.0, Base(gravity, speed), [Change(0.0, 0.0, lever=-0.02)])[0]
    curve = RightingCurve(levers, gravity, Heeling(2e-4 * speed**2, law, -0.02))
    step = 1e-5
    for roll in np.linspace(levers.heel_min + 0.01, levers.heel_max - 0.01, 23):
        force = INERTIA * acceleration(3.0, roll, 0.4, c, segment)
        slope = (curve.potential(roll + step) - curve.potential(roll - step)) / (2.0 * step)
        assert force == pytest.approx(-float(slope), abs=1e-9)
        assert force == pytest.approx(-float(curve.value(roll)), abs=2.0 * TABLE_ERROR)


def test_the_water_damps_and_the_earth_does_not() -> None:
    """With relative excitation a ship that goes with the water is not braked."""
    c = in_waves(relative=True)
    slope, rate, _ = water(1.0)
    with_water = acceleration(1.0, slope, rate, c, SEGMENTS[0])
    undamped = c._replace(linear=0.0, quadratic=0.0, cubic=0.0)
    assert with_water == pytest.approx(
        acceleration(1.0, slope, rate, undamped, SEGMENTS[0]), abs=1e-13
    )
    assert acceleration(1.0, slope, rate + 0.1, c, SEGMENTS[0]) < with_water


@pytest.mark.parametrize("law", ["constant", "cos2"])
@pytest.mark.parametrize("added", [0.0, 0.3])
def test_what_belongs_to_a_history(law: str, added: float) -> None:
    """From states y, y′: roll, its rate, slope, its rate, and the heeling levers at that roll."""
    c = in_waves(relative=True, added=added, heel_law=law)
    times = np.arange(0.0, 40.1, 2.5)
    rolls, rates = 0.3 * np.sin(times), 0.3 * np.cos(times)
    slope, slope_rate, _ = np.array([water(time) for time in times]).T
    states = np.array([rolls - added * slope, rates - added * slope_rate])
    found = along(times, states, SEGMENTS, segment_at(times, SEGMENTS), c)
    assert found[0] == pytest.approx(rolls, abs=1e-13)
    assert found[1] == pytest.approx(rates, abs=1e-13)
    assert found[2] == pytest.approx(slope, abs=1e-13)
    assert found[3] == pytest.approx(slope_rate, abs=1e-13)
    mass, _, _, event, _, speed = loading_at(times, SEGMENTS).T
    power = 0 if law == "constant" else 2
    lever = 2e-4 * (1.1 * speed) ** 2 * np.cos(rolls) ** power / mass + event
    assert found[4] == pytest.approx(lever, abs=1e-13)
