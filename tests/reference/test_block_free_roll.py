"""The block engine in calm water, against DOP853, and as machine code."""

from __future__ import annotations

import math
import platform
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from block_runs import case_of, stepper_of
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline
from scipy.special import ellipk

from rollsim.compiled import vectorised
from rollsim.engines.base import run_list
from rollsim.engines.block.step import step_of
from rollsim.engines.block.steps import adams_steps
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import Runs
from rollsim.motion.coefficients import calm_coefficients
from rollsim.names import Outcome
from rollsim.scenario.load import loads
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers
from rollsim.study.plan import make_plan

Floats = NDArray[np.float64]

AMPLITUDE, PERIODS = math.radians(40.0), 60


@pytest.mark.parametrize("natural", [8.0, 12.0, 25.0])
def test_undamped_roll_keeps_amplitude_and_period(natural: float) -> None:
    # The exact period of GZ = GM sin φ: (2/π) K(sin²(A/2)) natural periods (the pendulum's
    # complete elliptic integral of the first kind).
    exact = natural * ellipk(math.sin(0.5 * AMPLITUDE) ** 2) * 2.0 / math.pi
    levers = Levers(-math.pi, math.pi, sine=6.0)
    stiffness = (math.tau / natural) ** 2
    calm = calm_coefficients(levers, 1.0 / stiffness, Damping())
    enough = (PERIODS + 1.0) * exact
    step = step_of(case_of(levers, Gravity(5.0), calm, (enough, 1.0), roll=AMPLITUDE))
    duration = step * math.ceil(enough / step)
    case = case_of(levers, Gravity(5.0), calm, (duration, step), roll=AMPLITUDE)
    measured, strained = stepper_of(case, step).run(run_list(0, case.start), histories=True)
    assert not strained.any()
    roll, rate = measured.histories[:2, :, 0].astype(np.float64)
    course = CubicHermiteSpline(step * np.arange(roll.size), roll, rate)
    crossings = course.roots(extrapolate=False)
    turns = np.abs(course(course.derivative().roots(extrapolate=False)))
    period = (crossings[2 * PERIODS] - crossings[0]) / PERIODS
    print(
        f"natural period {natural:g} s, step {step:.3f} s: amplitude off by at most "
        f"{np.degrees(np.max(np.abs(turns - AMPLITUDE))):.2e}°, period by {period / exact - 1:.1e}"
    )
    assert turns.size >= 2 * PERIODS
    assert np.max(np.abs(turns - AMPLITUDE)) < math.radians(0.01)
    assert period == pytest.approx(exact, rel=1e-5)


C1, C3 = 0.5, -0.8
"""GZ = C1 φ + C3 φ³ [m]: vanishes at 45.3 degrees."""
BARRIER_DEG = math.degrees(math.sqrt(-C1 / C3))


def storms(method: str, height: float, duration: float, runs: int) -> Runs:
    """Realisations of a ship of few numbers in beam seas."""
    text = f"""format = 1
[ship]
name = "Trial"
length_m = 60.0
beam_m = 12.0
draught_m = 4.0
displacement_t = 1000.0
[ship.levers]
kind = "polynomial"
gz_m_per_rad = [{C1}, 0.0, {C3}]
kg_m = 5.0
heel_max_deg = 100.0
[ship.gravity]
kg_m = 5.0
[ship.inertia]
gyradius_m = 4.5
[ship.damping]
linear_per_s = 0.02
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = {height}
peak_period_s = 13.0
[run]
duration_s = {duration}
seed = 5
method = "{method}"
"""
    plan = make_plan(loads(text))
    case = plan.cases[0]
    return engine_for(case).run(run_list(np.arange(runs), case.start), histories=True)


@pytest.mark.parametrize(
    ("height", "runs"), [(3.0, 3), pytest.param(4.0, 32, marks=pytest.mark.slow)]
)
def test_states_agree_away_from_the_barrier(height: float, runs: int) -> None:
    block, single = (storms(name, height, 600.0, runs) for name in ("block", "DOP853"))
    margin = single.numbers["energy_margin"]
    apart = np.max(np.abs(block.histories[0] - single.histories[0]), axis=1)
    away = margin > 0.1
    print(
        f"Hs {height} m: {np.count_nonzero(away)} of {runs} runs with a margin above 0.1 (least "
        f"{np.min(margin[away]):.2f}), rolls to {np.max(single.numbers['roll_max'][away]):.1f}°, "
        f"apart by at most {np.max(apart[away]):.1e}°"
    )
    assert np.count_nonzero(away) >= 0.25 * runs
    assert np.max(apart[away]) < 0.01


@pytest.mark.parametrize("runs", [24, pytest.param(100, marks=pytest.mark.slow)])
def test_outcomes_agree_but_at_the_barrier(runs: int) -> None:
    block, single = (storms(name, 10.0, 120.0, runs) for name in ("block", "DOP853"))
    outcomes = np.array([found.numbers["outcome"] for found in (block, single)])
    heel = np.array([found.histories[0] - found.histories[2] for found in (block, single)])
    greatest = np.nanmax(np.abs(heel), axis=2)
    lost = outcomes == Outcome.CAPSIZED
    # One that turns back within 0.1° of the barrier may go over in the other's arithmetic.
    near = np.any(~lost & (np.abs(greatest - BARRIER_DEG) < 0.1), axis=0)
    differ = lost[0] != lost[1]
    print(
        f"{runs} storms: {np.count_nonzero(lost[0])} capsized in blocks, "
        f"{np.count_nonzero(lost[1])} by DOP853, {np.count_nonzero(differ)} differ, "
        f"{np.count_nonzero(near)} turned within 0.1° of the barrier"
    )
    assert np.all((outcomes == Outcome.CAPSIZED) | (outcomes == Outcome.SURVIVED))
    assert 0.1 * runs < np.count_nonzero(lost[1]) < 0.9 * runs
    assert not np.any(differ & ~near)


def look_up(table: Floats, places: NDArray[np.int64], found: Floats) -> None:
    """The simplest loop of table look-ups."""
    for i in range(found.size):
        found[i] = table[places[i]]


def machine_code(function: Any, signature: Any) -> str:
    """Machine code of `function` made anew: what the disk cache holds cannot be read."""
    fresh: Any = vectorised(function)
    fresh.compile(signature)
    return "".join(fresh.inspect_asm().values())


def test_steps_are_wide(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    # A guard for the promise of no aliases, an internal of numba's.
    if platform.machine().lower() not in ("x86_64", "amd64"):
        pytest.skip("the registers' names are those of x86_64")
    levers = Levers(-1.0, 1.0, sine=6.0)
    calm = calm_coefficients(levers, 1.0, Damping())
    case = case_of(levers, Gravity(5.0), calm, (10.0, 1.0))
    stepper_of(case, 0.5).run(run_list(0, case.start), histories=False)
    monkeypatch.setattr("rollsim.compiled.cache_folder", lambda: tmp_path)
    steps: Any = adams_steps
    code = machine_code(steps.py_func, steps.signatures[0])
    wide, gathers = code.count("%ymm") + code.count("%zmm"), len(re.findall("vp?gather", code))
    simplest = len(
        re.findall("vp?gather", machine_code(look_up, "void(f8[::1], i8[::1], f8[::1])"))
    )
    print(f"{wide} wide registers named in the machine code, {gathers} gathers")
    assert wide > 500
    # Loops without look-ups come out wide without the promise too; those with them do not. LLVM
    # gathers only where the processor does it well (seen: 22 with the promise, none without).
    assert (gathers > 0) == (simplest > 0)
