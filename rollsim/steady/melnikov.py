"""Melnikov's estimate of the wave height at which the safe basin begins to be eroded.

The undamped, undriven ship has an orbit that leaves a saddle of her potential and returns to it, or
goes over to another saddle of the same height. To first order in damping and wave the manifolds
through the saddle first touch where what the wave puts in along that orbit, at its worst phase,
makes up for what the damping takes: ∫ p D(p) dt = |∫ p f(t) dt| (Guckenheimer and Holmes 1983).
Both integrals are taken along the orbit itself, for any lever.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import acceleration
from rollsim.motion.moments import kn_slopes
from rollsim.ship.equilibria import equilibria
from rollsim.ship.righting import RightingCurve
from rollsim.steady.family import WAVE_HEIGHT, Family, last_loading, resting_curve

Floats = NDArray[np.float64]

EQUAL = 1e-9
"""Saddles whose potentials differ by no more than this share of the barrier are of one height."""
NEAR = 1e-4
"""Share of the greatest rate at which the orbit counts as having come to its saddle: what the
levers' table misses leaves less."""
LONGEST = 1e3
"""Time [natural periods] in which it must have come there."""


class Orbit(NamedTuple):
    """Integrals along the undamped orbit: of p², |p|³, p⁴ [rad^n s^(1-n)], of p e^(iωt), and of
    p e^(iωt) times what an elevation of 1 m takes from y″ [rad/s²]; and how much higher the saddle
    is that it goes to than the orbit [rad²/s²]."""

    square: float
    cube: float
    fourth: float
    push: complex
    raised: complex
    climb: float = 0.0

    @property
    def area(self) -> float:
        """What it encloses in the phase plane, or one way over to the other saddle [rad² s⁻¹]."""
        return self.square

    def height(self, case: Case) -> float:
        """Wave height [m] at which the manifolds touch, infinite where the wave does nothing."""
        c = case.coefficients
        taken = c.linear * self.square + c.quadratic * self.cube + c.cubic * self.fourth
        taken += self.climb
        wave = Family(case, WAVE_HEIGHT).wave(1.0)
        share = (1.0 if c.relative else 0.0) - c.added_share
        by_slope = share * wave.frequency**2 + c.absolute_gm / c.inertia
        # α = −a sin θ and ζ = e cos θ: the real parts of i a e^(iθ) and of e e^(iθ).
        given = abs(1j * by_slope * wave.slope * self.push - wave.elevation * self.raised)
        return taken / given if given > 0.0 else math.inf


def wave_heights(case: Case) -> tuple[float, float]:
    """Heights [m] of the case's regular wave at which the manifolds touch: of the saddle towards
    capsize, and of those between wells; NaN where there is no such saddle, or no orbit of it."""
    try:
        outer, inner = orbits(case)
    except ArithmeticError:
        return math.nan, math.nan
    return tuple(  # type: ignore[return-value]
        min((orbit.height(case) for orbit in some), default=math.nan) for some in (outer, inner)
    )


def orbits(case: Case) -> tuple[list[Orbit], list[Orbit]]:
    """The orbits of the lower outer saddle, or over and back where there are two; and of the
    crests between wells. Saddles past a limit of roll, flooding or capsize are none."""
    curve = resting_curve(case)
    # A limit inside the saddle bounds the safe starts before the saddle does.
    limits = case.limits
    most = min(limits.roll, limits.heel)
    least = -min(limits.roll, limits.flooding / limits.port, limits.capsize)
    at = [e for e in equilibria(curve) if least < e.heel < most]
    wells = [e.heel for e in at if e.kind == "stable"]
    crests = [e.heel for e in at if e.kind == "unstable"]
    if not wells:
        return [], []
    bottom = min(wells, key=lambda heel: float(curve.potential(heel)))
    port = max((heel for heel in crests if heel < wells[0]), default=None)
    starboard = min((heel for heel in crests if heel > wells[-1]), default=None)
    outer = _outer(case, curve, bottom, port, starboard)
    inner = []
    for crest in (heel for heel in crests if wells[0] < heel < wells[-1]):
        for side in (-1.0, 1.0):
            turn = _turn(curve, crest, side)
            if turn is not None:
                inner.append(_loop(_integrated(case, turn, 0.0, crest)))
    return outer, inner


def _outer(
    case: Case, curve: RightingCurve, bottom: float, port: float | None, starboard: float | None
) -> list[Orbit]:
    saddles = [heel for heel in (port, starboard) if heel is not None]
    if not saddles:
        return []
    heights = [float(curve.potential(heel)) for heel in saddles]
    depth = min(heights) - float(curve.potential(bottom))
    if len(saddles) == 2 and abs(heights[1] - heights[0]) <= EQUAL * depth:
        legs = [_leg(case, bottom, saddle, depth) for saddle in saddles]
        return [_over(legs[0], legs[1]), _over(legs[1], legs[0])]
    saddle = saddles[int(np.argmin(heights))]
    turn = _turn(curve, saddle, math.copysign(1.0, bottom - saddle))
    if turn is None:
        return []
    leg = _integrated(case, turn, 0.0, saddle)
    if len(saddles) == 1:
        return [_loop(leg)]
    # Of two saddles of nearly one height the orbit lingers at the other, and its two halves may
    # cancel: then she is taken over by way of that other saddle, one way and back.
    climb = abs(heights[1] - heights[0]) / case.coefficients.inertia
    return [_loop(leg), leg._replace(climb=climb)]


