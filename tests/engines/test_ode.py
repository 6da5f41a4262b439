"""The block engine behind scipy's own loop gives what the engine itself gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from rollsim.engines.block.prepare import BlockEngine, BlockProblem
from scipy.integrate import solve_ivp

from rollsim.constants import GRAVITY
from rollsim.engines.block.lanes import LANES
from rollsim.engines.block.ode import BlockSolver, derivative
from rollsim.engines.limits import Limits, output_times
from rollsim.forcing.synthesis import block_sea
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Change, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, wall_sided
from rollsim.weather.sea import SeaState
from rollsim.weather.spectra import bretschneider

DURATION, OUTPUT = 60.0, 0.5


@pytest.fixture(scope="module")
def engine() -> BlockEngine:
    """A wall-sided ship in a storm, with a weight that moves from 20.3 s on."""
    levers, gravity = wall_sided(6.0, 3.0, math.radians(60.0)), Gravity(5.2)
    count = output_times(DURATION, OUTPUT).size
    problem = BlockProblem(
        levers=levers,
        coefficients=calm_coefficients(levers, 6.0**2 / GRAVITY, Damping(0.02, 0.3)),
        segments=timeline(DURATION, gravity, [Change(20.3, 5.0, across_moment=0.02)]),
        sea=block_sea(SeaState(bretschneider(3.0, peak_period=9.0), 14.0, 5.0, 14.0, DURATION)),
        roll=0.1,
        rate=0.0,
        output_step=OUTPUT,
        step=0.25,
        limits=Limits(capsize=math.radians(60.0)),
        settle=0.0,
        mean_wind=0.0,
        low=np.zeros(count),
        barrier=np.ones(count),
    )
    return BlockEngine(problem)


def test_same_histories_as_the_engine(engine: BlockEngine) -> None:
    lanes = np.arange(LANES, dtype=np.uint64)
    runs = engine.run(7, lanes, histories=True)
    waves = engine.problem.sea.slopes(7, lanes)
    start = np.repeat([0.1, 0.0], LANES)
    found = solve_ivp(
        derivative(engine, waves),
        (0.0, DURATION),
        start,
        method=BlockSolver,
        t_eval=output_times(DURATION, OUTPUT),
        engine=engine,
        waves=waves,
    )
    assert found.success
    np.testing.assert_allclose(found.y[:LANES].T, runs.histories[0], atol=1e-7)
    np.testing.assert_allclose(found.y[LANES:].T, runs.histories[1], atol=1e-7)


def test_solves_its_own_right_hand_side(engine: BlockEngine) -> None:
    lanes = np.arange(LANES, dtype=np.uint64)
    waves = engine.problem.sea.slopes(7, lanes)
    function, start = derivative(engine, waves), np.repeat([0.1, 0.0], LANES)
    options = {"engine": engine, "waves": waves}
    ours = solve_ivp(function, (0.0, DURATION), start, method=BlockSolver, **options)
    theirs = solve_ivp(
        function, (0.0, DURATION), start, method="DOP853", rtol=1e-7, atol=1e-9, max_step=1.0
    )
    np.testing.assert_allclose(ours.y[:, -1], theirs.y[:, -1], atol=math.radians(0.01))


def test_solvers_of_one_engine_do_not_disturb_each_other(engine: BlockEngine) -> None:
    """Stepped by turns, each is where it comes to alone: the tables of a moving G are its own."""
    waves = engine.problem.sea.slopes(7, np.arange(LANES, dtype=np.uint64))

    def solver(steps: int) -> BlockSolver:
        function, start = derivative(engine, waves), np.repeat([0.1, 0.0], LANES)
        made = BlockSolver(function, 0.0, start, DURATION, engine=engine, waves=waves)
        for _ in range(steps):
            made.step()
        return made

    one, other, alone = solver(0), solver(90), solver(100)
    for _ in range(100):
        one.step()
        other.step()
        engine.run(3, np.zeros(1, dtype=np.uint64), histories=False)
    np.testing.assert_array_equal(one.y, alone.y)
    np.testing.assert_array_equal(other.y, solver(190).y)


def test_dense_output_goes_through_the_steps(engine: BlockEngine) -> None:
    waves = engine.problem.sea.slopes(1, np.arange(LANES, dtype=np.uint64))
    solver = BlockSolver(
        derivative(engine, waves), 0.0, np.repeat([0.1, 0.0], LANES), DURATION, engine=engine,
        waves=waves,
    )  # fmt: skip
    for _ in range(8):
        before = solver.y
        solver.step()
        course = solver.dense_output()
        np.testing.assert_allclose(course(solver.t_old), before, atol=1e-15)
        np.testing.assert_allclose(course(solver.t), solver.y, atol=1e-14)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"y0": np.zeros(4)}, "must hold 32 rolls"),
        ({"t_bound": 10.0}, "interval must be 0 to 60"),
        ({"rtol": 1e-3}, "no option rtol"),
    ],
)
def test_what_it_cannot_do_is_refused(
    engine: BlockEngine, changed: dict[str, object], said: str
) -> None:
    waves = np.zeros((0, LANES))
    options: dict[str, object] = {
        "t0": 0.0, "y0": np.zeros(2 * LANES), "t_bound": DURATION, "engine": engine, "waves": waves
    }  # fmt: skip
    with pytest.raises(ValueError, match=said):
        BlockSolver(lambda t, y: y, **(options | changed))  # type: ignore[arg-type]
