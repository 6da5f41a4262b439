"""A run that the solver cannot finish is not solved, with its message; it raises nothing."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from integrate_samples import COASTER, LINEAR, Found, calm, problem, solve
from scipy.integrate import RK45

from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy.methods import METHODS, Method
from rollsim.engines.scipy.solver import Problem
from rollsim.names import Outcome
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity

every_method = pytest.mark.parametrize("method", METHODS)


def running_away(damping: Damping, start: tuple[float, float] = (0.1, 1.0)) -> Problem:
    c = calm(COASTER, damping=damping)
    return problem(c, 20.0, start, 0.5, gravity=Gravity(5.3), limits=Limits(capsize=1.5))


def check_not_solved(found: Found, method: str) -> None:
    assert found.outcome is Outcome.NOT_SOLVED
    assert found.message.startswith(f"{method} gave up at ")
    assert "\n" not in found.message
    assert 0.0 <= found.end_time < 20.0
    written = np.arange(found.roll.size) * 0.5 <= found.end_time
    assert np.all(np.isnan(found.roll[~written]))


@every_method
def test_damping_that_drives_her_away_is_not_solved(method: str) -> None:
    """φ″ = +b φ′³ goes to infinity in the time 1/(2 b φ′²), at a finite angle."""
    found = solve(running_away(Damping(0.0, 0.0, -1e3)), Tolerances(method))
    check_not_solved(found, method)
    assert found.end_time == pytest.approx(5e-4, rel=1e-3)


@every_method
def test_damping_beyond_all_numbers_is_not_solved(method: str) -> None:
    found = solve(running_away(Damping(0.0, 0.0, 1e300)), Tolerances(method))
    check_not_solved(found, method)


@every_method
@pytest.mark.parametrize("start", [(0.1, math.nan), (0.1, math.inf), (0.1, 1e160)])
def test_a_start_that_is_no_number_is_not_solved(method: str, start: tuple[float, float]) -> None:
    check_not_solved(solve(running_away(Damping(0.0, 1.0, 0.1), start), Tolerances(method)), method)


@every_method
def test_an_equation_that_gives_no_number_is_not_solved(method: str) -> None:
    found = solve(running_away(Damping(math.nan)), Tolerances(method))
    check_not_solved(found, method)
    assert found.end_time == 0.0


class Stopping(RK45):  # type: ignore[misc]
    """A solver that gives up at the first step past 8 s, in the way that it is told."""

    way: Callable[[], tuple[bool, str | None]]

    def _step_impl(self) -> tuple[bool, str | None]:
        return type(self).way() if self.t > 8.0 else super()._step_impl()


def failing() -> tuple[bool, str | None]:
    return False, "no more steps"


def raising() -> tuple[bool, str | None]:
    raise ValueError("array must not contain infs or NaNs")


def dividing() -> tuple[bool, str | None]:
    raise ZeroDivisionError("division by zero")


def singular() -> tuple[bool, str | None]:
    raise np.linalg.LinAlgError("singular matrix")


@pytest.mark.parametrize(
    ("way", "reason"),
    [
        (failing, "no more steps"),
        (raising, "array must not contain infs or NaNs"),
        (dividing, "division by zero"),
        (singular, "singular matrix"),
    ],
)
def test_what_was_solved_is_kept(
    monkeypatch: pytest.MonkeyPatch,
    way: Callable[[], tuple[bool, str | None]],
    reason: str,
) -> None:
    stopping = type("Stopping", (Stopping,), {"way": staticmethod(way)})
    method = Method(stopping, METHODS["RK45"].series)
    monkeypatch.setitem(METHODS, "RK45", method)
    run = problem(calm(LINEAR), 20.0, (0.2, 0.0), 0.5, Limits(roll=0.1, capsize=1.5))
    found = solve(run, Tolerances("RK45"))
    check_not_solved(found, "RK45")
    assert found.message.endswith(reason)
    assert found.end_time > 8.0
    last = math.floor(found.end_time / 0.5)
    exact = 0.2 * np.cos(0.5 * run.output_times[: last + 1])
    assert found.roll[: last + 1] == pytest.approx(exact, abs=1e-6)
    assert found.passed_roll == 0.0
    assert found.roll_max == pytest.approx(0.2, abs=1e-12)


def test_a_capsize_before_the_trouble_is_a_capsize() -> None:
    found = solve(running_away(Damping(-2.0), (0.1, 0.5)), Tolerances())
    assert found.outcome is Outcome.CAPSIZED
    assert found.message == ""
