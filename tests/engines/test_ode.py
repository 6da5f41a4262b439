"""The block engine behind scipy's own loop gives what the engine itself gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from engine_cases import Recipe, case_of
from scipy.integrate import solve_ivp

from rollsim.engines.base import run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.lanes import LANES
from rollsim.engines.block.ode import BlockSolver, derivative
from rollsim.engines.block.stepper import Stepper
from rollsim.engines.limits import Limits
from rollsim.motion.timeline import Change
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, wall_sided
from rollsim.weather.spectra import bretschneider

DURATION = 60.0
RUNS = run_list(np.arange(LANES), (0.1, 0.0))
START = np.repeat([0.1, 0.0], LANES)


@pytest.fixture(scope="module")
def stepper() -> Stepper:
    """A wall-sided ship in a storm, with a weight that moves from 20.3 s on, in double."""
    recipe = Recipe(
        levers=wall_sided(6.0, 3.0, math.radians(60.0)),
        gravity=Gravity(5.2),
        damping=Damping(0.02, 0.3),
        duration=DURATION,
        changes=[Change(20.3, 5.0, across_moment=0.02)],
        waves=bretschneider(3.0, peak_period=9.0),
        limits=Limits(capsize=math.radians(60.0)),
        accuracy=math.radians(0.005),
    )
    return BlockEngine(case_of(recipe), 0.1).stepper()


def test_same_histories_as_the_engine(stepper: Stepper) -> None:
    measured, _ = stepper.run(RUNS, stepper.outputs.levels(RUNS.roll), histories=True)
    found = solve_ivp(
        derivative(stepper, RUNS), (0.0, DURATION), START, method=BlockSolver,
        t_eval=stepper.outputs.times, stepper=stepper, runs=RUNS,
    )  # fmt: skip
    assert found.success
    np.testing.assert_allclose(found.y[:LANES].T, measured.histories[0], atol=1e-6)
    np.testing.assert_allclose(found.y[LANES:].T, measured.histories[1], atol=1e-5)


def test_solves_its_own_right_hand_side(stepper: Stepper) -> None:
    function = derivative(stepper, RUNS)
    ours = solve_ivp(
        function, (0.0, DURATION), START, method=BlockSolver, stepper=stepper, runs=RUNS
    )
    theirs = solve_ivp(
        function, (0.0, DURATION), START, method="DOP853", rtol=1e-7, atol=1e-9, max_step=1.0
    )
    np.testing.assert_allclose(ours.y[:, -1], theirs.y[:, -1], atol=math.radians(0.01))


def made(stepper: Stepper, steps: int) -> BlockSolver:
    function = derivative(stepper, RUNS)
    solver = BlockSolver(function, 0.0, START, DURATION, stepper=stepper, runs=RUNS)
    for _ in range(steps):
        solver.step()
    return solver


def test_solvers_of_one_stepper_do_not_disturb_each_other(stepper: Stepper) -> None:
    """Stepped by turns, each is where it comes to alone: the tables of a moving G are its own."""
    one, other, alone = made(stepper, 0), made(stepper, 190), made(stepper, 240)
    for _ in range(240):
        one.step()
        other.step()
    np.testing.assert_array_equal(one.y, alone.y)
    np.testing.assert_array_equal(other.y, made(stepper, 430).y)


def test_dense_output_goes_through_the_steps(stepper: Stepper) -> None:
    solver = made(stepper, 0)
    for _ in range(8):
        before = solver.y
        solver.step()
        course = solver.dense_output()
        np.testing.assert_allclose(course(solver.t_old), before, atol=1e-14)
        np.testing.assert_allclose(course(solver.t), solver.y, atol=1e-13)


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"y0": np.zeros(4)}, "must hold 64 angles"),
        ({"t_bound": 10.0}, "interval must be 0 to 60"),
        ({"rtol": 1e-3}, "no option rtol"),
    ],
)
def test_what_it_cannot_do_is_refused(
    stepper: Stepper, changed: dict[str, object], reason: str
) -> None:
    options: dict[str, object] = {
        "t0": 0.0, "y0": START, "t_bound": DURATION, "stepper": stepper, "runs": RUNS
    }  # fmt: skip
    with pytest.raises(ValueError, match=reason):
        BlockSolver(lambda t, y: y, **(options | changed))  # type: ignore[arg-type]
