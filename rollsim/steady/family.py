"""One ship in a regular sea whose period or height is varied."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.forcing.single import with_storm
from rollsim.motion.coefficients import NO_GRID, Coefficients, pack
from rollsim.motion.timeline import (
    ACROSS,
    COLUMNS,
    END,
    FILLING,
    FREE_SURFACE,
    HEIGHT,
    LEVER,
    MASS,
    START,
    WAVES,
    WIND,
)
from rollsim.ship.levers import Gravity
from rollsim.ship.liquid import Filled
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.weather.sea import RegularWave, SeaState

Floats = NDArray[np.float64]

PERIOD, WAVE_HEIGHT = "sea.period_s", "sea.height_m"
KEYS = (PERIOD, WAVE_HEIGHT)
"""The keys over which steady responses are followed."""
SMALL_CHANGE = 1e-4
"""Share of the period by which the wave's numbers are varied for their derivatives."""


def last_loading(case: Case) -> Floats:
    """The segment that lasts for ever: all as at the end of the case's timeline, gusts left out."""
    last = case.segments[-1]
    passed = last[END] - last[START]
    row = np.zeros(COLUMNS)
    row[END] = math.inf
    for column in (MASS, HEIGHT, ACROSS, LEVER, FREE_SURFACE, WAVES, FILLING):
        row[column] = last[column] + last[column + 1] * passed
    row[WIND] = case.mean_wind_at(np.array([last[END]]))[0]
    return row


def resting_curve(case: Case) -> RightingCurve:
    """The residual lever of that loading, under mean wind and levers."""
    row = last_loading(case)
    mass, height, across, lever, free, _, wind = row[[2, 4, 6, 8, 10, 12, 14]]
    steady = case.coefficients.wind * wind * abs(wind) / mass
    gravity = Gravity(height / mass, across / mass, free)
    heeling = Heeling(steady, case.heeling.law, lever)
    filled = Filled(case.filling, np.asarray(row[FILLING])) if case.filling else None
    return RightingCurve(case.levers, gravity, heeling, filled)


class Wave(NamedTuple):
    """A regular wave as she meets it: encounter frequency [rad/s], amplitudes of slope [rad] and
    effective elevation [m]."""

    frequency: float
    slope: float
    elevation: float

    @property
    def period(self) -> float:
        """Time from crest to crest [s] as she meets them."""
        return math.tau / abs(self.frequency)


@dataclass(frozen=True, eq=False)
class Family:
    """The case with `key`, one of KEYS, as parameter; the other stays as the case has it."""

    case: Case
    key: str

    @cached_property
    def _fixed(self) -> tuple[Coefficients, RegularWave]:
        waves = self.case.storm.sea.waves
        assert isinstance(waves, RegularWave)
        return self.case.coefficients._replace(ramp=0.0), waves

    @cached_property
    def segment(self) -> Floats:
        """What loads her, for ever."""
        return last_loading(self.case)

    def sea(self, value: float) -> SeaState:
        """The sea at a value of the key."""
        height, period, phase = (getattr(self._fixed[1], n) for n in ("height", "period", "phase"))
        if self.key == PERIOD:
            period = value
        else:
            height = value
        return replace(self.case.storm.sea, waves=RegularWave(height, period, phase))

    def coefficients(self, value: float) -> Coefficients:
        """The equation with the wave of a value of the key in it."""
        storm = replace(self.case.storm, sea=self.sea(value))
        c = with_storm(self._fixed[0], storm, 0, 0, (1.0, 1.0))
        # A sea that does not act keeps the time all the same.
        return c if c.waves.shape[1] else c._replace(waves=self._silent(value))

    def _silent(self, value: float) -> Floats:
        from rollsim.weather.sea import encounter_frequency

        sea = self.sea(value)
        assert isinstance(sea.waves, RegularWave)
        omega = np.array([math.tau / sea.waves.period])
        frequency = encounter_frequency(omega, sea.speed, sea.heading)[0]
        return np.array([[frequency], [sea.waves.phase], [0.0], [0.0]])

    def wave(self, value: float) -> Wave:
        """The wave as she meets it at a value of the key."""
        frequency, _, slope, elevation = self.coefficients(value).waves[:, 0]
        return Wave(float(frequency), float(slope), float(elevation))

    def packed(self, value: float) -> tuple[Floats, ...]:
        """What `motion.variation.varied_rates` reads: numbers, KN, tanks, the wave, no grid."""
        c = self.coefficients(value)
        packed = pack(c)
        numbers = np.concatenate((packed.numbers, self._changes(value), self.segment))
        return numbers, packed.kn, packed.filling, packed.waves, NO_GRID

    def _changes(self, value: float) -> Floats:
        """The period, and what it and the wave's amplitudes change by with the key."""
        wave = self.wave(value)
        if self.key == WAVE_HEIGHT:
            unit = self.wave(1.0)
            return np.array(
                [wave.period, 0.0, unit.slope, unit.slope * unit.frequency, unit.elevation]
            )
        change = SMALL_CHANGE * value
        rows = []
        for near in (value - change, value + change):
            w = self.wave(near)
            rows.append(np.array([w.period, w.slope, w.slope * w.frequency, w.elevation]))
        return np.concatenate(([wave.period], (rows[1] - rows[0]) / (2.0 * change)))
