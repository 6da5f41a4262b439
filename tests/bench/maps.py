"""A basin of a million starts against loops by general integrators, and a response curve."""

from __future__ import annotations

import contextlib
import io
import math
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.forcing.storm import Storm
from rollsim.scenario.load import load
from rollsim.scenario.schema import Basin
from rollsim.steady.family import PERIOD
from rollsim.steady.search import Search
from rollsim.study.basin import basin_arrays
from rollsim.study.equilibria import equilibria_arrays, equilibria_of
from rollsim.study.pieces import works_in_memory
from rollsim.study.plan import make_plan
from rollsim.study.workers import Where
from rollsim.weather.sea import RegularWave, SeaState
from tests.bench import ship
from tests.bench.table import Row, cpu

Floats = NDArray[np.float64]

WAVES, HEIGHT, WAVE_PERIOD = 16, 4.0, 11.0
SIDE = 1000
ROLL, RATE = 60.0, 30.0
"""Of the window of starts, either side [degree, degree/s]."""
BY_HAND, COMPILED = 6, 400
"""Starts of the loops by others, spread over the window; their time goes with the number."""


def rows() -> Iterator[Row]:
    """The figures of the maps."""
    yield from _basin()
    yield from _response()
    yield from _equilibria()


def _case() -> Case:
    duration = WAVES * WAVE_PERIOD
    made = ship.case(duration=duration, output_step=duration)
    sea = SeaState(
        RegularWave(HEIGHT, WAVE_PERIOD), ship.LENGTH, ship.BEAM, ship.DRAUGHT, ship.BEAM, duration
    )
    return replace(made, storm=Storm(sea))


def _window(side: int) -> Basin:
    return Basin.model_validate(
        {
            "roll_deg": {"from": -ROLL, "to": ROLL, "steps": side},
            "roll_rate_deg_per_s": {"from": -RATE, "to": RATE, "steps": side},
        }
    )


def _basin() -> Iterator[Row]:
    case = _case()
    basin_arrays(case, _window(16))
    start, used = time.perf_counter(), time.process_time()
    work = lambda pieces: basin_arrays(case, _window(SIDE), pieces)  # noqa: E731
    (made,) = works_in_memory([work], Where(workers=2))
    wall, seconds = time.perf_counter() - start, time.process_time() - used
    each = seconds / SIDE**2
    yield Row("basin of 1000 x 1000 starts over 16 waves, two threads, wall", wall, "s", most=20.0)
    yield Row("the same, CPU", seconds, "s")
    yield Row("starts that survive", float(np.mean(made["outcome"] == 1)))
    random = np.random.default_rng(3)
    starts = np.radians(random.uniform(-1.0, 1.0, (COMPILED, 2)) * [ROLL, RATE])
    by_hand = cpu(lambda: [_by_hand(case, start) for start in starts[:BY_HAND]], 1) / BY_HAND
    yield Row("a loop of solve_ivp / the basin, CPU a start", by_hand / each, "", least=1000.0)
    compiled = _compiled(case)
    if compiled is not None:
        for start in starts[:2]:
            compiled(start)
        others = cpu(lambda: [compiled(start) for start in starts], 3) / COMPILED
        yield Row("a compiled integrator / the basin, CPU a start", others / each, "", least=3.0)


def _slope(case: Case) -> tuple[float, float]:
    """Amplitude [rad] and frequency [rad/s] of the effective slope."""
    from rollsim.weather.sea import realise

    wave = realise(case.storm.sea, 0, 0)
    return float(wave.slope[0]), float(wave.frequency[0])


def _by_hand(case: Case, start: Floats) -> object:
    """One start as a script by hand has it: the right-hand side in Python, until she capsizes."""
    from scipy.integrate import solve_ivp

    spline, (size, frequency) = ship.gz_spline(), _slope(case)
    scale = GRAVITY / ship.GYRADIUS**2

    def rates(t: float, y: Floats) -> list[float]:
        angle = frequency * t
        heel = y[0] + size * math.sin(angle)
        through = y[1] + size * frequency * math.cos(angle)
        lever = ship.WIND_LEVER - float(spline(min(max(heel, -1.57), 1.57)))
        return [y[1], scale * lever - ship.B1 * through - ship.B2 * abs(through) * through]

    def capsized(t: float, y: Floats) -> float:
        return float(0.5 * math.pi - abs(y[0]))

    capsized.terminal = True  # type: ignore[attr-defined]
    return solve_ivp(rates, (0.0, case.duration), start, rtol=1e-6, atol=1e-8, events=capsized)


def _compiled(case: Case) -> Callable[[Floats], object] | None:
    """One start by CyRK (RK45, 1e-4), all in compiled code; None without it."""
    try:
        from CyRK import nbsolve_ivp
    except ImportError:
        return None
    from numba import njit

    size, frequency = _slope(case)
    heel = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 1801)
    spline = ship.gz_spline()
    table, gradient = spline(heel), spline(heel, 1)
    spacing, scale = heel[1] - heel[0], GRAVITY / ship.GYRADIUS**2
    wind, b1, b2 = ship.WIND_LEVER, ship.B1, ship.B2

    @njit
    def rates(t: float, y: Any) -> Any:
        result = np.zeros_like(y)
        if abs(y[0]) > 0.5 * math.pi:  # capsized: nothing to be stepped any more
            return result
        psi = y[0] + size * math.sin(frequency * t)
        through = y[1] + size * frequency * math.cos(frequency * t)
        z = min(max((psi + 0.5 * math.pi) / spacing, 0.0), 1800.0)
        j = int(z + 0.5)
        lever = wind - table[j] - (z - j) * spacing * gradient[j]
        result[0] = y[1]
        result[1] = scale * lever - b1 * through - b2 * abs(through) * through
        return result

    def work(start: Floats) -> object:
        with contextlib.redirect_stdout(io.StringIO()):  # it warns of its own future
            return nbsolve_ivp(rates, (0.0, case.duration), start, rtol=1e-4, atol=1e-6)

    return work


def _response() -> Iterator[Row]:
    """200 points of a folded curve with their multipliers: the ship, undriven by wind."""
    case = replace(_case(), start=(0.0, 0.0))
    search = Search(case, PERIOD, 6.0, 20.0)
    seconds = cpu(lambda: search.run([13.0]), 1)
    points = sum(len(branch.points) for branch in search.branches)
    yield Row("points of a response curve with multipliers", float(points))
    yield Row("200 points of it, CPU", 200.0 * seconds / points, "s", most=10.0)


def _equilibria() -> Iterator[Row]:
    """The map of loll of one ship with its slow change there and back."""
    plan = make_plan(load("scenarios/research/loll-map.toml"))
    table = equilibria_of(plan)
    equilibria_arrays(plan, 1, table)
    seconds = cpu(lambda: equilibria_arrays(plan, 1, table), 3)
    yield Row("a map of equilibria, CPU", seconds, "s", most=2.0)
