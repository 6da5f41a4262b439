"""The greatest KG along a curve is that of the case where the curve passes it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rollsim.errors import InputError
from rollsim.scenario.load import load, loads
from rollsim.study import greatest_kg
from rollsim.study.plan import Plan, make_plan

FOUR = Path(__file__).parents[2] / "scenarios" / "four-loadings.toml"


def test_moving_liquid_is_on_the_curve_as_in_the_case(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = make_plan(load(FOUR))
    own = plan.study.cases[0].scenario.ship.displacement_t
    monkeypatch.setattr(greatest_kg, "greatest_kgs", lambda *_: [])
    point, along = greatest_kg.allowed(plan, [0], ["general"], [own])
    assert along.on_curve
    heel = np.radians([5.0, 20.0, 40.0])
    kn = point.ship.curve.levers.kn(heel)
    assert along.ship.curve.levers.kn(heel) == pytest.approx(kn, abs=1e-12)
    liquid = point.ship.curve.levers.liquid
    assert liquid is not None
    assert np.abs(liquid.value(heel)).max() > 1e-3


GENERAL = ["general"]
HULL = FOUR.with_name("criteria-coaster.toml")


def of_hull(displacements: str = "[4250.0]") -> Plan:
    """The coaster's hull in one loading, at displacements."""
    text = HULL.read_text(encoding="utf-8").partition("[[conditions]]")[0]
    sweep = f'[sweep]\n"ship.displacement_t" = {displacements}\n'
    return make_plan(loads(text + sweep, "hull.toml", FOUR.parent))


def test_the_curve_of_a_hull_goes_through_her_cases() -> None:
    plan = of_hull("[3800.0, 4250.0]")
    every = list(greatest_kg.allowed(plan, [0, 1], GENERAL))
    light, laden, *curve = every
    assert [each.ship.displacement for each in curve] == pytest.approx(np.linspace(3800, 4250, 7))
    assert all(each.on_curve for each in curve)
    for case, end in ((light, curve[0]), (laden, curve[-1])):
        own, along = ({q.quantity: q.kg for q in each.limits} for each in (case, end))
        assert along == pytest.approx(own, abs=1e-6)
        assert end.ship.floods == pytest.approx(case.ship.floods)
        assert end.ship.form.deck_edge == pytest.approx(case.ship.form.deck_edge)
        assert end.ship.draught == pytest.approx(case.ship.draught)
    assert curve[0].ship.floods > curve[-1].ship.floods


def test_one_displacement_has_no_curve_unless_it_is_asked_for() -> None:
    plan = of_hull()
    assert len(list(greatest_kg.allowed(plan, [0], GENERAL))) == 1
    _, *curve = greatest_kg.allowed(plan, [0], GENERAL, [3000.0, 3500.0])
    least = [each.governing for each in curve]
    assert all(least)
    assert [each.ship.displacement for each in curve] == [3000.0, 3500.0]


@pytest.mark.parametrize(
    ("stem", "displacement", "words"),
    [
        ("criteria-coaster", 90000.0, "90000 t is out of reach of the levers"),
        ("four-loadings", 1000.0, "nothing is extrapolated"),
        ("beam-gale", 4000.0, "the levers are for one displacement alone"),
    ],
)
def test_what_the_levers_do_not_reach_is_told(stem: str, displacement: float, words: str) -> None:
    plan = make_plan(load(FOUR.with_name(f"{stem}.toml")))
    with pytest.raises(InputError, match=words):
        list(greatest_kg.allowed(plan, [0], GENERAL, [displacement]))
