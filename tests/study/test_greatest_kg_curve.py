"""The greatest KG along a curve is that of the case where the curve passes it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rollsim.scenario.load import load
from rollsim.study import greatest_kg
from rollsim.study.plan import make_plan

FOUR = Path(__file__).parents[2] / "scenarios" / "four-loadings.toml"


def test_moving_liquid_is_on_the_curve_as_in_the_case(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = make_plan(load(FOUR))
    own = plan.study.cases[0].scenario.ship.displacement_t
    monkeypatch.setattr(np, "linspace", lambda *_: np.array([own]))
    monkeypatch.setattr(greatest_kg, "greatest_kgs", lambda *_: [])
    point, along = greatest_kg.allowed(plan, [0], ["general"])
    assert along.on_curve
    heel = np.radians([5.0, 20.0, 40.0])
    kn = point.ship.curve.levers.kn(heel)
    assert along.ship.curve.levers.kn(heel) == pytest.approx(kn, abs=1e-12)
    liquid = point.ship.curve.levers.liquid
    assert liquid is not None
    assert np.abs(liquid.value(heel)).max() > 1e-3
