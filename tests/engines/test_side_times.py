"""Changes of side and the time on each side: both engines against a count of the heel's history."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from comparing import deviation
from engine_cases import FINE, Recipe, case_of, runs_of
from numpy.typing import NDArray

from rollsim.engines.base import run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.limits import Limits
from rollsim.engines.runs import Runs
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.engines.sides import ENTERED, ROWS, change_side, side_numbers
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, polynomial
from rollsim.weather.sea import RegularWave
from rollsim.weather.spectra import bretschneider

Floats = NDArray[np.float64]

GM, CUBIC = -0.1, 2.5
LEVERS = polynomial([GM, 0.0, CUBIC], 5.0, math.radians(60.0))
LOLL = math.sqrt(-GM / CUBIC)
SETTLE = 40.0
LOLLING = Recipe(
    levers=LEVERS, gravity=Gravity(5.0), damping=Damping(0.1), start=(LOLL, 0.0),
    duration=300.0, output_step=0.1, settle=SETTLE, limits=Limits(capsize=0.8),
    waves=bretschneider(6.0, peak_period=9.0),
)  # fmt: skip
NAMES = ("side_changes", "side_changes_to_starboard", "time_to_port", "time_to_starboard")


def counted(runs: Runs, i: int, times: Floats, loll: float = LOLL) -> list[float]:
    """The numbers of NAMES by the plain rule, from the history of run `i`; bottoms at ±`loll`."""
    heel = np.radians(runs.histories[0, i].astype(float) - runs.histories[2, i])
    changes, to_starboard, side, spent, entered = 0, 0, 1.0, {-1.0: 0.0, 1.0: 0.0}, SETTLE
    end = runs.numbers["end_time"][i]
    for k in range(1, times.size):
        if not heel[k] * -side >= loll:
            continue
        if times[k] > SETTLE:
            share = (-side * loll - heel[k - 1]) / (heel[k] - heel[k - 1])
            time = times[k - 1] + share * (times[k] - times[k - 1])
            spent[side] += time - entered
            entered, changes, to_starboard = time, changes + 1, to_starboard + (side < 0.0)
        side = -side
    spent[side] += end - entered
    return [changes, to_starboard, spent[-1.0], spent[1.0]]


def test_both_engines_against_the_history() -> None:
    """But for swings that turn at a bottom: what lies within a step there may be seen or not."""
    case = case_of(LOLLING)
    wanted = runs_of(case, 8)
    block = BlockEngine(case).run(wanted, histories=True)
    reference = ScipyEngine(case, FINE)
    times, theirs = reference.outputs.times, reference.run(wanted, histories=True)
    clear = np.zeros((2, wanted.size), dtype=bool)
    for own, runs in zip(clear, (block, theirs), strict=True):
        numbers = np.array([runs.numbers[name] for name in NAMES]).T
        for i, row in enumerate(numbers):
            less, more = (counted(runs, i, times, part * LOLL) for part in (0.99, 1.01))
            own[i] = less == pytest.approx(more, abs=0.5)
            if own[i]:
                assert row == pytest.approx(counted(runs, i, times), abs=0.02)
        assert numbers[:, 0].sum() > 12
        assert numbers[:, 2] + numbers[:, 3] == pytest.approx(300.0 - SETTLE)
    assert clear.sum() >= 8
    alike = (deviation(block, theirs) < 0.1) & clear.all(axis=0)  # differences grow at the crest
    assert alike.sum() >= 3
    for name in NAMES:
        assert block.numbers[name][alike] == pytest.approx(theirs.numbers[name][alike], abs=0.05)


def test_the_other_side_is_the_mirror_image() -> None:
    wave = RegularWave(1.6, 9.0, 0.0)
    case = case_of(replace(LOLLING, waves=wave, duration=200.0))
    mirrored = case_of(replace(LOLLING, waves=replace(wave, phase=math.pi), duration=200.0))
    one = BlockEngine(case).run(run_list([0], (LOLL, 0.0)), histories=False).numbers
    other = BlockEngine(mirrored).run(run_list([0], (-LOLL, 0.0)), histories=False).numbers
    assert one["side_changes"] == other["side_changes"]
    assert one["time_to_port"] == pytest.approx(other["time_to_starboard"], abs=0.05)
    assert one["time_to_starboard"] == pytest.approx(other["time_to_port"], abs=0.05)


@pytest.mark.parametrize("engine", [BlockEngine, ScipyEngine])
def test_a_run_that_ends_counts_to_its_end_and_one_well_has_no_sides(
    engine: type[BlockEngine] | type[ScipyEngine],
) -> None:
    over = case_of(replace(LOLLING, waves=None, start=(-LOLL, 1.2), output_step=1.0, settle=0.0))
    numbers = engine(over).run(run_list([0], (-LOLL, 1.2)), histories=False).numbers
    end = numbers["end_time"][0]
    assert end < 300.0
    sides = numbers["time_to_port"][0], numbers["time_to_starboard"][0]
    assert sum(sides) == pytest.approx(end)
    assert min(sides) > 0.0
    assert numbers["side_changes_to_starboard"][0] == numbers["side_changes"][0] == 1.0
    one = case_of(replace(LOLLING, levers=polynomial([0.2], 5.0, math.radians(60.0)),
                          waves=None, duration=60.0))  # fmt: skip
    numbers = engine(one).run(run_list([0], (0.1, 0.0)), histories=False).numbers
    assert numbers["side_changes"][0] == 0.0
    assert all(np.isnan(numbers[name][0]) for name in NAMES[1:])


@pytest.mark.parametrize("engine", [BlockEngine, ScipyEngine])
def test_at_rest_on_the_crest_she_is_on_the_starboard_side(
    engine: type[BlockEngine] | type[ScipyEngine],
) -> None:
    """As the static heel downhill from a crest is the one to starboard."""
    case = case_of(replace(LOLLING, waves=None, start=(0.0, 0.0)))
    numbers = engine(case).run(runs_of(case, 1), histories=False).numbers
    assert numbers["time_to_port"][0] == 0.0
    assert numbers["time_to_starboard"][0] == pytest.approx(300.0 - SETTLE)


def test_what_the_waves_do_after_a_capsize_is_no_change_of_side() -> None:
    """Their slope alone goes past both bottoms, again and again, while another run goes on."""
    swell = RegularWave(4.0, 8.0)
    shallow = polynomial([-0.02, 0.0, CUBIC], 5.0, math.radians(60.0))
    case = case_of(
        replace(LOLLING, levers=shallow, waves=swell, slope_coefficient=1.0, settle=0.0,
                limits=Limits(capsize=0.5), start=(0.1, 0.8))
    )  # fmt: skip
    ours, theirs = (
        engine.run(run_list([0, 0], (0.1, np.array([0.8, 0.0]))), histories=False).numbers
        for engine in (BlockEngine(case), ScipyEngine(case, FINE))
    )
    assert theirs["end_time"][0] < 20.0
    assert theirs["end_time"][1] > 60.0
    for name in NAMES:
        assert ours[name][0] == pytest.approx(theirs[name][0], abs=0.01)
    for name in ("roll_mean", "roll_std"):
        assert ours[name][0] == pytest.approx(theirs[name][0], abs=0.05)


def test_the_middle_one_of_three_wells_is_on_neither_side() -> None:
    """From the port well into the middle one at 10 s, on to starboard at 25 s, back at 45 s."""
    kept = np.zeros(ROWS)
    for well, time in ((1, 10.0), (2, 25.0), (1, 45.0)):
        change_side(kept, well, time, 3)
    numbers = side_numbers(kept[:, None], np.array([60.0]), 0.0, 3)
    found = {name: float(value[0]) for name, value in numbers.items()}
    assert found == {
        "side_changes": 3.0, "changes_to_starboard": 2.0, "to_port": 10.0, "to_starboard": 20.0,
    }  # fmt: skip


def test_a_run_that_ended_before_anything_counts_was_on_no_side() -> None:
    """Two runs with two wells and limits that count from 40 s on: ends at 30 s and at 50 s."""
    kept = np.zeros((ROWS, 2))
    kept[ENTERED] = SETTLE
    numbers = side_numbers(kept, np.array([30.0, 50.0]), SETTLE, 2)
    assert np.array_equal(numbers["to_port"], [math.nan, 10.0], equal_nan=True)
    assert np.array_equal(numbers["to_starboard"], [math.nan, 0.0], equal_nan=True)
