"""Work and precision of the block engine: the step against error, undamped and in the storm.

Drawn to results/bench-precision.png, and printed: the default step must be good enough for both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from rollsim.engines.block.prepare import BlockEngine, BlockProblem
from scipy.special import ellipk

from rollsim.constants import GRAVITY
from rollsim.engines.block.lanes import LANES
from rollsim.engines.limits import Limits, Problem, Tolerances, output_times
from rollsim.engines.scipy.solver import solve
from rollsim.forcing.single import with_waves
from rollsim.forcing.synthesis import CalmSea
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers
from rollsim.weather.sea import realise
from tests.bench.ship import GRAVITY_CENTRE, LIMITS, SEA, coefficients, engine
from tests.bench.table import Row, cpu

STEPS = (0.5, 1.0 / 3.0, 0.25, 0.2, 0.125)
STORM, LOOKS = 600.0, 4
PERIOD, AMPLITUDE, SWINGS = 12.0, math.radians(40.0), 60
FOLDER = Path("results")


def rows() -> Iterator[Row]:
    """Errors in degrees by step, and CPU of a storm-hour."""
    found = []
    for step in STEPS:
        storm, undamped = _storm_error(step), _amplitude_error(step)
        ready = engine(step, 3600.0, 1.0)
        lanes = np.arange(LANES, dtype=np.uint64)
        ready.run(7, lanes, histories=False)
        cost = cpu(lambda r=ready, n=lanes: r.run(7, n, histories=False)) / LANES  # type: ignore[misc]
        found.append((step, storm, undamped, 1e3 * cost))
        yield Row(f"step {step:.3f} s: CPU of a storm-hour", 1e3 * cost, "ms")
        yield Row(f"step {step:.3f} s: greatest error in the storm", storm, "deg")
        yield Row(f"step {step:.3f} s: 40 deg undamped, after 60 swings", undamped, "deg")
    yield Row("written", float(_draw(found)), "files")


def _storm_error(step: float) -> float:
    """Greatest difference from DOP853 at 1e-11 over 600 s of the first storms [degree]."""
    ready = engine(step, STORM, 1.0)
    ours = ready.run(7, np.arange(LOOKS, dtype=np.uint64), histories=True).histories[0]
    worst = 0.0
    for k in range(LOOKS):
        sea = ready.problem.sea
        assert not sea.calm
        state = SEA.__class__(**{**SEA.__dict__, "duration": STORM})
        run = Problem(
            with_waves(coefficients(), realise(state, 7, k), STORM),
            timeline(STORM, GRAVITY_CENTRE, wind_speed=1.0),
            0.0,
            0.0,
            1.0,
            LIMITS,
        )
        exact = solve(run, Tolerances("DOP853", 1e-11, 1e-11)).roll
        worst = max(worst, float(np.nanmax(np.abs(ours[:, k] - exact))))
    return math.degrees(worst)


def _amplitude_error(step: float) -> float:
    """What an undamped roll of 40° on a sine lever has lost after 60 periods [degree]."""
    gm = 0.5
    levers = Levers(-math.pi, math.pi, sine=5.5)
    gyradius = PERIOD * math.sqrt(GRAVITY * gm) / math.tau
    swing = PERIOD * 2.0 / math.pi * float(ellipk(math.sin(0.5 * AMPLITUDE) ** 2))
    duration = step * math.ceil(SWINGS * swing / step)
    count = output_times(duration, step).size
    problem = BlockProblem(
        levers=levers,
        coefficients=calm_coefficients(levers, gyradius**2 / GRAVITY, Damping()),
        segments=timeline(duration, Gravity(5.0)),
        sea=CalmSea(),
        roll=AMPLITUDE,
        rate=0.0,
        output_step=step,
        step=step,
        limits=Limits(),
        settle=0.0,
        mean_wind=0.0,
        low=np.zeros(count),
        barrier=np.ones(count),
    )
    runs = BlockEngine(problem).run(0, np.zeros(1, dtype=np.uint64), histories=True)
    roll, rate = runs.histories[:2, -1, 0].astype(float)
    energy = 0.5 * gyradius**2 / GRAVITY * rate**2 + gm * (1.0 - math.cos(roll))
    amplitude = math.acos(max(-1.0, 1.0 - energy / gm))
    return abs(math.degrees(amplitude - AMPLITUDE))


def _draw(found: list[tuple[float, float, float, float]]) -> int:
    """The diagram: CPU against error, both on logarithmic scales."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.0, 5.0), layout="constrained")
    axes = figure.add_subplot()
    cost = [row[3] for row in found]
    axes.loglog(cost, [row[1] for row in found], "o-", label="in the storm, over 600 s")
    axes.loglog(cost, [row[2] for row in found], "s--", label="40° undamped, after 60 swings")
    axes.axhline(0.01, color="black", linewidth=0.8)
    for step, storm, _, milliseconds in found:
        axes.annotate(f" {step:.3g} s", (milliseconds, storm))
    axes.set_xlabel("CPU of a storm-hour [ms]")
    axes.set_ylabel("greatest error of the roll [°]")
    axes.legend()
    FOLDER.mkdir(exist_ok=True)
    figure.savefig(FOLDER / "bench-precision.png", dpi=120)
    return 1
