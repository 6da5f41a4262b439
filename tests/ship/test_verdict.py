"""What she does at a moment: every row of the table with a computed ship, and its borders."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from ship_samples import HEEL, KM, KN

from rollsim.ship.levers import Gravity, Levers, from_kn_table, wall_sided
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.verdict import NO_ARM, RULES, Moment, verdicts

WALL_KM, BM = 5.5, 2.9
INERTIA = 5.3**2 / 9.80665
WALL = wall_sided(WALL_KM, BM, math.radians(60.0))
TABLE = from_kn_table(HEEL, KN, KM)


def moment(
    gm: float, across: float = 0.0, lever: float = 0.0, levers: Levers = WALL, limit: float = 60.0
) -> Moment:
    """A moment of a hull by its GM, its G off the centreline and an outside lever [m]."""
    km = WALL_KM if levers is WALL else KM
    curve = RightingCurve(levers, Gravity(km - gm, across), Heeling(lever=lever))
    return Moment(curve, gm, across, lever, INERTIA, math.radians(limit))


def verdict(made: Moment, heel: float, rate: float = 0.0) -> str:
    """The verdict at one heel [degree] and rate [degree/s]."""
    return str(verdicts(made, np.radians([heel]), np.radians([rate])).name[0])


def loll(gm: float) -> float:
    """The angle of loll [degree] of the wall-sided hull: tan² φ = 2 |GM| / BM, exact."""
    return math.degrees(math.atan(math.sqrt(-2.0 * gm / BM)))


def well(made: Moment, heel: float) -> float:
    """The stable heel [degree] that she turns to."""
    return math.degrees(verdicts(made, np.radians([heel]), np.zeros(1)).well[0])


def test_the_table_has_its_rows_in_order() -> None:
    assert list(RULES) == [
        "capsized", "going-over", "neutral", "flopping", "loll", "held-over", "list", "upright",
        "rights", "rolls",
    ]  # fmt: skip


def test_past_the_barrier_and_outward_she_goes_over() -> None:
    made = moment(0.36, levers=TABLE, limit=90.0)
    barrier = math.degrees(made.well.starboard)
    assert 50.0 < barrier < 60.0
    for side in (1.0, -1.0):
        assert verdict(made, side * (barrier + 0.1), side * 0.2) == "going-over"
        assert verdict(made, side * (barrier + 0.1), 0.0) == "going-over"
        assert verdict(made, side * (barrier + 0.1), -side * 0.2) == "rolls"
        assert verdict(made, side * (barrier - 0.1), side * 5.0) == "rights"


def test_a_gust_brings_the_barrier_nearer() -> None:
    """At 52° and on her way out under a lever that leaves no righting arm there."""
    gust = moment(0.36, lever=0.1, levers=TABLE, limit=90.0)
    assert math.degrees(gust.well.starboard) < 51.0
    assert verdict(gust, 52.0, 3.0) == "going-over"
    assert verdict(moment(0.36, levers=TABLE, limit=90.0), 52.0, 3.0) == "rights"


def test_where_no_heel_is_stable_she_goes_where_the_lever_turns_her() -> None:
    made = moment(0.36, lever=5.0)
    assert np.isnan(made.well.low)
    assert verdict(made, 0.0) == "going-over"
    assert verdict(made, 20.0, 1.0) == "going-over"
    assert verdict(made, -20.0, -1.0) == "rolls"
    assert verdict(moment(0.36, lever=-5.0), 20.0, -1.0) == "going-over"


def test_a_ship_that_lies_where_she_is_put_is_neutral() -> None:
    made = moment(0.0)
    for heel in (0.0, 1.5, -1.5):
        assert verdict(made, heel) == "neutral"
    # ½ BM tan² φ sin φ reaches half a millimetre at the outer end of 2° to both sides.
    border = math.degrees((2.0 * NO_ARM / BM) ** (1.0 / 3.0)) - 2.0
    assert verdict(made, border - 0.03) == "neutral"
    assert verdict(made, border + 0.03) == "rights"
    assert verdict(moment(0.0, lever=0.001), 0.0) != "neutral"


def test_a_stable_list_is_never_neutral() -> None:
    """The slope at 15° is of metres a radian, though nothing turns her there."""
    made = moment(0.36, across=0.127, levers=TABLE, limit=90.0)
    heel = well(made, 10.0)
    assert heel > 10.0
    assert verdict(made, heel) == "list"


def test_a_metacentric_height_of_a_rounding_below_zero_is_zero() -> None:
    assert verdict(moment(-1e-15), 0.5) == "neutral"


def test_between_two_wells_with_energy_over_the_crest_she_flops() -> None:
    made = moment(-0.2)
    low = float(made.curve.potential(math.radians(10.0)))
    over = math.degrees(math.sqrt(-2.0 * low / INERTIA))
    assert verdict(made, 10.0, over + 0.01) == "flopping"
    assert verdict(made, 10.0, -over - 0.01) == "flopping"
    assert verdict(made, 10.0, over - 0.01) == "rolls"
    assert verdict(made, loll(-0.2) + 3.0, 20.0) == "rolls"
    assert verdict(made, 0.0, 0.0) == "rolls"


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_at_rest_with_negative_gm_she_lolls(side: float) -> None:
    made = moment(-0.2)
    heel = side * loll(-0.2)
    assert_allclose(well(made, heel), heel, atol=1e-6)
    assert verdict(made, heel) == "loll"
    assert verdict(made, heel + 0.5) == "loll"
    assert verdict(made, heel + 0.51) == "rolls"
    assert verdict(made, heel, 0.099) == "loll"
    assert verdict(made, heel, 0.1) == "rolls"


def test_loll_comes_before_what_adds_to_it() -> None:
    made = moment(-0.2, across=0.02, lever=0.01)
    assert verdict(made, well(made, 10.0)) == "loll"


def test_a_loll_too_small_to_see_is_no_upright_and_no_loll() -> None:
    made = moment(-0.5 * BM * math.tan(math.radians(0.3)) ** 2)
    assert_allclose(well(made, 1.0), 0.3, atol=1e-6)
    assert verdict(made, 0.3) == "rolls"


@pytest.mark.parametrize("lever", [0.1, -0.1])
def test_at_rest_under_a_lever_she_is_held_over(lever: float) -> None:
    made = moment(0.5, lever=lever)
    heel = well(made, 0.0)
    assert math.copysign(1.0, heel) == math.copysign(1.0, lever)
    assert verdict(made, heel) == "held-over"
    assert verdict(made, heel, 0.2) == "rolls"
    assert verdict(moment(0.5, across=0.1, lever=lever), well(moment(0.5, 0.1, lever), 0.0)) in (
        "held-over",
        "upright",
    )


def test_with_g_off_the_centreline_she_lists() -> None:
    made = moment(0.5, across=-0.1)
    assert verdict(made, well(made, 0.0)) == "list"
    # A list of half a degree counts, a smaller one is upright.
    for heel, name in ((0.5, "list"), (0.45, "upright")):
        phi = math.radians(heel)
        rise = 0.5 + 0.5 * BM * math.tan(phi) ** 2
        assert verdict(moment(0.5, across=rise * math.tan(phi)), heel) == name


def test_upright_and_rights() -> None:
    made = moment(0.5)
    assert verdict(made, 0.0) == "upright"
    assert verdict(made, 0.49, 0.099) == "upright"
    assert verdict(made, 0.51) == "rights"
    assert verdict(made, 0.2, 0.1) == "rights"
    assert verdict(made, 25.0, -8.0) == "rights"


def test_what_is_left_rolls_about_the_well_it_turns_to() -> None:
    made = moment(0.5, lever=0.1)
    assert verdict(made, 20.0, 3.0) == "rolls"
    assert 8.0 < well(made, 20.0) < 12.0
    lolling = moment(-0.2)
    assert_allclose([well(lolling, 30.0), well(lolling, -5.0)], [loll(-0.2), -loll(-0.2)])


def test_beyond_the_levers_range_the_last_lever_holds() -> None:
    assert verdict(moment(-2.0, limit=89.0), 75.0, 1.0) in RULES
