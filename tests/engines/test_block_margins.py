"""The block engine's own energies and margins, where the well moves: against the reference's."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from comparing import compared
from engine_cases import Recipe

from rollsim.engines.limits import Limits
from rollsim.motion.timeline import Change, Setting
from rollsim.names import Outcome
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity
from rollsim.weather.sea import RegularWave
from rollsim.weather.wind import Gust

ROLLING = Recipe(start=(0.25, 0.0), duration=60.0)
"""Without damping: the greatest share of the barrier comes where that is lowest."""
BLOWN = replace(ROLLING, heel_law="cos", start=(0.1, 0.0))
RECIPES = {
    "a lever": replace(ROLLING, changes=[Change(0.0, 0.0, lever=0.05)]),
    "a lever that grows": replace(ROLLING, changes=[Change(8.3, 30.0, lever=0.07)]),
    "G to port": replace(ROLLING, changes=[Change(8.3, 30.0, across_moment=-0.08)]),
    "G to starboard and up": replace(
        ROLLING,
        changes=[Change(8.3, 0.0, 0.02, 0.2, 0.03)],
        settings=[Setting("free_surface", 0.1, 20.0, 15.0)],
    ),
    "G off the centreline": replace(ROLLING, gravity=Gravity(5.2, -0.06, 0.1)),
    "a wind and a gust": replace(
        BLOWN, wind_speed=18.0, start=(-0.2, 0.0), gusts=(Gust(20.0, 2.0, 20.0, 0.6),)
    ),
    "a lever at an output": replace(ROLLING, changes=[Change(8.5, 0.0, lever=0.07)]),
    "a lever to port at an output": replace(ROLLING, changes=[Change(8.5, 0.0, lever=-0.07)]),
    "a wind from starboard that grows": replace(
        BLOWN, wind=-1.2e-4, wind_speed=5.0, settings=[Setting("wind", 20.0, 8.3, 30.0)]
    ),
    "a swell": replace(ROLLING, waves=RegularWave(2.0, 8.0), slope_coefficient=0.8),
    "settling": replace(ROLLING, damping=Damping(0.1), settle=20.3),
}


@pytest.mark.parametrize("name", RECIPES)
def test_the_margin_is_the_reference_s(name: str) -> None:
    found = compared(RECIPES[name])
    ours, theirs = (runs.numbers["energy_margin"][0] for runs in (found.block, found.reference))
    assert ours == pytest.approx(theirs, abs=2e-5)
    assert 0.1 < theirs < 0.995


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_beyond_the_barrier_s_heel_nothing_is_left(side: float) -> None:
    """At rest past the vanishing angle she has less energy than the barrier, and goes over."""
    recipe = Recipe(
        gravity=Gravity(5.3), damping=Damping(1.0), start=(side * math.radians(58.0), 0.0),
        duration=3.0, limits=Limits(capsize=math.radians(90.0)),
    )  # fmt: skip
    found = compared(recipe)
    assert found.block.numbers["outcome"] == Outcome.SURVIVED
    assert found.block.numbers["energy_margin"] == found.reference.numbers["energy_margin"] == 0.0


def test_the_end_of_a_capsize_counts_although_no_output_lies_there() -> None:
    """With an output at the start alone only the end knows of the energy that she goes over by."""
    recipe = Recipe(
        waves=RegularWave(5.0, 12.0), slope_coefficient=1.0, start=(0.1, 0.0), duration=30.0,
        output_step=30.0, limits=Limits(capsize=math.radians(10.0)),
    )  # fmt: skip
    found = compared(recipe)
    ours, theirs = (runs.numbers["energy_margin"][0] for runs in (found.block, found.reference))
    assert found.block.numbers["outcome"] == Outcome.CAPSIZED
    assert ours == pytest.approx(theirs, abs=1e-4)
    assert theirs < -0.1


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_who_capsizes_by_her_roll_alone_has_no_margin_either(side: float) -> None:
    """In a long swell she goes with the slope: her heel against the water is small."""
    recipe = Recipe(
        waves=RegularWave(60.0, 30.0, 0.0 if side > 0.0 else math.pi), slope_coefficient=1.0,
        duration=30.0, limits=Limits(capsize=math.radians(8.0)),
    )  # fmt: skip
    found = compared(recipe)
    assert found.block.numbers["outcome"] == Outcome.CAPSIZED
    assert found.block.numbers["energy_margin"] == found.reference.numbers["energy_margin"] == 0.0


@pytest.mark.parametrize(("settle", "known"), [(0.0, False), (10.0, True)])
def test_a_moment_without_a_well_leaves_no_margin_if_it_counts(settle: float, known: bool) -> None:
    """A lever beyond the greatest GZ for two seconds."""
    push = [Change(3.2, 0.0, lever=0.6), Change(5.2, 0.0, lever=-0.6)]
    found = compared(replace(ROLLING, changes=push, settle=settle, start=(0.0, 0.0)))
    ours, theirs = (runs.numbers["energy_margin"][0] for runs in (found.block, found.reference))
    assert math.isnan(ours) == math.isnan(theirs) != known
    assert ours == pytest.approx(theirs, abs=2e-4, nan_ok=True)


def test_nothing_is_said_of_a_run_in_which_nothing_counted() -> None:
    """Limits count from after the last output on: no moment is left to look at."""
    found = compared(replace(ROLLING, duration=10.0, output_step=3.0, settle=9.5))
    assert found.engine.case.settle > found.engine.outputs.times[-1]
    for runs in (found.block, found.reference):
        assert math.isnan(runs.numbers["energy_margin"][0])
