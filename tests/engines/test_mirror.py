"""Port and starboard are alike: a problem in the mirror has the solution in the mirror."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from integrate_samples import TIGHT, Found, calm, coaster_in_storm, problem, solve, storm

from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy.methods import METHODS
from rollsim.engines.scipy.solver import Problem
from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.timeline import ACROSS, LEVER, Change
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, polynomial, wall_sided
from rollsim.weather.wind import Gust

ODD = {
    "wall-sided": wall_sided(5.0, 3.0, math.radians(60.0)),
    "polynomial": polynomial([-0.05, 0.0, 0.8, 0.0, -0.5], 5.0, 1.2),
}
LIMITS = Limits(0.4, 0.5, math.radians(60.0))


def mirrored(run: Problem) -> Problem:
    """The same run seen from ahead instead of astern."""
    c = run.coefficients
    waves = c.waves.copy()
    waves[2] *= -1.0
    across: Coefficients = c._replace(wind=-c.wind, waves=waves, slope_grid=-c.slope_grid)
    segments = run.segments.copy()
    segments[:, ACROSS : ACROSS + 2] *= -1.0
    segments[:, LEVER : LEVER + 2] *= -1.0
    return replace(run, coefficients=across, segments=segments, roll=-run.roll, rate=-run.rate)


def facts(found: Found) -> list[float]:
    times = [found.end_time, found.passed_roll, found.passed_flooding, found.passed_capsize]
    return [*times, found.early, found.outcome]


@settings(max_examples=25, deadline=None)
@given(
    ship=st.sampled_from(list(ODD)),
    method=st.sampled_from(["DOP853", "RK45"]),
    start=st.tuples(st.floats(-0.5, 0.5), st.floats(-0.3, 0.3)),
    off_centre=st.floats(-0.05, 0.05),
    lever=st.floats(-0.1, 0.1),
    waves=st.tuples(st.sampled_from([3, 30]), st.integers(0, 9)),
    relative=st.booleans(),
)
def test_the_mirrored_problem_has_the_mirrored_solution(
    ship: str,
    method: str,
    start: tuple[float, float],
    off_centre: float,
    lever: float,
    waves: tuple[int, int],
    relative: bool,
) -> None:
    c = calm(ODD[ship], damping=Damping(0.01, 0.3, 0.1))
    c = c._replace(relative=relative, absolute_gm=0.2, ramp=5.0)
    c = with_waves(c, storm(0.1, *waves), 60.0)
    run = problem(
        c,
        60.0,
        start,
        0.5,
        LIMITS,
        10.0,
        gravity=Gravity(5.0, off_centre),
        changes=[Change(20.0, 5.0, lever=lever)],
        wind_speed=15.0,
        gusts=(Gust(30.0, 1.0, 4.0, 1.4),),
    )
    here, there = (solve(r, Tolerances(method, 1e-7, 1e-9)) for r in (run, mirrored(run)))
    assert here.roll == pytest.approx(-there.roll, abs=1e-6, nan_ok=True)
    assert here.rate == pytest.approx(-there.rate, abs=1e-6, nan_ok=True)
    assert (here.roll_max, here.roll_min) == pytest.approx(
        (-there.roll_min, -there.roll_max), abs=1e-6, nan_ok=True
    )
    assert facts(here) == pytest.approx(facts(there), abs=1e-5, nan_ok=True)


@pytest.mark.parametrize("method", METHODS)
def test_a_table_and_every_method_are_alike_but_for_rounding(method: str) -> None:
    run = coaster_in_storm(duration=100.0, limits=LIMITS)
    here, there = (solve(r, TIGHT[method]) for r in (run, mirrored(run)))
    assert here.roll == pytest.approx(-there.roll, abs=1e-5)
    assert here.roll_max == pytest.approx(-there.roll_min, abs=1e-5)
