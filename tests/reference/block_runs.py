"""Ships and seas for the block engine without a scenario, and statistics over its runs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len

from rollsim.engines.base import Case, run_list
from rollsim.engines.block import stepper as stepping
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.lanes import LANES
from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.runs import Measured
from rollsim.forcing.storm import Storm
from rollsim.forcing.synthesis import BAND, LEAD, REACH, Channels
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.timeline import Base, Change, mean_wind, timeline
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling
from rollsim.weather.sea import SeaState

Floats = NDArray[np.float64]
Words = NDArray[np.uint64]

ROW_PHASE = 1.5
"""Greatest ω δ of the rows [rad]: a number of its own, so that the engine does not alter draws."""


@dataclass(frozen=True, eq=False)
class GaussianSea:
    """Gaussian slopes of a one-sided spectrum, by FFT: `density` [rad² s] at the FFT's frequencies.

    They repeat only after the FFT's length, which is longer than the run.
    """

    density: Floats
    length: int
    step: float
    band: float = BAND

    @staticmethod
    def frequencies(highest: float, duration: float) -> tuple[Floats, int, float]:
        """Frequencies [rad/s], length and step [s] of the FFT up to `highest` [rad/s]."""
        step = ROW_PHASE / highest
        assert ROW_PHASE <= BAND
        length = int(next_fast_len(int(1.1 * duration / step) + LEAD + REACH + 64, real=True))
        first = 2.0 * np.pi / (length * step)
        return np.asarray(first * np.arange(length // 2 + 1), dtype=np.float64), length, step

    def rows(self, seed: int, realisations: Words, kind: type) -> NDArray[Any]:
        """Slope at every row: both parts of every component have the variance S dω."""
        size = 0.5 * np.sqrt(self.density * 2.0 * np.pi / (self.length * self.step))
        spectrum = np.empty((size.size, realisations.size), dtype=np.complex128)
        for lane, realisation in enumerate(realisations):
            draw = np.random.default_rng([seed, int(realisation)])
            spectrum[:, lane] = size * draw.standard_normal(2 * size.size).view(np.complex128)
        value = irfft(spectrum, self.length, axis=0, norm="forward")
        return np.ascontiguousarray(value.astype(kind))


def case_of(
    levers: Levers,
    gravity: Gravity,
    coefficients: Coefficients,
    times: tuple[float, float],
    *,
    waves: SeaState | None = None,
    roll: float = 0.0,
    limits: Limits | None = None,
    lever: float = 0.0,
    seed: int = 1,
) -> Case:
    """A case at rest of duration and output step in `times` [s], capsizing at the levers' end."""
    duration, output = times
    base = Base(gravity)
    calm = SeaState(None, 1.0, 1.0, 1.0, 1.0, duration)
    return Case(
        index=0,
        condition="base",
        coordinates={},
        beam=1.0,
        draught=1.0,
        depth=math.nan,
        levers=levers,
        gravity=gravity,
        kb=None,
        heeling=Heeling(),
        coefficients=coefficients,
        segments=timeline(duration, base, [Change(0.0, 0.0, lever=lever)] if lever else []),
        mean_wind=mean_wind(duration, base),
        storm=Storm(calm if waves is None else waves),
        start=(roll, 0.0),
        limits=limits or Limits(capsize=levers.heel_max),
        settle=0.0,
        output_step=output,
        seed=seed,
        method="block",
        tolerances=Tolerances(),
        accuracy=math.radians(0.01),
    )


def stepper_of(case: Case, step: float, slopes: GaussianSea | None = None) -> stepping.Stepper:
    """The case ready to be stepped at `step` [s], under `slopes` of its own where given."""
    engine = BlockEngine(case, step)
    if slopes is None:
        return engine.stepper()
    with patch.object(stepping, "channels", lambda storm, band: Channels(slopes, None, None)):
        return engine.stepper()


def blocks(stepper: stepping.Stepper, runs: int, histories: bool) -> Iterator[Measured]:
    """`runs` realisations, block by block; none of them may have strained the scheme."""
    case = stepper.outputs.case
    for first in range(0, runs, LANES):
        wanted = run_list(np.arange(first, min(first + LANES, runs)), case.start)
        levels = stepper.outputs.levels(wanted.roll)
        measured, strained = stepper.run(wanted, levels, histories=histories)
        assert not strained.any()
        yield measured


def mean_and_error(by_run: Floats) -> tuple[Floats, Floats]:
    """Mean over independent runs (last axis) and its standard error."""
    error = np.std(by_run, axis=-1, ddof=1) / np.sqrt(by_run.shape[-1])
    return np.asarray(np.mean(by_run, axis=-1)), np.asarray(error)
