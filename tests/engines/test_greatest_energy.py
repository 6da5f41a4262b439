"""The greatest E/E_b of a run by hand, and whose sign tells who goes over; margin 1 − E/E_b."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.engines.at_outputs import greatest_energy


def test_the_greatest_share_counts() -> None:
    assert greatest_energy(np.array([0.25, 0.3, 0.4]), False) == 0.4
    assert greatest_energy(np.array([0.25, 2.5]), True) == 2.5


def test_a_run_that_capsized_never_has_a_positive_margin() -> None:
    assert greatest_energy(np.array([0.25, 0.3]), True) == 1.0


@pytest.mark.parametrize("capsized", [False, True])
def test_a_moment_without_a_well_or_no_moment_at_all_leaves_none(capsized: bool) -> None:
    assert math.isnan(greatest_energy(np.array([0.5, math.nan, 0.2]), capsized))
    assert math.isnan(greatest_energy(np.zeros(0), capsized))


@pytest.mark.parametrize("push", [0.999, 1.001])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_share_tells_who_goes_over(push: float, side: float) -> None:
    """Undamped in V = ½ φ² - ½ φ⁴: the rate whose energy is the barrier's is the separatrix."""
    barrier = 0.125
    rate = side * push * math.sqrt(2.0 * barrier)
    share = greatest_energy(np.array([0.5 * rate**2 / barrier]), False)
    roll, step = 0.0, 1e-3
    for _ in range(40000):
        rate -= 0.5 * step * (roll - 2.0 * roll**3)
        roll += step * rate
        rate -= 0.5 * step * (roll - 2.0 * roll**3)
        if abs(roll) > 0.99:
            break
    assert (abs(roll) > 0.99) == (share > 1.0)
    assert share == pytest.approx(push**2, abs=1e-12)
