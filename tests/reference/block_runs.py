"""Ships and seas for the block engine without a scenario, and statistics over its runs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from rollsim.engines.block.prepare import BlockEngine, BlockProblem, BlockRuns
from scipy.fft import irfft, next_fast_len

from rollsim.engines.block.lanes import LANES
from rollsim.engines.limits import Limits, output_times
from rollsim.forcing.synthesis import BAND, LEAD, REACH, CalmSea, Sea
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.timeline import Change, timeline
from rollsim.ship.levers import Gravity, Levers

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
    calm: bool = False

    @staticmethod
    def frequencies(highest: float, duration: float) -> tuple[Floats, int, float]:
        """Frequencies [rad/s], length and step [s] of the FFT up to `highest` [rad/s]."""
        step = ROW_PHASE / highest
        assert ROW_PHASE <= BAND
        length = int(next_fast_len(int(1.1 * duration / step) + LEAD + REACH + 64, real=True))
        first = 2.0 * np.pi / (length * step)
        return np.asarray(first * np.arange(length // 2 + 1), dtype=np.float64), length, step

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope at every row: both parts of every component have the variance S dω."""
        size = 0.5 * np.sqrt(self.density * 2.0 * np.pi / (self.length * self.step))
        spectrum = np.empty((size.size, realisations.size), dtype=np.complex128)
        for lane, realisation in enumerate(realisations):
            draw = np.random.default_rng([seed, int(realisation)])
            spectrum[:, lane] = size * draw.standard_normal(2 * size.size).view(np.complex128)
        return np.ascontiguousarray(irfft(spectrum, self.length, axis=0, norm="forward"))


def engine_of(
    levers: Levers,
    gravity: Gravity,
    coefficients: Coefficients,
    times: tuple[float, float, float],
    *,
    sea: Sea | None = None,
    roll: float = 0.0,
    limits: Limits | None = None,
    lever: float = 0.0,
) -> BlockEngine:
    """An engine for duration, output step and step in `times` [s]; margins are not asked for."""
    duration, output, step = times
    changes = [Change(0.0, 0.0, lever=lever)] if lever else []
    outputs = output_times(duration, output).size
    return BlockEngine(
        BlockProblem(
            levers=levers,
            coefficients=coefficients,
            segments=timeline(duration, gravity, changes),
            sea=CalmSea() if sea is None else sea,
            roll=roll,
            rate=0.0,
            output_step=output,
            step=step,
            limits=Limits() if limits is None else limits,
            settle=0.0,
            mean_wind=0.0,
            low=np.zeros(outputs),
            barrier=np.ones(outputs),
        )
    )


def blocks(engine: BlockEngine, seed: int, runs: int, histories: bool) -> Iterator[BlockRuns]:
    """`runs` realisations, block by block."""
    for first in range(0, runs, LANES):
        wanted = np.arange(first, min(first + LANES, runs), dtype=np.uint64)
        yield engine.run(seed, wanted, histories)


def mean_and_error(by_run: Floats) -> tuple[Floats, Floats]:
    """Mean over independent runs (last axis) and its standard error."""
    error = np.std(by_run, axis=-1, ddof=1) / np.sqrt(by_run.shape[-1])
    return np.asarray(np.mean(by_run, axis=-1)), np.asarray(error)
