"""Coefficients take every field over rightly, and packing loses none of them."""

from __future__ import annotations

import numpy as np
import pytest
from motion_samples import DAMPING, INERTIA, KINDS, direct, sea

from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients, pack, unpack
from rollsim.motion.equation import derivative
from rollsim.motion.timeline import Base, timeline
from rollsim.ship.lever_table import tabulated
from rollsim.ship.levers import Gravity, Levers


def distinct(heel_law: int, relative: bool) -> Coefficients:
    """Coefficients with no two numbers alike, in arrays of unlike sizes."""
    values: dict[str, object] = {
        name: float(place) + 0.5 for place, name in enumerate(Coefficients._fields)
    }
    values |= {
        "kn": np.arange(24.0).reshape(2, 4, 3) + 100.0,
        "waves": np.arange(8.0).reshape(4, 2) + 200.0,
        "slope_grid": np.arange(21.0).reshape(7, 3) + 400.0,
        "elevation_grid": np.arange(15.0).reshape(5, 3) + 500.0,
        "wind_grid": np.arange(18.0).reshape(6, 3) + 600.0,
        "heel_law": heel_law,
        "relative": relative,
    }
    return Coefficients(**values)  # type: ignore[arg-type]


@pytest.mark.parametrize("heel_law", [0, 1, 2])
@pytest.mark.parametrize("relative", [True, False])
@pytest.mark.parametrize("field", Coefficients._fields)
def test_every_field_survives_packing(field: str, heel_law: int, relative: bool) -> None:
    c = distinct(heel_law, relative)
    before, after = getattr(c, field), getattr(unpack(*pack(c)), field)
    assert np.array_equal(before, after)
    assert np.shape(before) == np.shape(after)


@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
def test_the_levers_and_the_ship_are_taken_over(levers: Levers) -> None:
    c = calm_coefficients(levers, INERTIA, DAMPING, wind=2e-4, heel_law="cos2")
    assert (c.inertia, c.wind, c.heel_law, c.wind_factor) == (INERTIA, 2e-4, 2, 1.0)
    assert (c.linear, c.quadratic, c.cubic) == DAMPING
    assert (c.heel_min, c.heel_max) == (levers.heel_min, levers.heel_max)
    table = tabulated(levers)
    assert (c.lever_step, c.lever_upright) == (table.step, table.upright)
    assert (c.first_level, c.level_step) == (table.first_level, table.level_step)
    assert np.array_equal(c.kn, table.kn)


def test_levers_that_change_with_the_wave_bring_a_second_level() -> None:
    c = calm_coefficients(KINDS["table"], INERTIA, DAMPING, gm_per_m=-0.05)
    assert np.array_equal(c.kn, tabulated(KINDS["table"], gm_per_m=-0.05).kn)
    assert c.kn.shape[0] == 2


def test_a_calm_is_relative_and_has_no_waves() -> None:
    c = calm_coefficients(KINDS["table"], INERTIA, DAMPING)
    assert c.relative
    assert (c.ramp, c.absolute_gm, c.added_share, c.slope_bound) == (0.0, 0.0, 0.0, 0.0)
    assert c.waves.size == c.slope_grid.size == c.elevation_grid.size == c.wind_grid.size == 0


def test_an_unknown_heel_law_is_refused() -> None:
    with pytest.raises(KeyError, match="sine"):
        calm_coefficients(KINDS["table"], INERTIA, DAMPING, heel_law="sine")


def test_one_compiled_derivative_serves_every_kind_of_ship_and_sea() -> None:
    """One signature: no kind of levers or sea makes the compiler start again in mid-study."""
    segment = timeline(10.0, Base(Gravity(5.0)))[0]
    before = len(derivative.signatures)  # type: ignore[attr-defined]
    for levers in KINDS.values():
        calm = calm_coefficients(levers, INERTIA, DAMPING)
        for waves in (sea(1), sea(40)):
            c = with_waves(calm, waves, 10.0)
            state = np.array([0.1, 0.0])
            slope, rate = direct(waves, np.array([3.0]))
            heel, heel_rate = 0.1 - slope[0], -rate[0]
            lever = float(levers.kn(heel)) - 5.0 * np.sin(heel)
            b1, b2, b3 = DAMPING
            drag = heel_rate * (b1 + b2 * abs(heel_rate) + b3 * heel_rate**2)
            found = derivative(3.0, state, *pack(c), segment)
            assert found == pytest.approx([0.0, -lever / INERTIA - drag], abs=1e-8)
    assert len(derivative.signatures) - before <= 1  # type: ignore[attr-defined]
