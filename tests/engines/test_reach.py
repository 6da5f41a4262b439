"""What a run may come to, from which its step follows: steepest levers, damping, outputs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from engine_cases import COASTER, HEEL, KN, Recipe, case_of, runs_of

from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.step import DAMPING_PHASE, longest_step, reach_of, step_of
from rollsim.engines.limits import Limits
from rollsim.motion.timeline import Change, Setting
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, polynomial
from rollsim.ship.wave_levers import from_tables
from rollsim.weather.sea import RegularWave

LINEAR = Recipe(
    levers=polynomial([1.0], 0.0, 1.5), gravity=Gravity(0.0), inertia=4.0, duration=100.0
)
"""GZ = φ: one metre of GM."""


def steepest(recipe: Recipe) -> float:
    """The steepest righting lever [m] that is reckoned with."""
    return reach_of(case_of(recipe)).stiffness * recipe.inertia


@pytest.mark.parametrize("over", [0.0, 60.0, 100.0])
def test_a_ship_that_grows_stiffer_is_as_stiff_as_she_becomes(over: float) -> None:
    """A weight that goes down by 1.5 m of moment, GZ = φ + 1.5 sin φ: steepest upright."""
    lower = replace(LINEAR, settings=[Setting("kg", -1.5, 0.0, over)])
    assert steepest(LINEAR) == pytest.approx(1.0)
    assert steepest(lower) == pytest.approx(2.5, rel=1e-4)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_g_off_the_centreline_steepens_one_side(side: float) -> None:
    """GZ = φ − y cos φ: the slope at the levers' end is 1 + |y| sin 1.5."""
    across = replace(LINEAR, changes=[Change(10.0, 50.0, across_moment=side * 0.5)])
    assert steepest(across) == pytest.approx(1.0 + 0.5 * math.sin(1.5), rel=1e-4)


def test_a_trough_that_steepens_the_levers_counts() -> None:
    """Levers of either level: 0.3 sin φ more in the trough, as much less on the crest."""
    heel = np.radians(HEEL)
    shift = np.array([0.3, 0.0, -0.3])
    waves = from_tables(
        np.array([-3.0, 0.0, 3.0]), heel, np.array(KN) + shift[:, None] * np.sin(heel),
        5.659 + shift,
    )  # fmt: skip
    still = Recipe(waves=RegularWave(4.0, 8.0), heading=math.pi)
    dense = np.radians(np.linspace(0.0, 90.0, 2001))
    slope = COASTER.slope(dense) - 5.15 * np.cos(dense)
    assert steepest(still) == pytest.approx(float(np.max(slope)), rel=1e-2)
    raised = float(np.max(slope + 0.3 * np.cos(dense)))
    assert steepest(replace(still, in_waves=waves)) == pytest.approx(raised, rel=1e-2)


@pytest.mark.parametrize("damping", [Damping(6.0), Damping(0.0, 5.0), Damping(0.0, 0.0, 5.0)])
def test_damping_shortens_the_step_by_its_slope_at_the_start(damping: Damping) -> None:
    """b1 + 2 b2 p + 3 b3 p², at the rate p that she starts with."""
    rate = 2.5
    case = case_of(replace(LINEAR, damping=damping, start=(0.0, rate)))
    slope = damping.linear + 2.0 * damping.quadratic * rate + 3.0 * damping.cubic * rate**2
    assert reach_of(case).damping == pytest.approx(slope)
    assert longest_step(case, reach_of(case)) * slope <= DAMPING_PHASE * (1.0 + 1e-9)


def test_no_step_is_longer_than_that_of_the_outputs() -> None:
    """A step holds one output at most."""
    case = case_of(
        replace(
            LINEAR, start=(0.1, 0.0), output_step=0.03, duration=20.0, limits=Limits(capsize=1.4)
        )
    )
    assert step_of(replace(case, output_step=1.0)) > 0.1
    assert step_of(case) <= 0.03
    found = BlockEngine(case).run(runs_of(case, 1), histories=True)
    exact = math.degrees(0.1) * np.cos(0.5 * 0.03 * np.arange(667))
    assert found.histories[0, 0] == pytest.approx(exact, abs=1e-3)
