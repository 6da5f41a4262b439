"""What an engine measured comes out in the units of the result, numbers made by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.engines.limits import Limits
from rollsim.engines.runs import Measured, Runs, in_units


def converted(roll_deg: tuple[float, float], heel_deg: float, limits: Limits) -> Runs:
    """One run that went from the first to the second roll and passed nothing."""
    least, most = np.radians([[roll_deg[0]], [roll_deg[1]]])
    one, nothing = np.ones(1), np.full((3, 1), math.nan)
    measured = Measured(
        roll_max=most,
        roll_min=least,
        heel_most=np.radians([heel_deg]),
        passed=nothing,
        early=np.zeros(1, dtype=bool),
        end_time=10.0 * one,
        end_heel=0.0 * one,
        energy=0.2 * one,
        roll_mean=0.1 * one,
        roll_square=0.02 * one,
        upcrossings=one,
        side_changes=0.0 * one,
        changes_to_starboard=0.0 * one,
        to_port=math.nan * one,
        to_starboard=math.nan * one,
        message=np.array([""], dtype=object),
        histories=np.zeros((4, 0, 1), dtype=np.float32),
    )
    return in_units(measured, limits, np.zeros(0))


@pytest.mark.parametrize(
    ("limits_deg", "margin"),
    [((math.inf, math.inf, 100.0), 0.5), ((80.0, math.inf, 100.0), 0.375),
     ((math.inf, 25.0, 100.0), 0.2), ((200.0, math.inf, 100.0), 0.5)],
)  # fmt: skip
def test_the_limit_margin_is_that_of_the_nearest_limit(
    limits_deg: tuple[float, float, float], margin: float
) -> None:
    """A roll of 50° with a heel of 20°: the capsize angle counts for the roll as well."""
    limits = Limits(*np.radians(limits_deg).tolist())
    for roll_deg in ((-10.0, 50.0), (-50.0, 10.0)):
        numbers = converted(roll_deg, 20.0, limits).numbers
        assert numbers["limit_margin"][0] == pytest.approx(margin, abs=1e-6)
        assert (numbers["roll_min"][0], numbers["roll_max"][0]) == pytest.approx(roll_deg)
        assert numbers["energy_margin"][0] == pytest.approx(0.8)
        assert numbers["roll_std"][0] == pytest.approx(math.degrees(0.1))
