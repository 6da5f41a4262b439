"""Coefficients take every field over rightly, and packing loses none of them."""

from __future__ import annotations

import numpy as np
import pytest
from motion_samples import DAMPING, INERTIA, KINDS, direct, sea

from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients, pack, unpack
from rollsim.motion.equation import derivative
from rollsim.motion.timeline import timeline
from rollsim.ship.levers import Gravity, Levers


def distinct(heel_law: int, relative: bool) -> Coefficients:
    """Coefficients with no two numbers alike, in arrays of unlike sizes."""
    values: dict[str, object] = {
        name: float(place) + 0.5 for place, name in enumerate(Coefficients._fields)
    }
    values |= {
        "knots": np.arange(4.0),
        "spline": np.arange(12.0).reshape(4, 3) + 100.0,
        "powers": np.arange(5.0) + 200.0,
        "component_frequency": np.array([301.0, 302.0]),
        "component_slope": np.array([303.0, 304.0]),
        "component_phase": np.array([305.0, 306.0]),
        "grid": np.arange(21.0).reshape(7, 3) + 400.0,
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
    c = calm_coefficients(levers, INERTIA, DAMPING, free_surface=0.1, wind=2e-4, heel_law="cos2")
    assert (c.inertia, c.free_surface, c.wind, c.heel_law) == (INERTIA, 0.1, 2e-4, 2)
    assert (c.linear, c.quadratic, c.cubic) == DAMPING
    assert (c.heel_min, c.heel_max) == (levers.heel_min, levers.heel_max)
    assert (c.sine, c.wall) == (levers.sine, levers.wall)
    assert np.array_equal(c.knots, levers.knots)
    assert np.array_equal(c.spline, levers.coefficients)
    assert np.array_equal(c.powers, levers.powers)


def test_a_calm_is_relative_and_has_no_waves() -> None:
    c = calm_coefficients(KINDS["table"], INERTIA, DAMPING)
    assert c.relative
    assert (c.ramp, c.absolute_gm, c.slope_bound) == (0.0, 0.0, 0.0)
    assert c.component_slope.size == c.grid.size == 0


def test_an_unknown_heel_law_is_refused() -> None:
    with pytest.raises(KeyError, match="sine"):
        calm_coefficients(KINDS["table"], INERTIA, DAMPING, heel_law="sine")


def test_one_compiled_derivative_serves_every_kind_of_ship_and_sea() -> None:
    """One signature: no kind of levers or sea makes the compiler start again in mid-study."""
    segment = timeline(10.0, Gravity(5.0))[0]
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
