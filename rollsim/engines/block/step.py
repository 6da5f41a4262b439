"""The step of the block engine, from what a run of the case can reach."""

from __future__ import annotations

import math
from typing import NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import WHOLE, Case, RunList
from rollsim.motion.timeline import ACROSS, END, FILLING, FREE_SURFACE, HEIGHT, MASS, START
from rollsim.weather.sea import component_grid, highest_encounter, realise
from rollsim.weather.spectra import Spectrum
from rollsim.weather.white import WhiteSlope

Floats = NDArray[np.float64]

DEFAULT_ACCURACY = math.radians(0.01)
ROLL_STEPS = 44.0
"""Steps in the shortest roll period for DEFAULT_ACCURACY."""
WAVE_STEPS = 11.5
"""Least steps in the shortest wave period: with fewer the guard takes waves for strain."""
WAVE_PHASE = 1.13
"""Step over the ORDER-th root of accuracy over the ORDER-th derivative of the angle that waves
bring, at three deviations: measured in storms of all kinds (tests/bench, precision)."""
GUST_STEPS = 4.5
"""Steps in the shortest gust: six accelerations back, the sums blow faster ones up."""
USUAL_DAMPING = 0.5
"""Slope of a damping [1/s] up to which the sea's rows are near enough."""
MEMORY = 0.24
"""Power of the periods that errors last for, by which there are more steps: undamped, a drift of
the energy grows into one of the phase."""
PROMISED = 600.0
"""Time [s] over which the accuracy is kept without damping; the drift of the phase goes on with the
square of the time."""
ORDER = 6
"""How the error of smooth motion goes with the step."""
DAMPING_PHASE = 0.2
"""Greatest step times slope of the damping at the rate that the run may come to."""
SIGMAS = 3.0
"""Standard deviations of the rate through the water that a run is stepped for; a lane that goes
beyond what the scheme bears is stepped again finer."""
SIZES = 16
"""Steps of a halving that are used."""
STRENGTHS = 2
"""Strengths of the weather an octave that have a step of their own."""
KINK = 10.0
"""Accuracy over b2 a² h³ that the kink of |p| p leaves, a the acceleration at three deviations:
measured in storms of all kinds (tests/bench, precision)."""


class Reach(NamedTuple):
    """What a run may come to.

    The steepest lever over the inertia [1/s²], the rate through the water [rad/s] and the
    acceleration at its turns [rad/s²], the ORDER-th derivative of the angle through the water
    [rad/s⁶], the fastest wave [rad/s], the slope of the `damping` at that rate [1/s], and the
    `periods` of her shortest roll that errors last for.
    """

    stiffness: float
    rate: float
    acceleration: float
    sixth: float
    wave: float
    damping: float
    periods: float

    @property
    def weight(self) -> float:
        """How much what the sea's rows miss weighs in the roll: 1 in a usual storm.

        It adds up over the periods that an error lasts for, and comes in by the damping's slope.
        """
        return max(1.0, 0.5 * self.periods) * max(1.0, self.damping / USUAL_DAMPING)


def step_of(case: Case, reach: Reach | None = None) -> float:
    """Step of the block engine [s]: no longer than the output step, on a grid of SIZES a halving.

    Cases of nearly the same need share a step, and with it what only the step decides.
    """
    longest = min(longest_step(case, reach or reach_of(case)), case.output_step)
    return math.pow(2.0, math.floor(SIZES * math.log2(longest) + 1e-9) / SIZES)


