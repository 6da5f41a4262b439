"""Every branch of the block engine's steps against the reference, far below what is promised."""

from __future__ import annotations

import math

import numpy as np
import pytest
from comparing import Compared, compared
from engine_cases import Recipe

from rollsim.engines.limits import Limits, flooding_limits
from rollsim.motion.timeline import Change, Setting
from rollsim.names import Outcome
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity
from rollsim.weather.sea import RegularWave
from rollsim.weather.spectra import bretschneider
from rollsim.weather.wind import davenport

LEAST = (1e-3, 2e-3, 5e-4, 5e-6)
"""How far roll [degree], rate [degree/s], slope [degree] and lever [m] may be off at any output."""


def off(found: Compared) -> list[float]:
    """The greatest difference of each history."""
    difference = found.block.histories.astype(float) - found.reference.histories
    return [float(worst) for worst in np.nanmax(np.abs(difference), axis=(1, 2))]


EVERYTHING = Recipe(
    gravity=Gravity(5.2, 0.02, 0.05),
    damping=Damping(0.02, 0.3, 0.1),
    start=(0.1, -0.03),
    duration=80.0,
    wind=-1.0e-4,
    wind_speed=16.0,
    heel_law="cos2",
    turbulence=davenport(16.0, 0.003),
    waves=bretschneider(4.0, peak_period=9.0),
    heading=math.radians(130.0),
    speed=3.0,
    gm_per_m=-0.05,
    added_share=0.2,
    ramp=9.0,
    changes=[Change(20.2, 7.0, 0.03, 0.2, 0.02, 0.02)],
)
RECIPES = {
    "everything at once": EVERYTHING,
    "gusts that turn a light wind round": Recipe(
        damping=Damping(0.05), wind=4e-4, wind_speed=6.0, heel_law="cos", duration=60.0,
        turbulence=davenport(6.0, 0.003, 0.6), settle=10.2,
    ),
    "waves that grow within seconds": Recipe(
        damping=Damping(0.02, 0.5), waves=RegularWave(1.0, 8.0), ramp=4.0, duration=60.0,
        settings=[Setting("waves", 3.0, 20.2, 3.0)], settle=20.2,
    ),
    "water that swings with her from the start": Recipe(
        damping=Damping(0.02, 0.5), waves=RegularWave(4.0, 8.0, 0.7), slope_coefficient=1.0,
        start=(0.05, 0.02), added_share=0.3, duration=30.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RECIPES)
def test_the_histories_are_the_reference_s(name: str) -> None:
    found = compared(RECIPES[name], 2)
    assert np.all(np.array(off(found)) < LEAST)
    assert np.max(np.abs(found.reference.histories[0])) > 3.0
    for i in range(found.runs.size):
        assert found.differing(i) == []


@pytest.mark.parametrize(
    ("starboard", "port"), [(25.0, 14.0), (14.0, 25.0), (13.5, math.inf), (math.inf, 13.5)]
)
@pytest.mark.parametrize("phase", [0.0, math.pi])
def test_the_heel_in_waves_floods_each_side_at_its_own(
    starboard: float, port: float, phase: float
) -> None:
    """The heel against the water, which swings by 17° to both sides while she rolls by 13°."""
    flooding, side = flooding_limits(math.radians(starboard), math.radians(port))
    swell = Recipe(
        damping=Damping(0.02, 0.2), waves=RegularWave(5.0, 12.0, phase), slope_coefficient=1.0,
        start=(0.1, 0.0), duration=60.0,
        limits=Limits(flooding=flooding, port=side, capsize=math.radians(90.0)),
    )  # fmt: skip
    found = compared(swell)
    ours, theirs = found.block.numbers, found.reference.numbers
    for name, slack in (("flooding_time", 2e-3), ("limit_margin", 1e-4), ("outcome", 0.0)):
        assert ours[name] == pytest.approx(theirs[name], abs=slack, nan_ok=True), name
    assert ours["outcome"] == Outcome.FLOODED


@pytest.mark.parametrize("port", [1.0, 0.5, 2.0])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_she_capsizes_by_the_heel_in_waves_on_either_side(port: float, side: float) -> None:
    """The slope leans against her, so that the heel is there before the roll."""
    limits = Limits(flooding=0.5, port=port, capsize=math.radians(80.0))
    over = Recipe(
        gravity=Gravity(5.5), damping=Damping(0.2), start=(side * 0.9, side * 0.1),
        waves=RegularWave(12.0, 10.0, 0.0 if side > 0.0 else math.pi), slope_coefficient=1.0,
        duration=30.0, limits=limits,
    )  # fmt: skip
    found = compared(over)
    ours, theirs = found.block.numbers, found.reference.numbers
    assert ours["end_time"] == pytest.approx(theirs["end_time"], abs=2e-3)
    assert ours["limit_margin"] == pytest.approx(theirs["limit_margin"], abs=1e-4)
    assert theirs["end_time"][0] < 30.0


@pytest.mark.parametrize("phase", np.arange(0.0, 6.2, 0.7))
def test_extremes_in_waves_are_found_within_the_steps(phase: float) -> None:
    """Roll and heel turn at unlike times, so that neither stands in for the other."""
    found = compared(
        Recipe(
            waves=RegularWave(1.6, 5.0, phase), slope_coefficient=1.0, start=(0.03, 0.0),
            damping=Damping(0.02, 0.2), added_share=0.3, duration=40.0,
            limits=Limits(flooding=0.5, capsize=math.radians(90.0)),
        )
    )  # fmt: skip
    ours, theirs = found.block.numbers, found.reference.numbers
    for name, slack in (("roll_max", 1.5e-3), ("roll_min", 1.5e-3), ("limit_margin", 5e-5)):
        assert ours[name] == pytest.approx(theirs[name], abs=slack), name
