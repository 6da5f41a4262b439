"""The water's share of the inertia follows the slope: the linear ship in a regular beam sea.

(k²/g)(φ″ − s α″) = −(k²/g) b1 (φ′ − α′) − GM (φ − α), divided by k²/g and with e^(iωt) for α:
H = (ω0² − s ω² + i b1 ω) / (ω0² − ω² + i b1 ω) from slope to roll. Derived here from the equation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import Motion, harmonic, moved, polynomial_ship

from rollsim.forcing.single import with_waves
from rollsim.motion.timeline import Base, timeline
from rollsim.ship.damping import Damping
from rollsim.weather.sea import Components

NATURAL = 1.0
"""Of the unit ship, k²/g = 1 and GM 1 m [rad/s]."""
LINEAR = 0.12
SLOPE, PHASE = 0.01, 0.4


def in_waves(
    frequency: float, share: float, start: tuple[float, float], duration: float, step: float
) -> Motion:
    """Her run in a slope −SLOPE sin(ω t + PHASE)."""
    ship = polynomial_ship(1.0, damping=Damping(LINEAR))
    waves = Components(*np.array([[frequency], [0.0], [SLOPE], [PHASE]]))
    waters = with_waves(ship.calm._replace(added_share=share), waves, duration)
    segments = timeline(duration, Base(ship.gravity))
    return moved(waters, segments, start, step, ship.levers.heel_max)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.6, 1.0])
@pytest.mark.parametrize("frequency", [0.5, 0.9, 1.0, 1.3, 2.5])
def test_steady_roll(share: float, frequency: float) -> None:
    period = math.tau / frequency
    settle = 300.0
    motion = in_waves(frequency, share, (0.0, 0.0), settle + 5.0 * period, period / 40.0)
    late = motion.times >= settle
    found = harmonic(motion.times[late], motion.roll[late], frequency)
    # −SLOPE sin(ωt + ε) = Re(i SLOPE e^(iε) e^(iωt)).
    wave = 1j * SLOPE * np.exp(1j * PHASE)
    along = 1j * LINEAR * frequency
    top = NATURAL**2 - share * frequency**2 + along
    exact = top / (NATURAL**2 - frequency**2 + along)
    assert found / wave == pytest.approx(exact, abs=1e-6)


def test_all_of_the_inertia_in_the_water_goes_with_the_water() -> None:
    """s = 1 and let go on the surface: she is the surface, whatever its frequency."""
    start = -SLOPE * math.sin(PHASE), -SLOPE * 1.7 * math.cos(PHASE)
    motion = in_waves(1.7, 1.0, start, 60.0, 0.5)
    assert motion.roll == pytest.approx(-SLOPE * np.sin(1.7 * motion.times + PHASE), abs=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.5])
def test_roll_and_rate_start_where_they_are_said_to(share: float) -> None:
    """The state that is solved for is φ − s α; what is given and kept is φ."""
    motion = in_waves(0.8, share, (0.1, -0.02), 10.0, 0.5)
    assert motion.roll[0] == pytest.approx(0.1, abs=1e-15)
    assert motion.solution.rate[0] == pytest.approx(-0.02, abs=1e-15)


def test_in_calm_water_it_makes_no_difference() -> None:
    ship = polynomial_ship(1.0, damping=Damping(LINEAR))
    segments = timeline(30.0, Base(ship.gravity))
    one, other = (
        moved(ship.calm._replace(added_share=share), segments, (0.3, 0.0), 0.5, 1.5)
        for share in (0.0, 0.5)
    )
    assert np.array_equal(one.roll, other.roll)
