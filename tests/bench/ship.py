"""The invented ship and storm that the benches share: T about 14 s, Hs 9 m, Tp 12 s, wind."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from rollsim.constants import GRAVITY
from rollsim.engines.base import BLOCK, Case, RunList, run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy.solver import Problem
from rollsim.engines.scipy.watch import Watched
from rollsim.forcing.single import with_waves
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.timeline import Base, mean_wind, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, from_kn_table, metacentric_height
from rollsim.ship.righting import Heeling
from rollsim.weather.sea import Components, SeaState
from rollsim.weather.spectra import bretschneider

Floats = NDArray[np.float64]

HOUR = 3600.0
SPAN = 600.0
"""Length [s] over which errors are measured."""
OUTPUT_STEP = 1.2
BEAM, DRAUGHT, LENGTH, HULL_KB = 14.0, 5.2, 84.0, 2.8
HEEL = np.radians([0, 10, 20, 30, 40, 50, 60, 75, 90])
KN = np.array([0.0, 0.983, 1.969, 2.923, 3.658, 4.160, 4.444, 4.520, 4.264])
KG, GYRADIUS, B1, B2 = 5.2, 5.3, 0.012, 0.35
WIND_LEVER, WIND_SPEED = 0.03, 1.0
LEVERS = from_kn_table(HEEL, KN, 5.659)
GRAVITY_CENTRE = Gravity(KG)
LIMITS = Limits(math.radians(40.0), math.radians(42.0), math.radians(90.0))
SPECTRUM = bretschneider(9.0, peak_period=12.0)
ACCURACY = math.radians(0.01)
EXACT = Tolerances("DOP853", 1e-11, 1e-11)
COMPONENTS = 200


def coefficients() -> Coefficients:
    """The ship in calm water, with a steady wind lever."""
    return calm_coefficients(
        LEVERS, GYRADIUS**2 / GRAVITY, Damping(B1, B2), wind=WIND_LEVER, heel_law="constant"
    )


def case(kg: float = KG, duration: float = HOUR, output_step: float = OUTPUT_STEP) -> Case:
    """The ship in the storm of an hour, run for `duration` [s]."""
    gravity = Gravity(kg)
    base = Base(gravity, WIND_SPEED)
    return Case(
        index=0,
        condition="bench",
        coordinates={},
        beam=BEAM,
        draught=DRAUGHT,
        depth=math.nan,
        levers=LEVERS,
        gravity=gravity,
        kb=HULL_KB,
        heeling=Heeling(WIND_LEVER, "constant"),
        coefficients=coefficients(),
        segments=timeline(duration, base),
        mean_wind=mean_wind(duration, base),
        storm=Storm(SeaState(SPECTRUM, LENGTH, BEAM, DRAUGHT, BEAM, HOUR)),
        start=(0.0, 0.0),
        limits=LIMITS,
        settle=0.0,
        output_step=output_step,
        seed=7,
        method=BLOCK,
        tolerances=Tolerances(),
        accuracy=ACCURACY,
    )


def engine(step: float | None = None, output_step: float = OUTPUT_STEP) -> BlockEngine:
    """The block engine ready for an hour of the storm, at the step it chooses or at one given."""
    return BlockEngine(case(output_step=output_step), step)


def storms(first: int, count: int) -> RunList:
    """Realisations [first, first + count), each from upright and rest."""
    return run_list(np.arange(first, first + count, dtype=np.uint64), (0.0, 0.0))


def slopes(ready: BlockEngine, count: int) -> tuple[Floats, float, float]:
    """Slopes [rad] of the first runs, (rows, runs), with spacing [s] and band [rad] of the rows."""
    channel = ready.stepper().channels.slope
    assert channel is not None
    rows = channel.rows(ready.case.seed, np.arange(count, dtype=np.uint64), np.float64)
    return np.array(rows), channel.step, channel.band


def script_waves() -> Components:
    """The 200 components of a script written by hand: even frequencies, random phases."""
    omega = np.linspace(0.25, 2.0, COMPONENTS)
    spacing = omega[1] - omega[0]
    elevation = np.sqrt(2.0 * SPECTRUM.density(omega) * spacing)
    phase = np.random.default_rng(1).uniform(0.0, math.tau, COMPONENTS)
    return Components(omega, elevation, 0.8 * omega**2 / GRAVITY * elevation, phase)


def gz_spline() -> CubicSpline:
    """The curve of a script written by hand: scipy's spline through GZ on both sides [m]."""
    heel = np.concatenate((-HEEL[:0:-1], HEEL))
    return CubicSpline(heel, np.concatenate((-KN[:0:-1], KN)) - KG * np.sin(heel))


def script_levers() -> Levers:
    """The same curve as levers of ours."""
    spline = gz_spline()
    return Levers(spline.x[0], spline.x[-1], knots=spline.x, coefficients=spline.c, sine=KG)


def problem(waves: Components, duration: float, *, relative: bool = True) -> Problem:
    """One run of the ship, with the script's curve, in given waves by a scipy solver."""
    levers = script_levers()
    gm = metacentric_height(levers, GRAVITY_CENTRE)
    calm = calm_coefficients(levers, GYRADIUS**2 / GRAVITY, Damping(B1, B2), wind=WIND_LEVER)
    calm = calm._replace(relative=relative, absolute_gm=0.0 if relative else gm)
    return Problem(
        coefficients=with_waves(calm, waves, duration),
        segments=timeline(duration, Base(GRAVITY_CENTRE, WIND_SPEED)),
        roll=0.0,
        rate=0.0,
        output_step=0.5,
        watched=Watched(LIMITS, 0.0, np.zeros(0)),
    )