def _turn(curve: RightingCurve, saddle: float, side: float) -> float | None:
    """Where the orbit of a saddle turns on one side of it; None where it never does."""
    from scipy.optimize import brentq

    heel = curve.on_grid()[0]
    level = float(curve.potential(saddle))
    ahead = np.sort(heel[(heel - saddle) * side > 0.0] * side) * side
    value = curve.potential(ahead) - level
    # The first points may lie on the saddle's own flat top.
    below = np.flatnonzero(value < -1e-14)
    after = np.flatnonzero(value > 0.0)
    after = after[after > below[0]] if below.size else after[:0]
    if not after.size:
        return None
    i = int(after[0])
    return float(
        brentq(lambda x: float(curve.potential(x)) - level, ahead[i - 1], ahead[i], xtol=1e-15)
    )


def _loop(leg: Orbit) -> Orbit:
    """The orbit from the saddle to its turn and back, of the `leg` from the turn to the saddle:
    rates at equal times before and after the turn are opposite."""
    return Orbit(
        2.0 * leg.square, 2.0 * leg.cube, 2.0 * leg.fourth,
        2j * leg.push.imag, 2j * leg.raised.imag,
    )  # fmt: skip


def _leg(case: Case, bottom: float, saddle: float, depth: float) -> Orbit:
    rate = math.sqrt(2.0 * depth / case.coefficients.inertia)
    return _integrated(case, bottom, math.copysign(rate, saddle - bottom), saddle)


def _over(before: Orbit, after: Orbit) -> Orbit:
    """The orbit over to the saddle that `after` goes to, from that which `before` goes to.

    Run backwards, a leg has the opposite rates at the opposite times.
    """
    return Orbit(
        before.square + after.square,
        before.cube + after.cube,
        before.fourth + after.fourth,
        after.push - before.push.conjugate(),
        after.raised - before.raised.conjugate(),
    )


def _integrated(case: Case, heel: float, rate: float, saddle: float) -> Orbit:
    """The integrals from a state to the saddle, by scipy's DOP853."""
    from scipy.integrate import solve_ivp

    calm = case.coefficients._replace(linear=0.0, quadratic=0.0, cubic=0.0, ramp=0.0)
    segment = last_loading(case)
    frequency = abs(Family(case, WAVE_HEIGHT).wave(1.0).frequency)
    speed = math.sqrt(abs(float(resting_curve(case).slope(saddle))) / calm.inertia)
    most = 0.0

    def rates(time: float, state: Floats) -> list[float]:
        psi, p = float(state[0]), float(state[1])
        a = acceleration(time, psi, p, calm, segment)
        c, s = math.cos(frequency * time), math.sin(frequency * time)
        raised = p * _raised(psi, calm)
        cube = p * p * abs(p)
        return [p, a, p * p, cube, cube * abs(p), p * c, p * s, raised * c, raised * s]

    def came(time: float, state: Floats) -> float:
        nonlocal most
        most = max(most, abs(state[1]))
        far = abs(state[1]) - NEAR * most
        return far if abs(saddle - state[0]) < 0.5 * abs(saddle - heel) else 1.0

    def passed(time: float, state: Floats) -> float:
        return float(state[0]) - saddle

    came.terminal = passed.terminal = True  # type: ignore[attr-defined]
    start = np.array([heel, rate, *np.zeros(7)])
    span, both = (0.0, LONGEST / speed), (came, passed)
    done = solve_ivp(rates, span, start, "DOP853", events=both, rtol=1e-12, atol=1e-15)
    if done.status != 1:
        raise ArithmeticError(f"the orbit of the saddle at {saddle} rad does not come back to it")
    end = done.y[:, -1]
    # The rest of the way p dies away as e^(−speed t).
    rest = end[1] * np.exp(1j * frequency * done.t[-1]) / (speed - 1j * frequency)
    return Orbit(
        float(end[2] + 0.5 * end[1] ** 2 / speed),
        float(end[3]),
        float(end[4]),
        complex(end[5], end[6]) + complex(rest),
        complex(end[7], end[8]) + complex(rest) * _raised(saddle, calm),
    )


def _raised(psi: float, c: Coefficients) -> float:
    """What an elevation of 1 m takes from ψ″ [rad/s² per m]."""
    return kn_slopes(psi, 0.0, c)[1] / c.inertia