def longest_step(case: Case, reach: Reach) -> float:
    """Longest step [s] for a roll that is off by no more than the case's accuracy."""
    c, finer = case.coefficients, case.accuracy / DEFAULT_ACCURACY
    smooth = finer ** (1.0 / ORDER)
    bounds = [math.inf]
    if reach.stiffness > 0.0:
        steps = ROLL_STEPS * max(1.0, 0.5 * reach.periods) ** MEMORY
        bounds.append(smooth * math.tau / (steps * math.sqrt(reach.stiffness)))
    if reach.wave > 0.0:
        bounds.append(smooth * math.tau / (WAVE_STEPS * reach.wave))
    if reach.sixth > 0.0:
        bounds.append(WAVE_PHASE * (case.accuracy / reach.sixth) ** (1.0 / ORDER))
    wind = case.storm.wind
    if wind is not None:
        bounds.append(wind.repeat / (GUST_STEPS * float(wind.place[-1])))
    if reach.damping > 0.0:
        bounds.append(DAMPING_PHASE / reach.damping)
    if c.quadratic > 0.0 and reach.acceleration > 0.0:
        # |p| p turns over with a jump of its second derivative: of third order in the step.
        bounds.append((KINK * case.accuracy / (c.quadratic * reach.acceleration**2)) ** (1.0 / 3.0))
    return min(bounds)


class Strength(NamedTuple):
    """A factor on the waves and one on the wind up to which runs share a step."""

    waves: float = 1.0
    wind: float = 1.0


AS_GIVEN = Strength()
"""The weather as the case gives it, and any weaker one."""


def alike(runs: RunList) -> list[tuple[Strength, NDArray[np.intp]]]:
    """The runs by the strength of their weather and by whether a search makes them, and their
    places: what is made of a run must not depend on what stands beside it in the list."""
    factors = np.abs(np.stack((runs.waves, runs.wind), axis=1))
    steps = np.ceil(STRENGTHS * np.log2(np.maximum(factors, 1.0)) - 1e-9)
    rows = np.column_stack((steps, runs.until != WHOLE))
    if np.all(rows == rows[:1]):  # as mostly, and np.unique takes its time
        kinds, which = rows[:1], np.zeros(runs.size, dtype=np.intp)
    else:
        kinds, which = np.unique(rows, axis=0, return_inverse=True)
    strengths = 2.0 ** (kinds[:, :2] / STRENGTHS)
    return [
        (Strength(*strength), np.flatnonzero(which.ravel() == i))
        for i, strength in enumerate(strengths.tolist())
    ]


def reach_of(case: Case, strength: Strength = AS_GIVEN) -> Reach:
    """What runs of a case may come to, from its timeline, start and sea and their strength."""
    known = _reaches.setdefault(case, {})
    if strength not in known:
        known[strength] = _reach_of(case, strength)
    return known[strength]


_reaches: WeakKeyDictionary[Case, dict[Strength, Reach]] = WeakKeyDictionary()
"""Once a case is made ready, and again for what its result says of the step."""


def _reach_of(case: Case, strength: Strength) -> Reach:
    stiffness = _stiffness(case)
    rate, acceleration, sixth = _in_storm(case, stiffness, strength)
    start = abs(case.start[1]) + math.sqrt(stiffness) * abs(case.start[0])
    c, fastest = case.coefficients, start + rate
    return Reach(
        stiffness,
        fastest,
        math.sqrt(stiffness) * start + acceleration,
        sixth,
        0.0 if case.storm.calm_water else highest_encounter(case.storm.sea),
        c.linear + fastest * (2.0 * c.quadratic + 3.0 * c.cubic * fastest),
        _periods(case, fastest, stiffness),
    )


def _periods(case: Case, rate: float, stiffness: float) -> float:
    """Shortest roll periods until an error has died away, or until PROMISED or the run ends.

    By the damping linearised at `rate`, b1 + (8/3π) b2 p + ¾ b3 p² (common practice).
    """
    c = case.coefficients
    b = c.linear + 8.0 / (3.0 * math.pi) * c.quadratic * rate + 0.75 * c.cubic * rate**2
    lasting = min(case.duration, PROMISED, 2.0 / b if b > 0.0 else math.inf)
    return lasting * math.sqrt(stiffness) / math.tau


