"""KN, GZ at another KG and work done against published figures; the rule's tables row by row.

De n is Derrett, Ship Stability for Masters and Mates, page n; S a set of solved exercises on
dynamical stability (scribd.com/document/564518832); L a US licence question; M a mates' exam whose
inputs alone could be read. What follows from the inputs and is not printed is called derived.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import simpson

from rollsim.criteria import weather, weather_long_periods
from rollsim.ship.levers import Gravity, from_gz_table, from_kn_table
from rollsim.ship.righting import RightingCurve

RADIAN = 57.3
"""Degrees in a radian, as the exercises have it."""
SPLINE = 0.035
"""What a cubic spline through five ordinates may differ from Simpson's parabolas."""


def gz(curve: RightingCurve, *heel_deg: float) -> list[float]:
    return [float(x) for x in curve.value(np.radians(heel_deg))]


def test_kn_to_gz_derrett_180() -> None:
    """40 000 t at KG 10; printed to two places."""
    heel = (5, 10, 15, 20, 30, 45, 60, 75, 90)
    kn = (0.90, 1.92, 3.11, 4.25, 6.30, 8.44, 9.39, 9.29, 8.50)
    levers = from_kn_table(np.radians((0, *heel)), (0.0, *kn))
    printed = [0.03, 0.18, 0.52, 0.83, 1.30, 1.37, 0.73, -0.37, -1.50]
    assert gz(RightingCurve(levers, Gravity(10.0)), *heel) == pytest.approx(printed, abs=0.0051)


def test_gz_of_another_kg_derrett_177() -> None:
    """38 000 t every 15°: the curve printed for KG 9 gives that printed for KG 8.5."""
    heel = np.arange(0.0, 91.0, 15.0)
    nine = (0.0, 0.81, 1.90, 2.24, 1.70, 0.68, -0.49)
    lower = (0.0, 0.94, 2.15, 2.59, 2.13, 1.16, 0.01)
    levers = from_gz_table(np.radians(heel), nine, 9.0)
    assert gz(RightingCurve(levers, Gravity(8.5)), *heel) == pytest.approx(lower, abs=0.0071)
    assert gz(RightingCurve(levers, Gravity(9.0)), *heel) == pytest.approx(nine, abs=1e-9)
    whole = simpson(lower[:3], dx=math.radians(15.0))
    assert whole == pytest.approx(0.5157, abs=5e-5)  # derived
    area = RightingCurve(levers, Gravity(8.5)).area(0.0, math.radians(30.0))
    assert area == pytest.approx(whole, rel=SPLINE)


@pytest.mark.parametrize(
    ("tonnes", "step", "levers", "work"),
    [
        (10_000, 10.0, (0.0, 0.09, 0.21, 0.30, 0.33), 1344.0),  # S
        (8_000, 15.0, (0.0, 0.20, 0.30, 0.32, 0.24), 2038.4),  # S
    ],
)
def test_dynamical_stability_of_solved_exercises(
    tonnes: float, step: float, levers: tuple[float, ...], work: float
) -> None:
    """Simpson's first rule gives the printed t·m; the program's own area is within its spline."""
    assert tonnes * simpson(levers, dx=step / RADIAN) == pytest.approx(work, abs=0.6)
    heel = step * np.arange(len(levers))
    curve = RightingCurve(from_gz_table(np.radians(heel), levers, 7.0), Gravity(7.0))
    area = curve.area(0.0, math.radians(float(heel[-1])))
    assert tonnes * area == pytest.approx(work, rel=SPLINE)


def test_dynamical_stability_after_g_was_lowered() -> None:
    """M: 15 000 t, every 15° at KG 7.0, actual KG 6.8; levers and 15 061 t·m are derived."""
    heel = np.arange(0.0, 61.0, 15.0)
    levers = from_gz_table(np.radians(heel), (0.0, 0.38, 1.0, 1.41, 1.2), 7.0)
    curve = RightingCurve(levers, Gravity(6.8))
    lowered = gz(curve, *heel)
    assert lowered == pytest.approx([0.0, 0.4318, 1.1, 1.5514, 1.3732], abs=5e-5)
    assert 15_000 * simpson(lowered, dx=math.radians(15.0)) == pytest.approx(15_061, abs=1.0)
    assert 15_000 * curve.area(0.0, math.pi / 3.0) == pytest.approx(15_061, rel=SPLINE)


def test_a_righting_moment_of_a_licence_question() -> None:
    """L: 9440 long tons, base arm 1.75 ft at 15° for KG 20 ft, actual KG 22.4: 1.13 ft."""
    levers = from_kn_table(
        np.radians([0.0, 15.0, 30.0]), [0.0, 1.75 + 20.0 * math.sin(math.radians(15.0)), 12.0]
    )
    (arm,) = gz(RightingCurve(levers, Gravity(22.4)), 15.0)
    assert round(arm, 2) == 1.13
    assert 9440 * arm == pytest.approx(10_656.2, abs=0.1)


BY_THE_TEXT: dict[str, tuple[weather.Table, list[float], list[float]]] = {
    "X1": (weather.X1, [2.4, 2.5, 2.6, 2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3, 3.4, 3.5],
           [1.0, 0.98, 0.96, 0.95, 0.93, 0.91, 0.90, 0.88, 0.86, 0.84, 0.82, 0.80]),
    "X2": (weather.X2, [0.45, 0.50, 0.55, 0.60, 0.65, 0.70], [0.75, 0.82, 0.89, 0.95, 0.97, 1.0]),
    "k": (weather.K, [0.0, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0],
          [1.0, 0.98, 0.95, 0.88, 0.79, 0.74, 0.72, 0.70]),
    "s": (weather.STEEPNESS, [6, 7, 8, 12, 14, 16, 18, 20],
          [0.100, 0.098, 0.093, 0.065, 0.053, 0.044, 0.038, 0.035]),
    "s, long periods": (
        weather_long_periods.STEEPNESS, [6, 7, 8, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30],
        [0.100, 0.098, 0.093, 0.065, 0.053, 0.044, 0.038, 0.032, 0.028, 0.025, 0.023, 0.021, 0.020],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BY_THE_TEXT)
def test_the_tables_of_the_weather_criterion_row_by_row(name: str) -> None:
    """X1 complete: 46 CFR 28.575; X2, k, s: French Division 211; long periods: MSC.1/Circ.1200."""
    table, values, factors = BY_THE_TEXT[name]
    assert [weather.look_up(table, value) for value in values] == pytest.approx(factors, abs=1e-12)


def test_an_older_rule_s_arithmetic() -> None:
    """Published (refstar.ru, 19829): 25.0 · 0.91 · 0.95 · 0.78 gives 17°, and K 548.9/609.9 0.90;
    the tables here give the same X1 at B/d 2.9."""
    assert weather.look_up(weather.X1, 2.9) == 0.91
    assert round(25.0 * weather.look_up(weather.X1, 2.9) * 0.95 * 0.78) == 17
    assert round(548.9 / 609.9, 2) == 0.90
