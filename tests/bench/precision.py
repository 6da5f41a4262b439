"""Work and precision of the block engine: the step against error, undamped and in the storm.

Drawn to results/bench-precision.png, and printed: the default step must be good enough for both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ellipk

from rollsim.engines.base import Case
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.lanes import LANES
from rollsim.engines.limits import Limits
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Base, mean_wind, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling
from rollsim.weather.sea import SeaState
from tests.bench.ship import BEAM, DRAUGHT, EXACT, LENGTH, SPAN, case, engine, storms
from tests.bench.table import Row, cpu

STEPS = (0.4, 1.0 / 3.0, 0.25, 0.2, 1.0 / 6.0, 0.125)
LOOKS = 24
PERIOD, AMPLITUDE, SWINGS = 12.0, math.radians(40.0), 60
GM = 0.5
FOLDER = Path("results")


class Point(NamedTuple):
    """Step [s], greatest errors [degree] in the storm and undamped, CPU of a storm-hour [ms]."""

    step: float
    storm: float
    undamped: float
    cost: float


def rows() -> Iterator[Row]:
    """Errors in degrees by step, and CPU of a storm-hour; then at the steps the engine takes."""
    exact = ScipyEngine(case(duration=SPAN, output_step=1.0), EXACT)
    true = exact.run(storms(0, LOOKS), histories=True).histories[0].astype(float)
    points = [
        Point(step, _storm_error(step, true), _undamped(step)[1], _cost(step)) for step in STEPS
    ]
    for point in points:
        yield Row(f"step {point.step:.3f} s: CPU of a storm-hour", point.cost, "ms")
        yield Row(f"step {point.step:.3f} s: greatest error in the storm", point.storm, "deg")
        yield Row(
            f"step {point.step:.3f} s: 40 deg undamped, after 60 swings", point.undamped, "deg"
        )
    yield Row("the engine's own step in the storm", engine(output_step=1.0).step, "s")
    yield Row("  greatest error", _storm_error(None, true), "deg", most=0.01)
    own, error = _undamped(None)
    yield Row("the engine's own step undamped", own, "s")
    yield Row("  error of the amplitude after 60 swings", error, "deg", most=0.01)
    yield Row("written", float(_draw(points)), "files")


def _cost(step: float) -> float:
    """CPU of a storm-hour [ms]."""
    ready, runs = engine(step, 1.0), storms(0, 4 * LANES)
    ready.run(runs, histories=False)
    return 1e3 * cpu(lambda: ready.run(runs, histories=False)) / runs.size


def _storm_error(step: float | None, true: NDArray[np.float64]) -> float:
    """Greatest difference [degree] from DOP853 at 1e-11 over ten minutes of the storms."""
    ready = BlockEngine(case(duration=SPAN, output_step=1.0), step)
    ours = ready.run(storms(0, LOOKS), histories=True).histories[0]
    return float(np.max(np.abs(ours - true)))


def _undamped(step: float | None) -> tuple[float, float]:
    """The step [s], and what an undamped roll of 40° on a sine lever has lost after 60 periods
    [degree]."""
    swing = PERIOD * 2.0 / math.pi * float(ellipk(math.sin(0.5 * AMPLITUDE) ** 2))
    free = _free_roll(float(math.ceil(SWINGS * swing)))
    ready = BlockEngine(free, step)
    runs = ready.run(storms(0, 1)._replace(roll=np.array([AMPLITUDE])), histories=True)
    roll, rate = np.radians(runs.histories[:2, 0, -1].astype(float))
    energy = 0.5 * free.coefficients.inertia * rate**2 + GM * (1.0 - math.cos(roll))
    amplitude = math.acos(max(-1.0, 1.0 - energy / GM))
    return ready.step, abs(math.degrees(amplitude - AMPLITUDE))


def _free_roll(duration: float) -> Case:
    """A lever of GM sin φ, neither damping nor sea nor limits."""
    levers, gravity = Levers(-math.pi, math.pi, sine=5.0 + GM), Gravity(5.0)
    inertia = (PERIOD / math.tau) ** 2 * GM
    return replace(
        case(output_step=1.0),
        levers=levers,
        gravity=gravity,
        heeling=Heeling(),
        coefficients=calm_coefficients(levers, inertia, Damping()),
        segments=timeline(duration, Base(gravity)),
        mean_wind=mean_wind(duration, Base(gravity)),
        storm=Storm(SeaState(None, LENGTH, BEAM, DRAUGHT, BEAM, duration)),
        limits=Limits(capsize=math.pi),
    )


def _draw(points: list[Point]) -> int:
    """The diagram: CPU against error, both on logarithmic scales."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.0, 5.0), layout="constrained")
    axes = figure.add_subplot()
    cost = [point.cost for point in points]
    axes.loglog(cost, [point.storm for point in points], "o-", label="in the storm, over 600 s")
    axes.loglog(
        cost, [point.undamped for point in points], "s--", label="40° undamped, after 60 swings"
    )
    axes.axhline(0.01, color="black", linewidth=0.8)
    for point in points:
        axes.annotate(f" {point.step:.3g} s", (point.cost, point.storm))
    axes.set_xlabel("CPU of a storm-hour [ms]")
    axes.set_ylabel("greatest error of the roll [°]")
    axes.legend()
    FOLDER.mkdir(exist_ok=True)
    figure.savefig(FOLDER / "bench-precision.png", dpi=120)
    return 1
