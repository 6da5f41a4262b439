"""Period, critical fraction and extinction: converted once, at the gravity of the base file."""

from __future__ import annotations

import math

import pytest
from batch_samples import C1, KG, measured, plan_of

from rollsim.constants import GRAVITY

HEIGHTS = '[sweep]\n"ship.gravity.kg_m" = [5.0, 5.5, 5.9]\n'
BASE_KG = 4.6
BASE_GM = C1 + KG - BASE_KG
TABLES = {"ship.gravity": f"kg_m = {BASE_KG}", "run": 'duration_s = 1.0\nmethod = "DOP853"'}


def test_a_period_gives_one_gyradius_for_all_cases() -> None:
    found = measured(TABLES | {"ship.inertia": "period_s = 9.0"}, HEIGHTS)
    gyradius = 9.0 * math.sqrt(GRAVITY * BASE_GM) / math.tau
    assert found["gyradius"] == pytest.approx([gyradius] * 3, rel=1e-12)
    assert found["gm"] == pytest.approx([0.8, 0.3, -0.1], abs=1e-12)


def test_the_base_ship_rolls_with_the_period_that_she_was_given() -> None:
    tables = {"ship.inertia": "period_s = 9.0", "start": "roll_deg = 0.5"}
    found = measured(tables | {"run": 'duration_s = 9.0\noutput_step_s = 2.25\nmethod = "DOP853"'})
    assert found["roll_angle"][0, 0] == pytest.approx([0.5, 0.0, -0.5, 0.0, 0.5], abs=1e-3)


def test_a_critical_fraction_gives_one_linear_damping_for_all_cases() -> None:
    table = "critical_fraction = 0.07\nquadratic = 0.3\ncubic_s = 0.2"
    for case in plan_of(TABLES | {"ship.damping": table}, HEIGHTS).cases:
        frequency = math.sqrt(GRAVITY * BASE_GM) / 4.0
        assert case.coefficients.linear == pytest.approx(2.0 * 0.07 * frequency, rel=1e-12)
        assert (case.coefficients.quadratic, case.coefficients.cubic) == (0.3, 0.2)


def test_extinction_gives_one_pair_of_coefficients_for_all_cases() -> None:
    table = "extinction = { a = 0.05, b_per_deg = 0.02 }"
    for case in plan_of(TABLES | {"ship.damping": table}, HEIGHTS).cases:
        frequency = math.sqrt(GRAVITY * BASE_GM) / 4.0
        assert case.coefficients.linear == pytest.approx(
            2.0 * 0.05 * frequency / math.pi, rel=1e-12
        )
        assert case.coefficients.quadratic == pytest.approx(0.75 * math.degrees(0.02), rel=1e-12)
        assert case.coefficients.cubic == 0.0


def test_what_a_condition_gives_is_converted_at_the_base_gravity_too() -> None:
    more = '[[conditions]]\nname = "stiff"\n"ship.gravity.kg_m" = 4.0\n'
    more += '"ship.inertia.period_s" = 7.0\n"ship.damping.critical_fraction" = 0.1\n'
    more += '[[conditions]]\nname = "other hull"\n"ship.levers.gz_m_per_rad" = [0.2]\n'
    tables = {"ship.inertia": "period_s = 9.0", "ship.damping": "critical_fraction = 0.05"}
    stiff, other = plan_of(TABLES | tables, more).cases
    root = math.sqrt(GRAVITY * BASE_GM)
    for case, period, fraction in ((stiff, 7.0, 0.1), (other, 9.0, 0.05)):
        gyradius = period * root / math.tau
        assert case.coefficients.inertia == pytest.approx(gyradius**2 / GRAVITY, rel=1e-12)
        assert case.coefficients.linear == pytest.approx(
            2.0 * fraction * root / gyradius, rel=1e-12
        )


def test_absolute_excitation_takes_the_gm_of_the_case() -> None:
    sea = 'kind = "regular"\nheight_m = 1.0\nperiod_s = 8.0\nexcitation = "absolute"'
    tables = TABLES | {"sea": sea, "ship.gravity": "kg_m = 4.6\nfree_surface_m = 0.1"}
    more = '[sweep]\n"ship.gravity.kg_m" = [5.0, 5.5]\n'
    cases = plan_of(tables, more).cases
    assert [c.coefficients.absolute_gm for c in cases] == pytest.approx([0.7, 0.2], abs=1e-12)
    assert not any(c.coefficients.relative for c in cases)
