"""What an engine is asked and what it gives: a case and a list of runs in, numbers by run out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.motion.timeline import mean_wind_at
from rollsim.ship.righting import RightingCurve

if TYPE_CHECKING:
    from rollsim.engines.limits import Limits, Tolerances
    from rollsim.engines.runs import Runs
    from rollsim.forcing.storm import Storm
    from rollsim.motion.coefficients import Coefficients
    from rollsim.ship.levers import Gravity, Levers
    from rollsim.ship.liquid import FillingLevers
    from rollsim.ship.midship import Midship
    from rollsim.ship.righting import Heeling
    from rollsim.ship.wave_levers import WaveLevers

Floats = NDArray[np.float64]

WHOLE, FIRST_LIMIT, CAPSIZE = range(3)
"""Until when a run is made: as a whole, or until the event that a search looks for."""

BLOCK = "block"
"""The engine that is no scipy method."""


@dataclass(frozen=True, eq=False)
class Case:
    """One case of a study, all that its runs need, in SI units and radians; made to be sent.

    `depth` is NaN and `kb` None where not known; `start` is the resolved roll and rate.
    `waves` are levers in waves by her hull, with `gm_per_m` what comes nearest to them.
    `mean_wind` (n, 2) is the wind without gusts [m/s] over the time [s], straight between its rows;
    `accuracy` [rad] that of the block engine; `filling` what liquid adds while tanks fill.
    """

    index: int
    condition: str
    coordinates: Mapping[str, float | str]
    beam: float
    draught: float
    depth: float
    levers: Levers
    gravity: Gravity
    kb: float | None
    heeling: Heeling
    coefficients: Coefficients
    segments: Floats
    mean_wind: Floats
    storm: Storm
    start: tuple[float, float]
    limits: Limits
    settle: float
    output_step: float
    seed: int
    method: str
    tolerances: Tolerances
    accuracy: float
    gm_per_m: float = 0.0
    filling: FillingLevers | None = None
    waves: WaveLevers | None = None
    midship: Midship | None = None

    @property
    def curve(self) -> RightingCurve:
        """The righting curve with the mean wind of t = 0, before events."""
        return RightingCurve(self.levers, self.gravity, self.heeling)

    @property
    def duration(self) -> float:
        """Length of a run [s]."""
        return float(self.segments[-1, 1])

    @property
    def random(self) -> bool:
        """Whether a forcing that acts on her differs between realisations."""
        return self.storm.random

    def mean_wind_at(self, times: Floats) -> Floats:
        """Wind speed without gusts [m/s] at `times` [s]; at a sudden change what it becomes."""
        return mean_wind_at(self.mean_wind, times)


class RunList(NamedTuple):
    """Runs of one case to be made, arrays (n,): each is a realisation, a start and two factors.

    `roll` [rad] and `rate` [rad/s] at t = 0; `waves` multiplies slope and elevation of the sea,
    `wind` the wind speed V(t) as a whole. `until` is WHOLE, or what a search makes the run for: it
    then ends at FIRST_LIMIT or at CAPSIZE, and outcome, passings and end are all that it gives.
    """

    realisation: NDArray[np.uint64]
    roll: Floats
    rate: Floats
    waves: Floats
    wind: Floats
    until: NDArray[np.int8]

    @property
    def size(self) -> int:
        """Number of runs."""
        return int(self.realisation.size)

    def part(self, which: slice | NDArray[np.intp]) -> RunList:
        """Some of the runs."""
        return RunList(*(values[which] for values in self))  # type: ignore[arg-type]


def run_list(
    realisation: ArrayLike,
    start: tuple[ArrayLike, ArrayLike],
    waves: ArrayLike = 1.0,
    wind: ArrayLike = 1.0,
    *,
    until: int = WHOLE,
) -> RunList:
    """Runs from single numbers or arrays of one length; `start` is roll [rad] and rate [rad/s]."""
    given = np.atleast_1d(np.asarray(realisation))
    if given.dtype.kind not in "iu" or given.ndim != 1 or not given.size or np.any(given < 0):
        raise ValueError("realisations are whole numbers from 0 on, one or a list of them")
    number = given.astype(np.uint64)
    others = [np.asarray(each, dtype=np.float64) for each in (*start, waves, wind)]
    if any(each.ndim > 1 for each in others):
        raise ValueError("starts and factors are single numbers or lists of one length")
    shape = np.broadcast_shapes(number.shape, *(each.shape for each in others))
    roll, rate, on_waves, on_wind = (
        np.ascontiguousarray(np.broadcast_to(each, shape)) for each in others
    )
    realisations = np.ascontiguousarray(np.broadcast_to(number, shape))
    return RunList(
        realisations, roll, rate, on_waves, on_wind, np.full(shape, until, dtype=np.int8)
    )


class Engine(Protocol):
    """An engine made ready for one case."""

    def run(self, runs: RunList, *, histories: bool) -> Runs:
        """Make the runs: in their order, in the units of the result.

        What is made of a run depends on that run alone, never on the others of the list.
        """
