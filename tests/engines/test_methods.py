"""Every method's course over a step is its own dense output, and all methods agree."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import islice

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from integrate_samples import SHARP, TIGHT, coaster_in_storm, solve
from numpy.polynomial import chebyshev
from scipy.integrate import OdeSolver

from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.methods import METHODS, sampled
from rollsim.engines.scipy.watch import at, greatest
from rollsim.motion.coefficients import pack
from rollsim.motion.equation import derivative

every_method = pytest.mark.parametrize("method", METHODS)


def steps(method: str, relative: float) -> Iterator[OdeSolver]:
    """The solver of `method` after each of its steps through 40 s of a storm."""
    run = coaster_in_storm(duration=60.0)
    packed, segment = pack(run.coefficients), run.segments[-1]
    solver = METHODS[method].solver(
        lambda time, y: derivative(time, y, *packed, segment),
        0.0,
        np.array([0.2, -0.1]),
        40.0,
        rtol=relative,
        atol=relative,
        max_step=4.0,
    )
    while solver.status == "running":
        solver.step()
        assert solver.status != "failed"
        yield solver


@every_method
@pytest.mark.parametrize("relative", [1e-3, 1e-9])
def test_the_series_is_the_dense_output(method: str, relative: float) -> None:
    random = np.random.default_rng(4)
    for solver in islice(steps(method, relative), 40):
        series = METHODS[method].series(solver)
        places = random.uniform(-1.0, 1.0, 9)
        times = solver.t_old + 0.5 * (places + 1.0) * (solver.t - solver.t_old)
        dense = solver.dense_output()(times)
        for row in range(2):
            found = [at(np.ascontiguousarray(series[row]), x) for x in places]
            assert found == pytest.approx(dense[row], abs=2e-13)


@every_method
def test_a_step_ends_where_the_solver_stands(method: str) -> None:
    for solver in islice(steps(method, 1e-6), 40):
        ends = METHODS[method].series(solver).sum(axis=1)
        assert ends == pytest.approx(solver.y, abs=1e-12)


def test_the_cheap_series_is_the_sampled_one() -> None:
    for solver in steps("RK45", 1e-6):
        cheap, dear = METHODS["RK45"].series(solver), sampled(4)(solver)
        assert cheap.shape == dear.shape == (2, 5)
        assert cheap == pytest.approx(dear, abs=1e-13)


def test_methods_are_spelled_as_scipy_spells_them() -> None:
    assert list(METHODS) == ["DOP853", "RK45", "LSODA", "Radau"]
    assert all(method.solver.__name__ == name for name, method in METHODS.items())


@pytest.mark.parametrize("relative", [True, False])
def test_all_methods_agree(relative: bool) -> None:
    run = coaster_in_storm(relative=relative)
    exact = solve(run, SHARP)
    for method in METHODS:
        found = solve(run, TIGHT[method])
        assert found.message == ""
        assert found.roll == pytest.approx(exact.roll, abs=2e-5)
        assert found.rate == pytest.approx(exact.rate, abs=2e-5)
        assert (found.roll_max, found.roll_min) == pytest.approx(
            (exact.roll_max, exact.roll_min), abs=2e-5
        )


@every_method
def test_a_tighter_tolerance_is_nearer(method: str) -> None:
    run = coaster_in_storm(duration=80.0)
    exact = solve(run, SHARP).roll
    off = [
        float(np.max(np.abs(solve(run, Tolerances(method, r, r)).roll - exact)))
        for r in (1e-3, 1e-5, 1e-7)
    ]
    assert off[0] > 5.0 * off[1] > 25.0 * off[2]
    assert off[2] < 1e-4


# The series' own arithmetic


@settings(deadline=None)
@given(
    series=st.lists(st.floats(-1.0, 1.0), min_size=1, max_size=14),
    place=st.floats(-1.0, 1.0),
)
def test_a_series_is_summed_rightly_and_bounded(series: list[float], place: float) -> None:
    coefficients = np.array(series)
    value = at(coefficients, place)
    assert value == pytest.approx(float(chebyshev.chebval(place, coefficients)), abs=1e-13)
    assert abs(value) <= greatest(coefficients) + 1e-13


def test_a_bound_is_reached_by_a_single_polynomial() -> None:
    assert greatest(np.array([0.0, 0.0, -2.0])) == 2.0
    assert at(np.array([0.0, 0.0, -2.0]), math.cos(0.5 * math.pi)) == pytest.approx(2.0)
