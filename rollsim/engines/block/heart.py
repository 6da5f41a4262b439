"""The scalar heart of a step: predict, look up, correct, and how far an angle may have gone.

Pure functions of numbers of any float type, put whole into the loop over lanes; nothing here knows
of lanes, so that the same functions serve wherever a run is stepped.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from rollsim.compiled import inner_inlined
from rollsim.motion.moments import damping, damping_slope

if TYPE_CHECKING:
    from rollsim.engines.block.adams import Scheme

Six = tuple[float, float, float, float, float, float]


class Ship(NamedTuple):
    """The numbers of a case that a step reads, scalars of the block's float type.

    `share` of the slope is taken off y for the heel, `added` is added for the roll; `per_most_miss`
    and `per_most_damping` are one over what the scheme bears, `slack` [rad] what an upward crossing
    must have come from below, `port_weight` what a heel to port counts for and `port_reach` the
    greater of that and 1. Zero, one and half keep the
    expressions in the block's type.
    """

    per_inertia: Any
    linear: Any
    quadratic: Any
    cubic: Any
    twice_quadratic: Any
    thrice_cubic: Any
    third_quadratic: Any
    tiny: Any
    slack: Any
    share: Any
    added: Any
    absolute_gm: Any
    per_step: Any
    step: Any
    upright: Any
    top: Any
    first_level: Any
    per_level: Any
    last_level: Any
    least_level: Any
    most_level: Any
    port_weight: Any
    port_reach: Any
    per_most_miss: Any
    per_most_damping: Any
    zero: Any
    half: Any
    one: Any


@inner_inlined
def foresee(y: float, rate: float, f: Six, m: Scheme) -> tuple[float, float, float]:
    """Predicted angle and rate, and the acceleration extrapolated to the step's end."""
    angle = (
        y
        + m.h * rate
        + ((m.s0 * f[0] + m.s1 * f[1] + m.s2 * f[2]) + (m.s3 * f[3] + m.s4 * f[4] + m.s5 * f[5]))
    )
    turn = rate + (
        (m.p0 * f[0] + m.p1 * f[1] + m.p2 * f[2]) + (m.p3 * f[3] + m.p4 * f[4] + m.p5 * f[5])
    )
    ahead = (m.e0 * f[0] + m.e1 * f[1] + m.e2 * f[2]) + (m.e3 * f[3] + m.e4 * f[4] + m.e5 * f[5])
    return angle, turn, ahead


@inner_inlined
def settle(
    lever: float, lever_slope: float, through: float, ahead: float, ship: Ship, m: Scheme
) -> tuple[float, float, float, float]:
    """Acceleration, corrections of angle and rate, and the strain on the scheme.

    `lever` [m] is what turns her at the predicted state, `lever_slope` that of the righting lever.
    The corrector differs from the predictor by its newest weight times what the acceleration
    differs from the extrapolated one; the acceleration follows the correction to first order: the
    accuracy and stability of a second evaluation at the cost of one.
    """
    a = lever * ship.per_inertia - damping(through, ship.linear, ship.quadratic, ship.cubic)
    slope = damping_slope(through, ship.linear, ship.twice_quadratic, ship.thrice_cubic)
    miss = a - ahead
    shift, turn = m.newest_angle * miss, m.newest_rate * miss
    a = a - (lever_slope * ship.per_inertia * shift + slope * turn)
    missed = abs(miss) * ship.per_most_miss
    damped = slope * ship.per_most_damping
    return a, shift, turn, missed if missed > damped else damped


@inner_inlined
def kink(before: float, after: float, ship: Ship, m: Scheme) -> float:
    """What the sums miss of the rate where |p| p turns over in a step, from p at both ends.

    Far from the kink every sample counts once, so the error is the trapezoidal rule's: for
    a = −b2 |p| p with p straight through zero at the part θ of the step, −(2/3) b2 h Δp |Δp| B₃(θ)
    by Euler and Maclaurin, B₃ the third Bernoulli polynomial; with θ = p/(p − p′) as below.
    """
    across = -before * after
    across = across if across > ship.zero else ship.zero
    rate: float = ship.third_quadratic * m.h * across * (before + after)
    error: float = rate / (abs(after - before) + ship.tiny)
    return error


@inner_inlined
def place_of(angle: float, ship: Ship) -> float:
    """Where an angle [rad] lies in the tables, in rows; beyond the tables counts as their end."""
    z = angle * ship.per_step + ship.upright
    z = z if z > ship.zero else ship.zero
    place: float = z if z < ship.top else ship.top
    return place


@inner_inlined
def row_of(place: float, ship: Ship) -> tuple[float, np.uint32]:
    """How far [rad] a place lies past the nearest row of the tables, and that row's number.

    The number is unsigned, so that no check for negative ones stands in the loop, and its
    difference is taken in floats.
    """
    nearest = np.floor(place + ship.half)
    return (place - nearest) * ship.step, np.uint32(nearest)
