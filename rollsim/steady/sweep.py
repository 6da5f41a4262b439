"""What is seen when a wave's period or height is changed slowly: the engine, from value to value.

At each value the ship goes on from where the last one left her, over so many waves that what the
change stirred up has died away.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case, run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.limits import Limits
from rollsim.motion.timeline import END, START, WAVES, WIND
from rollsim.names import Outcome
from rollsim.steady.family import Family, last_loading, resting_curve

Floats = NDArray[np.float64]

FEWEST, MOST = 40, 120
"""Waves at each value before anything is measured."""
MEASURED = 8
"""Waves over which extremes are taken, and the longest period that is recognised."""
SETTLED = 5.0
"""Time constants of the linear damping that are waited for, within FEWEST and MOST."""
NUDGE = math.radians(0.1)
"""By how much she is pushed at each value [rad]: unstable upright she stays only on paper."""
TRIES = 10
"""Values that a sweep down goes back for a start from which she does not capsize at once."""
SAME = math.radians(0.02)
"""States [rad, and rad per radian of the wave] nearer than this are one."""


class Sweep(NamedTuple):
    """By value, (n,): half of greatest − least roll [rad], NaN from a capsize on; the state y, y′
    at phase 0 (n, 2); after how many waves it comes back, 0 where it does not."""

    amplitude: Floats
    state: Floats
    ratio: NDArray[np.int64]


def swept(
    case: Case,
    key: str,
    values: Floats,
    start: tuple[float, float],
    stop_if_asked: Callable[[], None] = lambda: None,
) -> Sweep:
    """Go through `values` of the key in their order, from roll and rate [rad, rad/s] at `start`."""
    family = Family(case, key)
    found = Sweep(
        np.full(values.size, math.nan),
        np.full((values.size, 2), math.nan),
        np.zeros(values.size, dtype=np.int64),
    )
    roll, rate = start
    for i, value in enumerate(values):
        stop_if_asked()
        here = case_at(family, float(value), (roll + NUDGE, rate))
        runs = BlockEngine(here).run(run_list(0, here.start), histories=True)
        if runs.numbers["outcome"][0] != Outcome.SURVIVED:
            break
        most, least = (float(runs.numbers[name][0]) for name in ("roll_max", "roll_min"))
        found.amplitude[i] = 0.5 * math.radians(most - least)
        rolls, rates = np.radians(runs.histories[:2, 0].astype(np.float64))
        roll, rate = float(rolls[-1]), float(rates[-1])
        found.state[i] = np.array([roll, rate]) - share_of(family, float(value))
        frequency = abs(family.wave(float(value)).frequency)
        found.ratio[i] = ratios_of(np.stack((rolls, rates / frequency))[:, None])[0]
    return found


def up_and_down(
    case: Case, key: str, values: Floats, stop_if_asked: Callable[[], None] = lambda: None
) -> tuple[Sweep, Sweep]:
    """Up through `values` from the case's start, and down, both by value in rising order.

    Down from where the way up ended; from the start where that did not last to the end, and from
    where it was lost if she does not survive that.
    """
    start = case.start if np.isfinite(case.start).all() else (0.0, 0.0)
    up = swept(case, key, values, start, stop_if_asked)
    alive = np.flatnonzero(np.isfinite(up.amplitude))
    if alive.size < values.size:
        down = swept(case, key, values[::-1], start, stop_if_asked)
        if not alive.size or np.isfinite(down.amplitude).any():
            return up, _in_order(down, values.size)
    last, family = int(alive[-1]), Family(case, key)
    for i in range(last, max(last - TRIES, -1), -1):
        state = with_share(family, float(values[i]), up.state[i])
        down = swept(case, key, values[i::-1], state, stop_if_asked)
        if np.isfinite(down.amplitude).any():
            break
    return up, _in_order(down, values.size)


def _in_order(down: Sweep, count: int) -> Sweep:
    """A sweep that went down as one of so many values in rising order."""
    above = count - down.amplitude.size
    return Sweep(
        np.append(down.amplitude[::-1], np.full(above, math.nan)),
        np.concatenate((down.state[::-1], np.full((above, 2), math.nan))),
        np.append(down.ratio[::-1], np.zeros(above, dtype=np.int64)),
    )


def case_at(family: Family, value: float, start: tuple[float, float]) -> Case:
    """The case under its last loading, in the wave of a value, over whole waves."""
    case, wave = family.case, family.wave(value)
    linear = case.coefficients.linear
    waves = SETTLED * 2.0 / (linear * wave.period) if linear > 0.0 else math.inf
    before = wave.period * math.ceil(min(max(waves, FEWEST), MOST))
    duration = before + wave.period * MEASURED
    segments = np.stack([last_loading(case)] * 2)
    segments[:, [START, END]] = [[0.0, before], [before, duration]]
    curve = resting_curve(case)
    wind = segments[0, WIND]
    return replace(
        case,
        gravity=curve.gravity,
        heeling=curve.heeling,
        coefficients=case.coefficients._replace(ramp=0.0),
        segments=segments,
        mean_wind=np.array([[0.0, wind], [duration, wind]]),
        storm=replace(case.storm, sea=replace(family.sea(value), duration=duration)),
        start=start,
        limits=Limits(capsize=case.limits.capsize),
        settle=before,
        output_step=wave.period,
        method="block",
    )


def share_of(family: Family, value: float) -> Floats:
    """What y and y′ lack of roll and rate at phase 0: the share of the slope that she follows."""
    c = family.coefficients(value)
    frequency, phase, size, _ = c.waves[:, 0]
    size *= family.segment[WAVES]
    slope, slope_rate = -size * math.sin(phase), -size * frequency * math.cos(phase)
    return np.array([c.added_share * slope, c.added_share * slope_rate])


def with_share(family: Family, value: float, state: Floats) -> tuple[float, float]:
    """Roll and rate at phase 0 from y and y′."""
    roll, rate = state + share_of(family, value)
    return float(roll), float(rate)


def ratios_of(states: Floats, same: float = SAME) -> NDArray[np.int64]:
    """After how many waves the last states (2, n, waves) come back to within `same`, (n,); 0 where
    they do not."""
    found = np.zeros(states.shape[1], dtype=np.int64)
    for ratio in range(MEASURED, 0, -1):
        gap = np.abs(states[:, :, -1] - states[:, :, -1 - ratio]).max(axis=0)
        found[gap < same] = ratio
    return found
