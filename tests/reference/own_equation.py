"""The equation of roll written again, from the formulas of results/README.md, on scipy alone.

A wall-sided ship in a regular sea, wind with a gust, and events; nothing of the program is used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad, solve_ivp

Floats = NDArray[np.float64]

G = 9.80665
KM, BM, KG, MASS, GYRADIUS = 5.7, 2.9, 5.2, 4250.0, 5.3
LINEAR, QUADRATIC = 0.03, 0.3
LENGTH, BEAM, DRAUGHT = 84.0, 14.0, 5.2
HEIGHT, PERIOD, HEADING, SPEED, SHARE = 2.0, 9.0, math.radians(70.0), 3.0, 0.25
HIGHER, RISE = 5.0, (40.0, 52.0)
ADDED, ADDED_AT, PLACE = 100.0, 30.0, (8.0, 1.5)
WIND, GUST, AREA, LEVER, DRAG, AIR = 18.0, 1.4, 620.0, 6.4, 1.22, 1.222
START, FLOODING = 1.0, 9.0
CORNERS = (0.0, 30.0, 40.0, 52.0, 60.0, 63.0, 73.0, 76.0, 120.0)

SCENARIO = f"""
format = 1
title = "All at once"
[ship]
name = "Wanda"
length_m = {LENGTH}
beam_m = {BEAM}
draught_m = {DRAUGHT}
displacement_t = {MASS}
levers = {{ kind = "wall-sided", km_m = {KM}, bm_m = {BM}, heel_max_deg = 55.0 }}
gravity = {{ kg_m = {KG} }}
inertia = {{ gyradius_m = {GYRADIUS}, added_share = {SHARE} }}
damping = {{ linear_per_s = {LINEAR}, quadratic = {QUADRATIC} }}
windage = {{ area_m2 = {AREA}, lever_m = {LEVER} }}
[wind]
speed_mps = {WIND}
from = "starboard"
heel_law = "cos"
gust = [{{ at_s = 60.0, rise_s = 3.0, hold_s = 10.0, speed_factor = {GUST} }}]
[sea]
kind = "regular"
height_m = {HEIGHT}
period_s = {PERIOD}
heading_deg = 70.0
ship_speed_mps = {SPEED}
[limits]
flooding_deg = {FLOODING}
[start]
roll_deg = {START}
[run]
duration_s = 120.0
[[events]]
kind = "change"
key = "sea.height_m"
at_s = 40.0
over_s = 12.0
to = {HIGHER}
[[events]]
kind = "add-weight"
at_s = {ADDED_AT}
mass_t = {ADDED}
height_m = {PLACE[0]}
across_m = {PLACE[1]}
"""


def section_coefficient() -> float:
    """Mean of the wave's pressure over the equivalent box, by quadrature."""
    number = (math.tau / PERIOD) ** 2 / G
    across, along = number * math.sin(HEADING), number * math.cos(HEADING)
    sides = quad(lambda y: math.cos(across * y), 0.0, BEAM / 2)[0] / (BEAM / 2)
    ends = quad(lambda x: math.cos(along * x), 0.0, LENGTH / 2)[0] / (LENGTH / 2)
    return float(sides * ends * quad(lambda z: math.exp(-number * z), 0.0, DRAUGHT)[0] / DRAUGHT)


COEFFICIENT = section_coefficient()


def water(time: float, after: bool) -> tuple[float, float, float]:
    """α, α′, α″; at a corner those `after` it or before it."""
    omega = math.tau / PERIOD
    meeting = omega - omega**2 * SPEED * math.cos(HEADING) / G
    steepest = -COEFFICIENT * omega**2 / G * math.sin(HEADING) / 2.0
    growth = (HIGHER - HEIGHT) / (RISE[1] - RISE[0])
    height = HEIGHT + growth * (min(max(time, RISE[0]), RISE[1]) - RISE[0])
    grows = RISE[0] <= time < RISE[1] if after else RISE[0] < time <= RISE[1]
    rate = growth if grows else 0.0
    sine, cosine = math.sin(meeting * time), math.cos(meeting * time)
    return (
        steepest * height * sine,
        steepest * (height * meeting * cosine + rate * sine),
        steepest * (-height * meeting**2 * sine + 2.0 * rate * meeting * cosine),
    )


def acceleration(time: float, state: Floats, end: float) -> float:
    """φ″ within the piece between corners that ends at `end`, for the `state` φ, φ′."""
    roll, rate = state
    slope, slope_rate, slope_bend = water(time, after=time < end)
    added = ADDED if end > ADDED_AT else 0.0
    mass = MASS + added
    kg, yg = (MASS * KG + added * PLACE[0]) / mass, added * PLACE[1] / mass
    speed = WIND * (1.0 + (GUST - 1.0) * float(np.interp(time, CORNERS[4:8], (0, 1, 1, 0))))
    heel, through = roll - slope, rate - slope_rate
    righting = (KM - kg + 0.5 * BM * math.tan(heel) ** 2) * math.sin(heel) - yg * math.cos(heel)
    wind = -0.5 * AIR * DRAG * AREA * LEVER * speed**2 / (1000.0 * mass * G) * math.cos(roll)
    damping = LINEAR * through + QUADRATIC * abs(through) * through
    return float(SHARE * slope_bend - damping + (wind - righting) * G / GYRADIUS**2)


@dataclass(frozen=True)
class Course:
    """Roll and heel relative to the water [rad], roll rate [rad/s] at fine times [s]."""

    times: Floats
    roll: Floats
    rate: Floats
    heel: Floats


def course(step: float = 0.01) -> Course:
    """The whole run; where α′ jumps the water's share of the inertia takes φ′ with it."""
    state, times, states = np.array([math.radians(START), 0.0]), [], []
    for start, end in pairwise(CORNERS):
        state[1] += SHARE * (water(start, True)[1] - water(start, False)[1]) if start else 0.0

        def slopes(time: float, y: Floats, end: float = end) -> list[float]:
            return [y[1], acceleration(time, y, end)]

        at = start + step * np.arange(round((end - start) / step) + 1)
        at[-1] = end
        solved = solve_ivp(slopes, (start, end), state, "DOP853", at, rtol=1e-9, atol=1e-11)
        times.append(at[:-1])
        states.append(solved.y[:, :-1])
        state = solved.y[:, -1].copy()
    when = np.append(np.concatenate(times), CORNERS[-1])
    roll, rate = np.column_stack([*states, state])
    slope = np.array([water(float(time), True)[0] for time in when])
    return Course(when, roll, rate, roll - slope)
