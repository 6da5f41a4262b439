"""At what height and trim a hull floats at one displacement, and where B and M then are.

The plane of water is found by nested roots, each of a quantity that only grows: the volume with
the height of the water, the moment along the ship with the trim. Both are Newton's with a bracket
that is halved where a step leaves it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.ship.hull.sections import Immersed, Turned, immersed, turned

if TYPE_CHECKING:
    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

STEEPEST = 0.5
"""Greatest slope of the water along the ship at which a balance is sought: a trim of 27°."""
MOST = 100
CLOSE = 1e-14
"""Share of the volume, and of volume times length, to which a balance is found."""


class Floating(NamedTuple):
    """A hull afloat at a heel: the water at v = height + slope · x; `found` is 0 where she is not.

    KN [m], its slope [m/rad] at constant displacement, the height of B above the keel along the
    vertical `up` [m], the place of B `along` the ship [m], the waterplane's area [m²].
    """

    found: float
    height: float
    slope: float
    kn: float
    kn_slope: float
    up: float
    along: float
    plane: float


@compiled
def level(sections: Turned, volume: float, slope: float, guess: float) -> float:
    """Height of the water [m] at which `volume` [m³] is displaced; NaN where nothing holds it."""
    low, high = math.inf, -math.inf
    for i in range(sections.along.size):
        shift = slope * sections.along[i] + sections.wave[i]
        low, high = min(low, sections.lowest[i] - shift), max(high, sections.highest[i] - shift)
    whole = immersed(sections, high, slope).volume
    if not 0.0 < volume < whole:
        return math.nan
    height = guess if low < guess < high else 0.5 * (low + high)
    for _ in range(MOST):
        state = immersed(sections, height, slope)
        miss = state.volume - volume
        if abs(miss) <= CLOSE * whole:
            break
        if miss > 0.0:
            high = height
        else:
            low = height
        step = height - miss / state.plane if state.plane > 0.0 else math.inf
        before = height
        height = step if low < step < high else 0.5 * (low + high)
        if height == before:
            break
    return height


@compiled
def float_free(
    sections: Turned, volume: float, along: float, guess: tuple[float, float]
) -> tuple[float, float]:
    """Height [m] and slope of the water at which B lies at `along` [m]; NaN where nowhere.

    `guess` is a height and a slope to begin with.
    """
    low, high = -STEEPEST, STEEPEST
    height, slope = guess
    reach = np.max(np.abs(sections.along - along))
    for _ in range(MOST):
        height = level(sections, volume, slope, height)
        if math.isnan(height):
            break
        state = immersed(sections, height, slope)
        miss = state.along - volume * along
        if abs(miss) <= CLOSE * volume * reach:
            break
        if miss > 0.0:
            high = slope
        else:
            low = slope
        stiff = state.plane_xx - state.plane_x**2 / state.plane if state.plane > 0.0 else 0.0
        step = slope - miss / stiff if stiff > 0.0 else math.inf
        before = slope
        slope = step if low < step < high else 0.5 * (low + high)
        if slope == before:
            break
    if STEEPEST - abs(slope) < 1e-9:
        return math.nan, slope
    return height, slope


@compiled
def afloat(
    sections: Turned, volume: float, along: float, free: bool, guess: tuple[float, float]
) -> Floating:
    """The hull afloat with `volume` [m³], by the head at `along` [m] where she is free to trim."""
    if free:
        height, slope = float_free(sections, volume, along, guess)
    else:
        height, slope = level(sections, volume, 0.0, guess[0]), 0.0
    if math.isnan(height):
        nan = math.nan
        return Floating(0.0, nan, nan, nan, nan, nan, nan, nan)
    state = immersed(sections, height, slope)
    up = state.up / volume
    lever = _slope_of_moment(state, free)
    return Floating(
        1.0,
        height,
        slope,
        state.across / volume,
        up + lever / volume,
        up,
        state.along / volume,
        state.plane,
    )


@compiled
def _slope_of_moment(state: Immersed, free: bool) -> float:
    """What the wedges add to the slope of the moment ∫ w dV over the heel [m⁴].

    With dφ the water rises by h′ + t′ x + w at x, w; volume and, with free trim, the moment along
    the ship stay.
    """
    if state.plane <= 0.0:
        return 0.0
    if not free:
        return state.plane_ww - state.plane_w**2 / state.plane
    xx = state.plane_xx - state.plane_x**2 / state.plane
    xw = state.plane_xw - state.plane_x * state.plane_w / state.plane
    ww = state.plane_ww - state.plane_w**2 / state.plane
    return ww - xw**2 / xx if xx > 0.0 else ww


@compiled
def curves(
    along: Floats,
    share: Floats,
    first: Integers,
    y: Floats,
    z: Floats,
    waves: Floats,
    heels: Floats,
    volumes: Floats,
    places: Floats,
    free: bool,
) -> Floats:
    """Floating states (volume, wave, heel, 8) over `heels` [rad] for each `volumes` [m³], `waves`.

    `waves` (n, sections) are elevations [m]; `places` [m] is where G lies along the ship for each
    volume. Heels go on from one to the next: they are best given in order from upright.
    """
    result = np.empty((volumes.size, waves.shape[0], heels.size, 8))
    for n in range(waves.shape[0]):
        for j in range(heels.size):
            sections = turned(along, share, first, y, z, waves[n], heels[j])
            for i in range(volumes.size):
                height, slope = 0.0, 0.0
                if j > 0 and result[i, n, j - 1, 0] > 0.0:
                    height, slope = result[i, n, j - 1, 1], result[i, n, j - 1, 2]
                state = afloat(sections, volumes[i], places[i], free, (height, slope))
                for k in range(8):
                    result[i, n, j, k] = state[k]
    return result