def _stiffness(case: Case) -> float:
    """Steepest righting lever over the inertia [1/s²], over all loadings of the timeline.

    Where nothing rights her she falls over at the rate of the steepest slope.
    """
    limit = case.limits.capsize
    grid = case.levers.grid
    inside = np.abs(grid.heel) <= limit
    heel, slope = grid.heel[inside], grid.slope[inside]
    if case.waves is not None and case.storm.raised:
        still = case.levers.hull.slope(heel)
        raised = np.interp(heel, case.waves.levels[0].grid.heel, case.waves.slope.max(axis=0))
        slope = slope + np.maximum(raised - still, 0.0)
    steepest = 0.0
    for row in case.segments:
        for time in (0.0, row[END] - row[START]):
            mass, height, across, free = (
                row[k] + row[k + 1] * time for k in (MASS, HEIGHT, ACROSS, FREE_SURFACE)
            )
            here = slope - (height / mass + free) * np.cos(heel) + across / mass * np.sin(heel)
            if case.filling:
                # On the whole grid, where what liquid adds is made once for all who read it.
                at = np.array([[row[FILLING] + row[FILLING + 1] * time]])
                here = here + case.filling.between("slope", at, grid.heel)[0, inside]
            rights = float(np.max(here))
            steepest = max(steepest, rights if rights > 0.0 else float(np.max(np.abs(here))))
    return steepest / case.coefficients.inertia


def _in_storm(case: Case, stiffness: float, strength: Strength) -> tuple[float, float, float]:
    """Rate [rad/s], acceleration [rad/s²] and ORDER-th derivative of the angle through the water
    [rad/s⁶] that a storm may bring her to.

    By linear response with the stiffness and stochastically linearised damping, b1 + √(8/π) b2 σ +
    3 b3 σ² (common practice): SIGMAS deviations in a random storm, the amplitude in a regular sea.
    """
    c = case.coefficients
    frequency, push = _pushes(case, stiffness, strength)
    if not frequency.size:
        return 0.0, 0.0, 0.0
    rates = push / np.maximum(frequency, 1e-9)
    sigma = math.sqrt(0.5 * float(np.sum(rates**2)))
    for _ in range(8):
        b = c.linear + math.sqrt(8.0 / math.pi) * c.quadratic * sigma + 3.0 * c.cubic * sigma**2
        rates = push * frequency / np.hypot(stiffness - frequency**2, (b + 1e-3) * frequency)
        sigma = math.sqrt(sigma * math.sqrt(0.5 * float(np.sum(rates**2))))
    most = SIGMAS if case.random else math.sqrt(2.0)
    acceleration, sixth = (
        most * math.sqrt(0.5 * float(np.sum((rates * frequency**power) ** 2)))
        for power in (1, ORDER - 1)
    )
    return most * sigma, acceleration, sixth


def _pushes(case: Case, stiffness: float, strength: Strength) -> tuple[Floats, Floats]:
    """Frequencies [rad/s] of waves and turbulence, and what they push with [rad/s²]."""
    c, storm = case.coefficients, case.storm
    frequencies: list[Floats] = [np.zeros(0)]
    pushes: list[Floats] = [np.zeros(0)]
    if storm.slope:
        sea = storm.sea
        random = isinstance(sea.waves, Spectrum | WhiteSlope)
        waves = component_grid(sea) if random else realise(sea, 0, 0)
        frequency = np.abs(waves.frequency)
        # ψ″ + b ψ′ + ω₀² ψ = −α″ for relative excitation, + ω₀² α for absolute; white, by |GM|.
        push = c.absolute_gm / c.inertia if isinstance(sea.waves, WhiteSlope) else stiffness
        by_slope = frequency**2 if c.relative else np.full_like(frequency, push)
        frequencies.append(frequency)
        pushes.append(strength.waves * np.abs(waves.slope) * by_slope)
    if storm.wind is not None:
        # V|V| about the greatest mean speed, to first order.
        fastest = strength.wind**2 * float(np.max(np.abs(case.mean_wind[:, 1])))
        per_speed = 2.0 * abs(c.wind) * fastest / c.inertia
        frequencies.append(np.asarray(storm.wind.place * (math.tau / storm.wind.repeat)))
        pushes.append(per_speed * storm.wind.amplitude)
    return np.concatenate(frequencies), np.concatenate(pushes)
