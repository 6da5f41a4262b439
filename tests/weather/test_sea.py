"""Waves at the ship: signs and encounter."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from weather_samples import GALE, SWELL, Floats, history

from rollsim.constants import GRAVITY
from rollsim.weather.draws import repeat_time
from rollsim.weather.effective import effective_elevation, section_coefficient
from rollsim.weather.sea import (
    SeaState,
    cut_frequency,
    encounter_frequency,
    highest_frequency,
    realise,
    variance_left_out,
)

headings = st.floats(0.0, math.tau)


# Signs


def test_beam_sea_from_port_travels_to_starboard() -> None:
    # The surface across the ship: a cos(wt - k y + ε), y to starboard. The slope that a ship
    # follows with her starboard side down is minus its gradient at y = 0.
    waves = realise(replace(SWELL, slope_coefficient=1.0), 1, 0)
    t = np.linspace(0.0, 20.0, 41)
    omega = math.tau / 9.0
    number = omega**2 / GRAVITY
    step = 1e-3

    def surface(y: float) -> Floats:
        return 1.5 * np.cos(omega * t - number * y + 0.4)

    elevation, slope = history(waves, t)
    # She feels none of its height: no part of it lies along her.
    assert not elevation.any()
    gradient = (surface(step) - surface(-step)) / (2.0 * step)
    assert slope == pytest.approx(-gradient, abs=1e-9)


def test_contract_formula_with_speed() -> None:
    sea = replace(SWELL, heading=math.radians(120.0), speed=6.0)
    omega = math.tau / 9.0
    encounter = omega - omega**2 * 6.0 * math.cos(math.radians(120.0)) / GRAVITY
    r = section_coefficient(omega, 84.0, 14.0, 5.2, math.radians(120.0))
    f = effective_elevation(omega, 84.0, math.radians(120.0))
    t = np.linspace(0.0, 50.0, 101)
    elevation, slope = history(realise(sea, 1, 0), t)
    assert elevation == pytest.approx(1.5 * f * np.cos(encounter * t + 0.4), abs=1e-12)
    height = 1.5 * r * omega**2 / GRAVITY * math.sin(math.radians(120.0))
    assert slope == pytest.approx(-height * np.sin(encounter * t + 0.4), abs=1e-13)


@settings(deadline=None)
@given(headings, st.sampled_from([GALE, SWELL]), st.integers(0, 1000))
def test_other_side_opposite_slope(heading: float, sea: SeaState, seed: int) -> None:
    one = realise(replace(sea, heading=heading, speed=5.0), seed, 0)
    other = realise(replace(sea, heading=-heading, speed=5.0), seed, 0)
    assert np.array_equal(one.slope, -other.slope)
    assert np.array_equal(one.frequency, other.frequency)
    assert np.array_equal(one.elevation, other.elevation)
    assert np.array_equal(one.phase, other.phase)


def test_quarters_are_exact() -> None:
    port, starboard = (
        realise(replace(GALE, heading=math.radians(deg), speed=8.0), 3, 4) for deg in (90.0, 270.0)
    )
    assert np.array_equal(port.slope, -starboard.slope)
    assert np.array_equal(port.frequency, realise(GALE, 3, 4).frequency)
    for deg in (0.0, 180.0, 360.0):
        assert not realise(replace(GALE, heading=math.radians(deg)), 3, 4).slope.any()


# Encounter


def test_encounter_published_example() -> None:
    # Head sea, 16 s, 10 kn: 0.473597 rad/s (class rule's formula, exact figure).
    omega = np.array([math.tau / 16.0])
    knots = 10.0 * 1852.0 / 3600.0
    assert encounter_frequency(omega, knots, math.pi) == pytest.approx([0.473597], abs=5e-7)


def test_turn_of_the_encounter() -> None:
    # Exact: greatest overtaking encounter g/4U = 0.24516625 at w = g/2U; none at w = g/U.
    special = encounter_frequency(np.array([0.4903325, 0.980665]), 10.0, 0.0)
    assert special == pytest.approx([0.24516625, 0.0], abs=1e-12)


@settings(deadline=None)
@given(headings, st.integers(0, 100))
def test_no_speed_no_shift(heading: float, realisation: int) -> None:
    waves = realise(replace(GALE, heading=heading), 5, realisation)
    spacing = math.tau / repeat_time(GALE.duration)
    index = np.rint(waves.frequency / spacing)
    assert np.array_equal(waves.frequency, index * spacing)


def test_following_sea_highest_frequency_is_of_overtaken_waves() -> None:
    waves = realise(replace(GALE, heading=0.0, speed=15.0), 1, 0)
    assert waves.frequency.min() < 0.0 < waves.frequency.max()
    assert highest_frequency(waves) == -waves.frequency.min()


# Kinds of sea


def test_calm_and_regular() -> None:
    calm = realise(replace(GALE, waves=None), 1, 0)
    assert [part.size for part in calm] == [0, 0, 0, 0]
    assert highest_frequency(calm) == 0.0
    swell = realise(SWELL, 1, 0)
    number = (math.tau / 9.0) ** 2 / GRAVITY
    r = section_coefficient(math.tau / 9.0, 84.0, 14.0, 5.2, 0.5 * math.pi)
    assert swell.slope == pytest.approx([1.5 * number * r], rel=1e-14)
    assert highest_frequency(swell) == pytest.approx(math.tau / 9.0)
    assert variance_left_out(SWELL) == 0.0
    assert variance_left_out(replace(GALE, waves=None)) == 0.0


def test_band() -> None:
    waves = realise(GALE, 1, 0)
    spacing = math.tau / repeat_time(GALE.duration)
    cut = math.sqrt(math.tau * GRAVITY / 14.0)
    assert cut_frequency(GALE) == pytest.approx(cut)
    assert cut - spacing < highest_frequency(waves) <= cut
    assert np.diff(waves.frequency) == pytest.approx(spacing)
    assert variance_left_out(GALE) == pytest.approx(
        -math.expm1(-1.25 * (math.tau / 11.0 / cut) ** 4)
    )
    # All of these are shorter than what is kept: a calm, without a fuss.
    assert realise(replace(GALE, shortest_wave=5000.0), 1, 0).frequency.size == 0


def test_travels_between_processes() -> None:
    assert pickle.loads(pickle.dumps(GALE)) == GALE
    assert pickle.loads(pickle.dumps(SWELL)) == SWELL
