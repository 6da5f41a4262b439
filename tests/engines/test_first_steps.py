"""What happens within the first steps of a stretch, which are made by another scheme."""

from __future__ import annotations

import math

import pytest
from comparing import Compared, compared
from engine_cases import Recipe

from rollsim.engines.limits import Limits, flooding_limits
from rollsim.motion.timeline import Change
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity
from rollsim.weather.sea import RegularWave

CAPSIZE = math.radians(90.0)


def same(found: Compared, name: str, slack: float) -> float:
    """The reference's number, once the block engine's is found to be that."""
    ours, theirs = (float(runs.numbers[name][0]) for runs in (found.block, found.reference))
    assert ours == pytest.approx(theirs, abs=slack)
    return theirs


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_an_extreme(side: float) -> None:
    """She turns a fifth of a second after the start, and never comes so far again."""
    recipe = Recipe(start=(side * 0.3, side * 0.015), duration=10.0)
    found = compared(recipe)
    name = "roll_max" if side > 0.0 else "roll_min"
    assert abs(same(found, name, 2e-4)) > math.degrees(0.3) + 0.05


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_an_extreme_of_the_heel_alone(side: float) -> None:
    """The roll goes on, but the slope overtakes it: the heel turns."""
    wave = RegularWave(4.0, 8.0, math.pi if side > 0.0 else 0.0)
    recipe = Recipe(
        start=(side * 0.3, side * 0.115), duration=2.0, waves=wave, slope_coefficient=1.0,
        limits=Limits(flooding=0.5, capsize=CAPSIZE),
    )  # fmt: skip
    found = compared(recipe)
    assert same(found, "limit_margin", 5e-5) < 1.0 - 0.3 / 0.5 - 1e-3


@pytest.mark.parametrize(("starboard", "port"), [(25.0, 14.0), (14.0, 25.0)])
@pytest.mark.parametrize("relative", [True, False])
def test_a_limit_of_one_side(starboard: float, port: float, relative: bool) -> None:
    flooding, weight = flooding_limits(math.radians(starboard), math.radians(port))
    side = 1.0 if starboard < port else -1.0
    recipe = Recipe(
        start=(side * math.radians(13.6), side * 0.05), duration=10.0, absolute=not relative,
        waves=RegularWave(0.2, 8.0), limits=Limits(flooding=flooding, port=weight, capsize=CAPSIZE),
    )  # fmt: skip
    assert 0.05 < same(compared(recipe), "flooding_time", 2e-4) < 0.3


def test_an_upward_crossing() -> None:
    """Of the static heel, within the first step."""
    found = compared(Recipe(gravity=Gravity(5.15), start=(-0.01, 0.1), duration=40.0))
    assert same(found, "upcrossings", 0.0) >= 3.0


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_capsize(side: float) -> None:
    recipe = Recipe(
        start=(side * math.radians(79.0), side * 0.1), duration=10.0,
        limits=Limits(capsize=math.radians(80.0)),
    )  # fmt: skip
    found = compared(recipe)
    assert 0.05 < same(found, "end_time", 2e-4) < 0.3
    assert abs(same(found, "roll_max" if side > 0.0 else "roll_min", 2e-4)) == pytest.approx(80.0)
    assert same(found, "roll_std", 2e-3) > 0.1
    assert same(found, "energy_margin", 1e-3) <= 0.0


CORNERS = [Change(0.43 + 0.83 * i, 0.0, across_moment=(-1) ** i * 0.01) for i in range(70)]
"""So near each other that hardly a step is made by the sums."""


@pytest.mark.parametrize(("absolute", "added"), [(False, 0.0), (True, 0.0), (False, 0.3)])
@pytest.mark.parametrize("phase", [0.4, 0.4 + math.pi])
def test_a_corner_every_second(absolute: bool, added: float, phase: float) -> None:
    """G jumps to and fro across the ship, the heel decides on the margin."""
    flooding, port = flooding_limits(math.radians(10.0), math.radians(12.0))
    recipe = Recipe(
        gravity=Gravity(5.15, -0.005), damping=Damping(0.02, 0.4, 0.2), duration=58.0,
        waves=RegularWave(4.0, 8.0, phase), slope_coefficient=1.0, absolute=absolute,
        added_share=added, changes=CORNERS, settle=5.0,
        limits=Limits(math.radians(5.5), flooding, CAPSIZE, port),
    )  # fmt: skip
    found = compared(recipe)
    assert found.deviation[0] < 1e-3
    for name in ("roll_max", "roll_min", "limit_margin", "roll_mean", "roll_std"):
        same(found, name, 5e-4)
    assert same(found, "upcrossings", 0.0) > 2.0
    assert found.differing(0) == []


def test_upward_crossings_of_a_run_that_capsizes_are_kept() -> None:
    recipe = Recipe(start=(-0.3, 0.9), duration=20.0, limits=Limits(capsize=math.radians(60.0)))
    found = compared(recipe)
    assert same(found, "end_time", 1e-3) < 10.0
    assert same(found, "upcrossings", 0.0) == 1.0
