"""The weather criterion: published tables, closed forms, independent quadrature, no answers."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from criteria_samples import curved, found, keeled, line, ship, sine, wall
from scipy.integrate import quad
from scipy.optimize import brentq

from rollsim.criteria import weather, weather_long_periods
from rollsim.criteria.at_rest import Windage
from rollsim.ship.levers import Gravity

LINES = ("steady_heel", "roll_to_windward", "area_a", "area_b", "area_ratio")
QUIET = Windage(200.0, 5.0)


@pytest.mark.parametrize(
    ("table", "value", "expected"),
    [
        (weather.X1, 2.0, 1.0),
        (weather.X1, 2.75, 0.94),
        (weather.X1, 3.4, 0.82),
        (weather.X1, 3.5, 0.80),
        (weather.X2, 0.40, 0.75),
        (weather.X2, 0.575, 0.92),
        (weather.X2, 0.80, 1.0),
        (weather.K, 0.0, 1.0),
        (weather.K, 2.25, 0.835),
        (weather.K, 5.0, 0.70),
        (weather.STEEPNESS, 5.0, 0.100),
        (weather.STEEPNESS, 10.0, 0.079),
        (weather.STEEPNESS, 17.9, 0.0383),  # published: MSC.1/Circ.1227, 1/26.1
        (weather_long_periods.STEEPNESS, 17.9, 0.0383),
        (weather_long_periods.STEEPNESS, 20.0, 0.032),
        (weather_long_periods.STEEPNESS, 25.0, 0.024),
        (weather_long_periods.STEEPNESS, 31.0, 0.020),
    ],
)
def test_tables_are_the_published_ones_and_linear_between(
    table: weather.Table, value: float, expected: float
) -> None:
    """French Division 211, annex 211-1.A.3; 46 CFR 28.575; MSC.1/Circ.1200 table 4.5.1."""
    assert weather.look_up(table, value) == pytest.approx(expected, abs=1e-12)


def test_the_roll_to_windward_of_a_published_calculation() -> None:
    """φ1 = 31.81° of B/d 4.79, CB .7205, k .98, KG 9.0, d 4.30, s .1 (zanotowane.pl/37/366).

    Its own period and ratios lie outside the ranges of the rule: the arithmetic alone is checked.
    """
    own = keeled(wall(1.0, kg=9.0), block_coefficient=0.7205)
    own = replace(own, beam=4.79 * 4.30, draught=4.30)
    own = keeled(own, area=own.form.length * own.beam / 100.0)
    roll = weather.roll_to_windward(own, weather.STEEPNESS, weather.LONGEST)
    k, x1, x2, r = (roll.factors[name] for name in ("k", "X1", "X2", "r"))
    assert (k, x1, x2) == pytest.approx((0.98, 0.80, 1.0), abs=1e-12)
    assert r == pytest.approx(1.38581, abs=1e-5)
    assert 109.0 * k * x1 * x2 * math.sqrt(r * 0.1) == pytest.approx(31.81, abs=0.005)
    assert math.isnan(roll.angle)
    assert "B/d is 4.79" in roll.note


def test_the_factors_of_the_ship_of_circular_1227() -> None:
    """Her particulars are from memory; the factors were derived from them for the collection."""
    own = keeled(wall(1.41, kg=10.63), 61.32, block_coefficient=0.521)
    own = replace(own, beam=25.0, draught=6.6, form=replace(own.form, length=170.0))
    factors = weather.roll_to_windward(own, weather.STEEPNESS, weather.LONGEST).factors
    assert factors["r"] == pytest.approx(1.0963636, abs=1e-7)
    assert factors["X2"] == pytest.approx(0.8494, abs=1e-9)
    assert factors["k"] == pytest.approx(0.9534306, abs=2e-6)
    assert factors["T"] == pytest.approx(16.30, abs=0.005)


def test_period_and_angle_follow_the_formulas() -> None:
    own = keeled(curved())
    c = 0.373 + 0.023 * 14.0 / 5.2 - 0.043 * 84.0 / 100.0
    period = 2.0 * c * 14.0 / math.sqrt(0.9)
    assert weather.roll_period(own) == pytest.approx(period, rel=1e-12)
    k = weather.look_up(weather.K, 100.0 * 24.0 / (84.0 * 14.0))
    block = 4250.0 / 1.025 / (84.0 * 14.0 * 5.2)
    x1 = weather.look_up(weather.X1, 14.0 / 5.2)
    x2 = weather.look_up(weather.X2, block)
    r = 0.73 + 0.6 * (5.0 - 5.2) / 5.2
    s = weather.look_up(weather.STEEPNESS, period)
    expected = 109.0 * k * x1 * x2 * math.sqrt(r * s)
    assert found(weather.judge(own), "roll_to_windward") == pytest.approx(expected, rel=1e-12)
    sharp = keeled(own, sharp=True)
    assert found(weather.judge(sharp), "roll_to_windward") == pytest.approx(0.7 / k * expected)


def test_areas_about_the_gust_in_closed_form() -> None:
    """GZ = 1.5 sin φ, lw1 0.10, lw2 0.15, φ1 25°, φ2 50°: values derived for the collection."""
    own = sine(1.5)
    steady = own.side.meeting(0.10)
    assert steady is not None
    assert math.degrees(steady[0]) == pytest.approx(3.822553729274, abs=1e-9)
    _, marks = weather.areas_about_gust(own, steady[0] - math.radians(25.0), 0.15)
    assert math.degrees(marks["start"]) == pytest.approx(-21.177446270726, abs=1e-9)
    assert math.degrees(marks["meeting"]) == pytest.approx(5.739170477267, abs=1e-9)
    assert math.degrees(marks["end"]) == 50.0
    assert marks["area_a"] == pytest.approx(0.16424957692578, abs=1e-12)
    assert marks["area_b"] == pytest.approx(0.41242516040478, abs=1e-12)


@pytest.mark.parametrize("kg", [4.8, 5.0, 5.3, 5.55])
@pytest.mark.parametrize("flooding", [38.0, 60.0])
def test_a_polynomial_lever_by_independent_quadrature(kg: float, flooding: float) -> None:
    own = keeled(replace(curved(kg=kg), floods=(math.radians(flooding),) * 2))

    def gz(phi: float) -> float:
        return 0.9 * phi + 0.3 * phi**3 - 0.75 * phi**5 - (kg - 5.0) * math.sin(phi)

    lever = 504.0 * 620.0 * 6.4 / (1000.0 * 9.81 * 4250.0)
    peak = math.radians(40.0)
    steady = brentq(lambda phi: gz(phi) - lever, 0.0, peak)
    first = brentq(lambda phi: gz(phi) - 1.5 * lever, 0.0, peak)
    second = brentq(lambda phi: gz(phi) - 1.5 * lever, peak, math.radians(70.0))
    judgement = weather.judge(own)
    start = steady - math.radians(found(judgement, "roll_to_windward"))
    end = min(math.radians(flooding), math.radians(50.0), second)
    a = quad(lambda phi: 1.5 * lever - gz(phi), start, first)[0]
    b = quad(lambda phi: gz(phi) - 1.5 * lever, first, end)[0]
    assert found(judgement, "steady_heel") == pytest.approx(math.degrees(steady), abs=1e-9)
    assert found(judgement, "area_a") == pytest.approx(a, abs=1e-12)
    assert found(judgement, "area_b") == pytest.approx(b, abs=1e-12)
    assert found(judgement, "area_ratio") == pytest.approx(b / a, abs=1e-9)
    assert line(judgement, "area_b").required == pytest.approx(a, abs=1e-12)
    assert line(judgement, "area_ratio").fulfilled is (b >= a)


def test_lines_stand_in_their_order() -> None:
    requirements = weather.judge(curved()).requirements
    assert tuple(r.quantity for r in requirements) == LINES
    on_the_way = [r for r in requirements if r.required is None]
    assert [r.quantity for r in on_the_way] == ["roll_to_windward", "area_a"]
    assert all(r.fulfilled is None and r.margin is None for r in on_the_way)


def test_the_steady_heel_has_the_lesser_of_two_limits() -> None:
    own = curved(kg=5.3)
    assert line(weather.judge(own), "steady_heel").required == pytest.approx(16.0)
    assert "no deck_edge_deg" in line(weather.judge(own), "steady_heel").note
    low = replace(own, form=replace(own.form, deck_edge=math.radians(10.0)))
    requirement = line(weather.judge(low), "steady_heel")
    assert requirement.required == pytest.approx(8.0)
    assert requirement.margin == pytest.approx(8.0 - found(weather.judge(low), "steady_heel"))
    high = replace(own, form=replace(own.form, deck_edge=math.radians(30.0)))
    assert line(weather.judge(high), "steady_heel").required == pytest.approx(16.0)


OUTSIDE = {
    "B/d is 3.59": replace(wall(0.6), draught=3.9),
    "KG/d − 1 is 0.538": wall(0.6, kg=8.0),
    "KG/d − 1 is -0.338": replace(wall(0.6), draught=8.0),
    "the period T is": wall(0.6).with_kg(5.75),
}


@pytest.mark.parametrize("note", OUTSIDE)
def test_no_angle_outside_the_ranges_of_the_tables(note: str) -> None:
    judgement = weather.judge(replace(OUTSIDE[note], windage=QUIET))
    assert line(judgement, "steady_heel").found is not None
    for quantity in ("roll_to_windward", "area_a", "area_b", "area_ratio"):
        assert line(judgement, quantity).found is None
        assert line(judgement, quantity).fulfilled is None
        assert note in line(judgement, quantity).note
    assert judgement.fulfilled is None


def test_long_periods_have_their_own_table() -> None:
    own = replace(wall(0.6).with_kg(5.75), windage=QUIET)
    assert weather.roll_period(own) > 20.0
    assert "weather-long-periods goes on" in line(weather.judge(own), "area_ratio").note
    judgement = weather_long_periods.judge(own)
    assert line(judgement, "area_ratio").fulfilled is not None
    short = curved()
    assert weather_long_periods.judge(short) == weather.judge(short)


@pytest.mark.parametrize("gm", [0.0, -0.1])
def test_no_gm_is_answered_in_words(gm: float) -> None:
    judgement = weather.judge(wall(gm, bm=6.0))
    assert {r.fulfilled for r in judgement.requirements} == {None}
    assert {r.found for r in judgement.requirements} == {None}
    assert all("GM is not above 0" in r.note for r in judgement.requirements)
    assert judgement.fulfilled is None


def test_without_windage_there_is_nothing_to_say() -> None:
    judgement = weather.judge(replace(curved(), windage=None))
    assert judgement.fulfilled is None
    assert all("[ship.windage]" in r.note for r in judgement.requirements)


def test_a_wind_that_nothing_holds_is_no_pass() -> None:
    steady = weather.judge(replace(curved(), windage=Windage(9000.0, 9.0)))
    assert line(steady, "steady_heel").fulfilled is False
    assert line(steady, "area_ratio").fulfilled is False
    assert "no heel holds her in the steady wind" in line(steady, "area_ratio").note
    gust = weather.judge(replace(curved(), windage=Windage(4600.0, 8.0)))
    assert line(gust, "steady_heel").found is not None
    assert line(gust, "area_ratio").fulfilled is False
    assert "in the gust" in line(gust, "area_ratio").note
    assert gust.fulfilled is False


def test_flooding_before_the_gust_is_met_leaves_no_area() -> None:
    judgement = weather.judge(replace(curved(), floods=(math.radians(4.0),) * 2))
    assert found(judgement, "area_b") == 0.0
    assert line(judgement, "area_ratio").fulfilled is False
    assert "before the gust is met" in line(judgement, "area_b").note


def test_levers_that_end_before_area_b_give_a_lower_bound() -> None:
    enough = weather.judge(curved(reach=35.0))
    assert line(enough, "area_ratio").fulfilled is True
    assert "can only be more" in line(enough, "area_b").note
    little = weather.judge(replace(wall(0.6, bm=0.1, reach=20.0), windage=Windage(900.0, 6.0)))
    assert line(little, "area_ratio").found is not None
    assert line(little, "area_ratio").fulfilled is None


def test_levers_that_end_to_windward_get_no_areas() -> None:
    judgement = weather.judge(curved(reach=12.0))
    assert line(judgement, "area_ratio").fulfilled is None
    assert "to windward" in line(judgement, "area_ratio").note


def test_either_side_is_the_lee_side_of_the_weaker_curve() -> None:
    starboard, port = (
        weather.judge(keeled(ship(curved().curve.levers, Gravity(5.0, across))))
        for across in (0.04, -0.04)
    )
    for mine, other in zip(starboard.requirements, port.requirements, strict=True):
        assert mine.found == pytest.approx(other.found, abs=1e-9)
    centred = weather.judge(keeled(curved()))
    assert found(starboard, "steady_heel") > found(centred, "steady_heel")
