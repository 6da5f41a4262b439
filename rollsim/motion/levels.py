"""How full tanks are in time: straight while events fill them, by an exponential through a pipe."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.tanks.base import Tank

Floats = NDArray[np.float64]

FLOW_PARTS = 40
"""Pieces in the first time constant of a flow; later ones are longer as the flow slows down."""
MOST_STEPS = 2000
"""Pieces of the time between two events at most."""
LEVEL = 1e-6
"""Surfaces nearer than this to where they tend [m] are there."""


class Filling(NamedTuple):
    """A tank at t = 0: how full, and whether its liquid moves or counts by its moment."""

    tank: Tank
    start: float
    liquid: bool


class Fill(NamedTuple):
    """An event that brings a tank to the filling `to` from `at` on over `over` [s]."""

    tank: int
    to: float
    at: float
    over: float


class Flow(NamedTuple):
    """Two tanks whose difference of surface heights falls by d(d)/dt = −d / `constant` [s]."""

    one: int
    other: int
    constant: float


class Level(NamedTuple):
    """Fillings of all tanks (tanks,) at a time [s]; two at one time are a sudden change."""

    time: float
    filling: Floats


def levels(
    tanks: Sequence[Filling], fills: Sequence[Fill], flows: Sequence[Flow], duration: float
) -> Iterator[Level]:
    """Fillings from 0 to `duration`, straight between those that are given."""
    now = np.array([tank.start for tank in tanks])
    yield Level(0.0, now.copy())
    borders = {0.0, *(fill.at for fill in fills), *(fill.at + fill.over for fill in fills)}
    times = [*sorted(time for time in borders if time < duration), duration]
    rates = np.zeros(len(tanks))
    for start, end in pairwise(times):
        if _begin(fills, start, now, rates):
            yield Level(start, now.copy())
        for time in _steps(tanks, flows, now, rates, (start, end)):
            yield Level(time, now.copy())
        for fill in fills:  # what stands in no flow ends where it is meant to, to the last bit
            if fill.at + fill.over == end and fill.over > 0.0 and not _flows(flows, fill.tank):
                now[fill.tank] = fill.to
        yield Level(end, now.copy())


def _begin(fills: Sequence[Fill], time: float, now: Floats, rates: Floats) -> bool:
    """Put in the rates from a time on; whether a filling changes there at once."""
    for fill in fills:
        if fill.at + fill.over == time:
            rates[fill.tank] = 0.0
    beginning = [fill for fill in fills if fill.at == time]
    for fill in beginning:
        if fill.over == 0.0:
            now[fill.tank] = fill.to
        else:
            rates[fill.tank] = (fill.to - now[fill.tank]) / fill.over
    return any(fill.over == 0.0 for fill in beginning)


def _flows(flows: Sequence[Flow], tank: int) -> bool:
    return any(tank in (flow.one, flow.other) for flow in flows)


def _steps(
    tanks: Sequence[Filling],
    flows: Sequence[Flow],
    now: Floats,
    rates: Floats,
    span: tuple[float, float],
) -> Iterator[float]:
    """The times within a span at which a flow bends; `now` is carried on to its end."""
    time, end = span
    least = (end - time) / MOST_STEPS
    while time < end:
        step, before = end - time, now.copy()
        for flow in flows:
            apart, tends = _difference(tanks, flow, now, rates)
            left = abs(apart - tends)
            if left > LEVEL:
                # A chord is off by the square of its step and by what is left to level.
                longer = min(math.sqrt(1.0 / left), 20.0)
                step = min(step, flow.constant / FLOW_PARTS * max(longer, 0.2))
        step = max(step, least)
        _advance(tanks, flows, now, rates, step)
        if np.array_equal(now, before):  # a full or an empty tank holds the flow up
            return
        time = end if end - time - step < 1e-9 else time + step
        if time < end:
            yield time


def _difference(
    tanks: Sequence[Filling], flow: Flow, now: Floats, rates: Floats
) -> tuple[float, float]:
    """Difference of the surface heights of a pair [m], and what it tends to while they fill."""
    soon = flow.constant / FLOW_PARTS
    apart, later = (
        _apart(tanks, flow, np.clip(each, 0.0, 1.0)) for each in (now, now + rates * soon)
    )
    return apart, flow.constant * (later - apart) / soon


def _apart(tanks: Sequence[Filling], flow: Flow, filling: Floats) -> float:
    one, other = (tanks[i].tank.surface_height(float(filling[i])) for i in (flow.one, flow.other))
    return one - other


def _advance(
    tanks: Sequence[Filling], flows: Sequence[Flow], now: Floats, rates: Floats, step: float
) -> None:
    """Carry the fillings on over a step [s]; a tank holds no more than it can, nor less than 0."""
    before = now.copy()
    now += rates * step
    filled = np.clip(now, 0.0, 1.0)
    for flow in flows:
        start = _apart(tanks, flow, before)
        # What events alone make of the difference comes evenly over the step.
        tends = flow.constant * (_apart(tanks, flow, filled) - start) / step
        apart = tends + (start - tends) * math.exp(-step / flow.constant)
        one, other = (tanks[i].tank for i in (flow.one, flow.other))
        volume = now[flow.one] * one.volume + now[flow.other] * other.volume
        rest = _shared(one, other, float(volume), apart)
        rest = min(max(rest, volume - one.volume, 0.0), other.volume, volume)
        now[flow.one] = (volume - rest) / one.volume
        now[flow.other] = rest / other.volume
    np.clip(now, 0.0, 1.0, out=now)


def _shared(one: Tank, other: Tank, volume: float, apart: float) -> float:
    """The other tank's part [m³] of what two hold, the one's surface `apart` [m] above its own.

    Newton's root of a volume that only grows with the height, within a bracket that is halved.
    """
    low = min(one.bottom - apart, other.bottom)
    high = max(one.top - apart, other.top)
    height = 0.5 * (low + high)
    for _ in range(100):
        rest = other.volume_to(height)
        miss = one.volume_to(height + apart) + rest - volume
        if abs(miss) <= 1e-14 * (one.volume + other.volume):
            break
        low, high = (low, height) if miss > 0.0 else (height, high)
        area = one.surface_area(height + apart) + other.surface_area(height)
        step = height - miss / area if area > 0.0 else math.inf
        before, height = height, step if low < step < high else 0.5 * (low + high)
        if height == before:
            break
    return rest
