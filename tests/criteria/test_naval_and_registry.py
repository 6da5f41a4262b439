"""The naval criterion from memory in closed form, the registry, and the greatest KG."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from criteria_samples import curved, found, keeled, line, sine, wall

from rollsim.criteria import naval_beam_wind as naval
from rollsim.criteria.at_rest import ShipAtRest, Windage
from rollsim.criteria.greatest_kg import GreatestKg, governing, greatest_kgs
from rollsim.criteria.names import LIMITING, NAMES
from rollsim.criteria.registry import RULES
from rollsim.show.query.criteria import QUANTITIES

SPEED = 100.0 * naval.KNOT


def blown(own: ShipAtRest, lever: float) -> ShipAtRest:
    """The ship with so much windage that 100 kn give this lever upright [m]."""
    arm = 1000.0 * own.displacement * lever / (naval.PRESSURE * 100.0**2 * 500.0)
    return replace(own, windage=Windage(500.0, arm), wind_speed=SPEED)


def test_naval_numbers_in_closed_form() -> None:
    """GZ = sin φ, lever 0.25 cos² φ: values derived for the collection; the rule is from memory."""
    judgement = naval.judge(blown(sine(1.0), 0.25))
    assert found(judgement, "heel_at_intersection") == pytest.approx(13.65458, abs=5e-6)
    assert found(judgement, "lever_ratio") == pytest.approx(math.sqrt(5.0) - 2.0, abs=1e-9)
    assert judgement.marks["area_1"] == pytest.approx(0.0986034, abs=5e-8)
    assert judgement.marks["area_2"] == pytest.approx(0.495290, abs=5e-7)
    assert found(judgement, "area_ratio") == pytest.approx(5.02305, abs=5e-6)
    assert judgement.fulfilled is True
    assert all("memory" in r.clause for r in judgement.requirements)


def test_naval_limits_and_their_margins() -> None:
    judgement = naval.judge(blown(sine(1.0), 0.9))
    ratio = line(judgement, "lever_ratio")
    assert (ratio.required, line(judgement, "area_ratio").required) == (0.6, 1.4)
    assert ratio.margin == pytest.approx(0.6 - found(judgement, "lever_ratio"))


@pytest.mark.parametrize(
    ("own", "words"),
    [
        (blown(wall(-0.1, bm=6.0), 0.1), "GM is not above 0"),
        (replace(sine(1.0), windage=None, wind_speed=SPEED), "[ship.windage]"),
        (sine(1.0), "there is no wind"),
    ],
)
def test_naval_questions_without_an_answer(own: ShipAtRest, words: str) -> None:
    judgement = naval.judge(own)
    assert judgement.fulfilled is None
    assert all(words in r.note for r in judgement.requirements)


def test_naval_wind_that_nothing_holds() -> None:
    judgement = naval.judge(blown(curved(), 3.0))
    assert judgement.fulfilled is False
    assert "no heel holds her" in line(judgement, "area_ratio").note


def test_every_rule_is_named_once_and_its_quantities_have_words() -> None:
    assert tuple(RULES) == NAMES
    assert set(LIMITING) <= set(NAMES)
    own = blown(keeled(curved()), 0.1)
    quantities = {r.quantity for rule in RULES.values() for r in rule.judge(own).requirements}
    assert quantities == set(QUANTITIES)
    assert "from memory" in RULES["naval-beam-wind"].text


def by_name(limits: list[GreatestKg]) -> dict[str, GreatestKg]:
    return {limit.quantity: limit for limit in limits}


def test_greatest_kg_of_the_general_lines_in_closed_form() -> None:
    """Areas and levers are linear in KG; wall-sided, so each root is known."""
    own = wall(0.3, bm=0.8)
    km = 5.6
    limits = by_name(greatest_kgs(own, ["general"]))
    c30, c40 = (math.cos(math.radians(angle)) for angle in (30.0, 40.0))
    kn30, kn40 = (km * (1.0 - c) + 0.4 * (1.0 - c) ** 2 / c for c in (c30, c40))
    assert limits["gm"].kg == pytest.approx(km - 0.15, abs=2e-6)
    assert limits["area_to_30"].kg == pytest.approx((kn30 - 0.055) / (1.0 - c30), abs=2e-6)
    assert limits["area_to_40"].kg == pytest.approx((kn40 - 0.09) / (1.0 - c40), abs=2e-6)
    assert governing(list(limits.values())) == min(limits.values(), key=lambda each: each.kg)


def test_free_surfaces_take_from_the_greatest_kg() -> None:
    own = wall(0.3)
    slack = replace(
        own, curve=replace(own.curve, gravity=replace(own.curve.gravity, free_surface=0.1))
    )
    plain, less = (by_name(greatest_kgs(each, ["general"])) for each in (own, slack))
    for quantity in ("gm", "area_to_30"):
        assert less[quantity].kg == pytest.approx(plain[quantity].kg - 0.1, abs=3e-6)


@pytest.mark.parametrize("rule", ["weather-long-periods", "naval-beam-wind"])
def test_at_the_greatest_kg_the_margin_is_none(rule: str) -> None:
    own = blown(keeled(curved()), 0.12)
    own = replace(own, windage=Windage(500.0, own.windage.lever if own.windage else 0.0))
    for limit in greatest_kgs(own, [rule]):
        if limit.note:
            continue
        margin = line(RULES[rule].judge(own.with_kg(limit.kg)), limit.quantity).margin
        assert margin == pytest.approx(0.0, abs=1e-4)
        above = line(RULES[rule].judge(own.with_kg(limit.kg + 1e-3)), limit.quantity)
        assert above.fulfilled is False


def test_where_a_range_ends_the_limit_says_so() -> None:
    own = keeled(replace(curved(), windage=Windage(200.0, 4.0)))
    limit = by_name(greatest_kgs(own, ["weather"]))["area_ratio"]
    assert "the period T is" in limit.note
    assert RULES["weather"].judge(own.with_kg(limit.kg - 1e-3)).fulfilled is True


def test_a_rule_that_no_kg_fulfils_has_no_limit() -> None:
    own = replace(curved(), windage=None)
    limit = by_name(greatest_kgs(own, ["weather"]))["area_ratio"]
    assert math.isnan(limit.kg)
    assert "[ship.windage]" in limit.note
    assert governing([limit]) is None
