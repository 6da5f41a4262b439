"""A value and its slope as one number: both come back, of any sign, in either precision."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from comparing import compared
from engine_cases import Recipe, case_of, runs_of
from scipy.optimize import brentq

from rollsim.compiled import compiled
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.pairs import both, paired, pairs_of
from rollsim.engines.limits import Limits
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, polynomial

SIGNS = [(0.3, 2.0), (-0.3, 2.0), (0.3, -2.0), (-0.3, -2.0), (0.0, -0.0), (-1e-30, 1e-30)]


@compiled
def there_and_back(like: Any, value: float, slope: float) -> tuple[float, float]:
    """Value and slope put into a pair like another, and taken out of it."""
    return both(paired(like, value, slope))


@pytest.mark.parametrize(("value", "slope"), SIGNS)
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_a_pair_gives_back_what_was_put_in(kind: type, value: float, slope: float) -> None:
    like = pairs_of(np.zeros(1), np.zeros(1), kind)[0]
    expected = kind(value), kind(slope)
    assert there_and_back(like, value, slope) == expected
    assert both(pairs_of(np.array([value]), np.array([slope]), kind)[0]) == expected
    assert both(paired(like, value, slope)) == expected


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_an_ordinary_roll_strains_no_step(side: float) -> None:
    """A slope that came back wrong would be mended by finer steps in double: right, and slow."""
    case = case_of(Recipe(start=(side * 0.4, 0.0), damping=Damping(0.02, 0.2), duration=60.0))
    _, trouble = BlockEngine(case)._at(0, runs_of(case, 1), histories=False)
    assert not trouble.any()


@pytest.mark.parametrize("wind", [0.11, 0.163, -0.2, -0.237])
@pytest.mark.parametrize(("law", "power"), [("cos", 1), ("cos2", 2)])
def test_in_a_steady_wind_she_comes_to_rest_where_the_levers_meet(
    wind: float, law: str, power: int
) -> None:
    """GZ = GM φ + c φ³ = h cosⁿ φ: the law of heel between two rows of its table."""
    levers = polynomial([0.9, 0.0, 0.4], 5.0, math.radians(60.0))
    found = compared(
        Recipe(
            levers=levers, gravity=Gravity(5.0), damping=Damping(0.5), duration=90.0, wind=wind,
            wind_speed=1.0, heel_law=law, limits=Limits(capsize=math.radians(60.0)),
        )
    )  # fmt: skip
    rest = brentq(lambda x: 0.9 * x + 0.4 * x**3 - wind * math.cos(x) ** power, -1.0, 1.0)
    assert found.block.histories[0, 0, -1] == pytest.approx(math.degrees(rest), abs=1e-3)
