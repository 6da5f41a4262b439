"""Whole cases without a scenario, in SI units, for either engine; and how two engines compare."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case, RunList, run_list
from rollsim.engines.limits import Limits, Tolerances
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Base, Change, Setting, mean_wind, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, from_kn_table, metacentric_height
from rollsim.ship.righting import Heeling
from rollsim.ship.wave_levers import WaveLevers
from rollsim.weather.sea import RegularWave, SeaState
from rollsim.weather.spectra import Spectrum
from rollsim.weather.wind import Gust, Turbulence, wind_lines

Floats = NDArray[np.float64]

HEEL = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
KN = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319]
KN += [3.658, 3.938, 4.160, 4.327, 4.444, 4.542, 4.476, 4.264]
COASTER = from_kn_table(np.radians(HEEL), KN, 5.659)
"""The contract's own example."""
FINE = Tolerances("DOP853", 1e-9, 1e-9)
BALLASTED, NO_DAMPING = Gravity(5.15), Damping()
ON_HER_SIDE = Limits(capsize=math.radians(90.0))


@dataclass(frozen=True)
class Recipe:
    """A case in few words: what is left out is calm, level and at rest. SI units, radians.

    `wind` is the lever per V² [s²/m]; `sea` as in `SeaState`, lengths of the ship 84, 14 and 5.2 m.
    """

    levers: Levers = COASTER
    gravity: Gravity = BALLASTED
    inertia: float = 5.3**2 / GRAVITY
    damping: Damping = NO_DAMPING
    start: tuple[float, float] = (0.0, 0.0)
    duration: float = 600.0
    output_step: float = 0.5
    settle: float = 0.0
    limits: Limits = ON_HER_SIDE
    changes: Sequence[Change] = ()
    settings: Sequence[Setting] = ()
    gusts: tuple[Gust, ...] = ()
    wind: float = 1.2e-4
    wind_speed: float = 0.0
    heel_law: str = "constant"
    turbulence: Turbulence | None = None
    waves: Spectrum | RegularWave | None = None
    heading: float = 0.5 * math.pi
    speed: float = 0.0
    slope_coefficient: float | None = None
    shortest_wave: float = 14.0
    absolute: bool = False
    ramp: float = 0.0
    gm_per_m: float = 0.0
    in_waves: WaveLevers | None = None
    added_share: float = 0.0
    seed: int = 7
    accuracy: float = math.radians(0.01)
    labels: dict[str, float | str] = field(default_factory=dict)


def case_of(recipe: Recipe) -> Case:
    """The case of a recipe."""
    r = recipe
    wind = r.wind if r.wind_speed or r.turbulence else 0.0
    base = Base(r.gravity, r.wind_speed)
    coefficients = calm_coefficients(
        r.levers, r.inertia, r.damping, wind, r.heel_law, r.gm_per_m, r.in_waves
    )._replace(
        relative=not r.absolute,
        absolute_gm=metacentric_height(r.levers, r.gravity) if r.absolute else 0.0,
        added_share=r.added_share,
        ramp=r.ramp,
    )
    sea = SeaState(
        r.waves, 84.0, 14.0, 5.2, r.shortest_wave, r.duration, r.heading, r.speed,
        r.slope_coefficient,
    )  # fmt: skip
    lines = None if r.turbulence is None else wind_lines(r.turbulence, r.duration)
    return Case(
        index=0,
        condition="base",
        coordinates=r.labels,
        beam=14.0,
        draught=5.2,
        depth=math.nan,
        levers=r.levers,
        gravity=r.gravity,
        kb=None,
        heeling=Heeling(wind * r.wind_speed**2, r.heel_law),
        coefficients=coefficients,
        segments=timeline(r.duration, base, r.changes, r.settings, r.gusts, (r.settle, r.ramp)),
        mean_wind=mean_wind(r.duration, base, r.settings),
        storm=Storm(sea, r.gm_per_m != 0.0 or r.in_waves is not None, lines),
        start=r.start,
        limits=r.limits,
        settle=r.settle,
        output_step=r.output_step,
        seed=r.seed,
        method="block",
        tolerances=FINE,
        accuracy=r.accuracy,
        gm_per_m=r.gm_per_m,
        waves=r.in_waves,
    )


def runs_of(case: Case, count: int) -> RunList:
    """The first realisations of a case, from its own start."""
    return run_list(np.arange(count), case.start)
