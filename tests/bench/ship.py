"""The invented ship and storm that the benches share: T about 14 s, 200 wave components, Hs 9 m."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from rollsim.engines.block.prepare import BlockEngine, BlockProblem
from scipy.interpolate import CubicSpline

from rollsim.constants import GRAVITY
from rollsim.engines.limits import Limits, Problem, output_times
from rollsim.forcing.single import with_waves
from rollsim.forcing.synthesis import block_sea
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.timeline import timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, from_kn_table, metacentric_height
from rollsim.ship.righting import RightingCurve
from rollsim.weather.sea import Components, SeaState
from rollsim.weather.spectra import bretschneider

Floats = NDArray[np.float64]

HOUR = 3600.0
HEEL = np.radians([0, 10, 20, 30, 40, 50, 60, 75, 90])
KN = np.array([0.0, 0.983, 1.969, 2.923, 3.658, 4.160, 4.444, 4.520, 4.264])
KG, GYRADIUS, B1, B2 = 5.2, 5.3, 0.012, 0.35
WIND_LEVER = 0.03
LEVERS = from_kn_table(HEEL, KN, 5.659)
GRAVITY_CENTRE = Gravity(KG)
LIMITS = Limits(math.radians(40.0), math.radians(42.0), math.radians(90.0))
SPECTRUM = bretschneider(9.0, peak_period=12.0)
SEA = SeaState(SPECTRUM, 14.0, 5.2, 14.0, HOUR)
COMPONENTS = 200


def coefficients() -> Coefficients:
    """The ship in calm water, with a steady wind lever."""
    return calm_coefficients(
        LEVERS, GYRADIUS**2 / GRAVITY, Damping(B1, B2), wind=WIND_LEVER, heel_law="constant"
    )


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
    segments = timeline(duration, GRAVITY_CENTRE, wind_speed=1.0)
    return Problem(with_waves(calm, waves, duration), segments, 0.0, 0.0, 0.5, LIMITS)


def engine(step: float, duration: float = HOUR, output_step: float = 1.2) -> BlockEngine:
    """The block engine ready for the ship in the storm."""
    count = output_times(duration, output_step).size
    curve = RightingCurve(LEVERS, GRAVITY_CENTRE)
    barrier = float(curve.potential(math.radians(55.0)))
    return BlockEngine(
        BlockProblem(
            levers=LEVERS,
            coefficients=coefficients(),
            segments=timeline(duration, GRAVITY_CENTRE, wind_speed=1.0),
            sea=block_sea(SeaState(SPECTRUM, 14.0, 5.2, 14.0, duration)),
            roll=0.0,
            rate=0.0,
            output_step=output_step,
            step=step,
            limits=LIMITS,
            settle=0.0,
            mean_wind=1.0,
            low=np.zeros(count),
            barrier=np.full(count, barrier),
        )
    )
