"""Scenarios drawn at random over every feature, each from its own number."""

from __future__ import annotations

import math

import numpy as np
from engine_cases import COASTER, Recipe

from rollsim.engines.limits import Limits
from rollsim.motion.timeline import Change, Setting
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, from_kn_table, polynomial, wall_sided
from rollsim.weather.sea import RegularWave
from rollsim.weather.spectra import Spectrum, bretschneider, jonswap
from rollsim.weather.wind import Gust, Turbulence, davenport

DURATION = 600.0
LOPSIDED = from_kn_table(
    np.radians([-70.0, -50.0, -30.0, -15.0, -5.0, 0.0, 10.0, 20.0, 35.0, 60.0, 90.0]),
    [-4.5, -4.0, -2.85, -1.45, -0.47, 0.03, 1.0, 1.97, 3.25, 4.6, 4.5],
)
HULLS: dict[str, tuple[Levers, float, float]] = {
    "table": (COASTER, 5.659, 90.0),
    "lopsided": (LOPSIDED, 5.6, 70.0),
    "wall": (wall_sided(6.0, 2.5, math.radians(60.0)), 6.0, 60.0),
    "powers": (polynomial([0.6, 0.0, 0.5, 0.0, -0.55], 5.0, 1.2), 5.6, 65.0),
}
"""Levers with the height of their metacentre [m] and where they end [degree]."""


def recipe_of(number: int) -> Recipe:
    """The scenario of a number: one in three features at once, loads from stiff to lolling."""
    r = np.random.default_rng([2024, number])
    levers, km, end = HULLS[str(r.choice(list(HULLS), p=[0.55, 0.15, 0.15, 0.15]))]
    gm = float(r.choice([r.uniform(0.15, 1.5), r.uniform(-0.15, 0.15)], p=[0.85, 0.15]))
    free_surface = float(r.choice([0.0, r.uniform(0.0, 0.1)]))
    off_centre = float(r.choice([0.0, r.uniform(-0.03, 0.03)]))
    gravity = Gravity(km - gm - free_surface, off_centre, free_surface)
    wind_speed = float(r.choice([0.0, r.uniform(5.0, 28.0)]))
    waves = _waves(r)
    absolute = bool(r.random() < 0.15) and gm + free_surface > 0.1
    settle = float(r.choice([0.0, r.uniform(1.0, 120.0)]))
    limits = Limits(
        roll=float(r.choice([math.inf, math.radians(r.uniform(8.0, 40.0))])),
        flooding=float(r.choice([math.inf, math.radians(r.uniform(10.0, 45.0))])),
        capsize=math.radians(r.uniform(50.0, end)),
    )
    return Recipe(
        levers=levers,
        gravity=gravity,
        inertia=float(r.uniform(4.8, 6.2)) ** 2 / 9.80665,
        damping=_damping(r),
        start=(math.radians(r.uniform(-15.0, 15.0)), math.radians(r.uniform(-5.0, 5.0)))
        if r.random() < 0.7
        else (0.0, 0.0),
        duration=DURATION,
        output_step=float(r.choice([0.1, 0.25, 0.5, 1.0, 0.7, 1.0 / 3.0])),
        settle=settle,
        limits=limits,
        changes=_changes(r),
        settings=_settings(r, gravity, wind_speed, isinstance(waves, RegularWave)),
        gusts=_gusts(r) if wind_speed else (),
        wind=float(r.choice([-1.0, 1.0])) * float(r.uniform(0.5e-4, 1.8e-4)),
        wind_speed=wind_speed,
        heel_law=str(r.choice(["constant", "cos", "cos2"])),
        turbulence=_turbulence(r, wind_speed),
        waves=waves,
        heading=math.radians(float(r.choice([90.0, 270.0, r.uniform(0.0, 360.0)]))),
        speed=float(r.choice([0.0, r.uniform(0.0, 8.0)])),
        slope_coefficient=None if r.random() < 0.7 else float(r.uniform(0.4, 0.9)),
        shortest_wave=float(r.choice([14.0, 30.0])),
        absolute=absolute,
        ramp=float(r.choice([0.0, r.uniform(5.0, 80.0)])),
        gm_per_m=float(r.choice([0.0, r.uniform(-0.08, 0.02)], p=[0.7, 0.3])),
        added_share=0.0 if absolute or r.random() < 0.6 else float(r.uniform(0.05, 0.3)),
        seed=number,
    )


def _waves(r: np.random.Generator) -> Spectrum | RegularWave | None:
    kind = r.choice(["calm", "regular", "irregular"], p=[0.2, 0.25, 0.55])
    if kind == "calm":
        return None
    period = float(r.uniform(6.0, 14.0))
    height = float(r.uniform(0.5, 0.05 * period**2))
    if kind == "regular":
        return RegularWave(0.6 * height, period, float(r.uniform(0.0, math.tau)))
    if r.random() < 0.5:
        return jonswap(height, peak_period=period, peak_enhancement=float(r.uniform(1.0, 5.0)))
    return bretschneider(height, peak_period=period)


def _damping(r: np.random.Generator) -> Damping:
    linear = float(r.choice([0.0, r.uniform(0.005, 0.06)]))
    quadratic = float(r.choice([0.0, r.uniform(0.1, 1.0)]))
    cubic = float(r.choice([0.0, r.uniform(0.1, 1.0)]))
    return Damping(linear, quadratic, cubic)


def _changes(r: np.random.Generator) -> list[Change]:
    changes = []
    for _ in range(int(r.choice([0, 0, 1, 2]))):
        over = float(r.choice([0.0, r.uniform(1.0, 90.0)]))
        mass = float(r.choice([0.0, r.uniform(-0.03, 0.03)]))
        changes.append(
            Change(
                float(r.uniform(0.0, 400.0)),
                over,
                mass,
                5.2 * mass + float(r.uniform(-0.06, 0.06)),
                float(r.uniform(-0.02, 0.02)),
                float(r.choice([0.0, r.uniform(-0.02, 0.02)])),
            )
        )
    return changes


def _settings(
    r: np.random.Generator, gravity: Gravity, wind_speed: float, regular: bool
) -> list[Setting]:
    """At most one of each kind, so that none overlap."""
    at, over = r.uniform(0.0, 400.0, 4), r.choice([0.0, 40.0], 4)
    settings = []
    if r.random() < 0.2:
        settings.append(Setting("kg", gravity.kg + r.uniform(-0.15, 0.08), at[0], over[0]))
    if r.random() < 0.15:
        settings.append(Setting("free_surface", float(r.uniform(0.0, 0.1)), at[1], over[1]))
    if wind_speed and r.random() < 0.2:
        settings.append(Setting("wind", float(r.uniform(0.0, 28.0)), at[2], over[2]))
    if regular and r.random() < 0.5:
        settings.append(Setting("waves", float(r.uniform(0.3, 1.8)), at[3], 30.0))
    return settings


def _gusts(r: np.random.Generator) -> tuple[Gust, ...]:
    at = 20.0 + float(r.uniform(0.0, 200.0))
    if r.random() < 0.5:
        return ()
    first = Gust(at, float(r.choice([0.0, 2.0])), float(r.uniform(0.5, 30.0)), 1.3)
    return first, Gust(at + 150.0, 3.0, 10.0, float(r.uniform(0.5, 1.5)))


def _turbulence(r: np.random.Generator, speed: float) -> Turbulence | None:
    if not speed or r.random() < 0.6:
        return None
    return davenport(speed, 0.003, None if r.random() < 0.5 else float(r.uniform(0.05, 0.25)))
