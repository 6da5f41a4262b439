"""The general criteria on levers in closed form, and where they have no answer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from criteria_samples import curved, found, line, ship, sine, wall

from rollsim.criteria import general
from rollsim.ship.levers import Gravity, from_kn_table, wall_sided

LINES = ("area_to_30", "area_to_40", "area_30_to_40", "gz_from_30", "heel_of_greatest_gz", "gm")


def wall_area(gm: float, bm: float, angle: float) -> float:
    """∫ GZ dφ from upright of the wall-sided formula, exactly."""
    c = math.cos(math.radians(angle))
    return gm * (1.0 - c) + 0.5 * bm * (1.0 - c) ** 2 / c


def test_areas_of_a_wall_sided_ship_are_the_exact_ones() -> None:
    judgement = general.judge(wall(0.3))
    to_30, to_40 = (wall_area(0.3, 3.0, angle) for angle in (30.0, 40.0))
    assert found(judgement, "area_to_30") == pytest.approx(to_30, abs=1e-12)
    assert found(judgement, "area_to_40") == pytest.approx(to_40, abs=1e-12)
    assert found(judgement, "area_30_to_40") == pytest.approx(to_40 - to_30, abs=1e-12)
    assert found(judgement, "gm") == pytest.approx(0.3, abs=1e-12)


def test_lines_stand_in_their_order_with_the_requirements_of_the_text() -> None:
    """2008 IS Code A 2.2, as found in the sources of the reference collection."""
    requirements = general.judge(curved()).requirements
    assert tuple(r.quantity for r in requirements) == LINES
    assert [r.required for r in requirements] == [0.055, 0.09, 0.03, 0.2, 25.0, 0.15]
    assert [r.unit for r in requirements] == ["m rad"] * 3 + ["m", "degree", "m"]
    assert [r.clause[-1] for r in requirements] == list("111234")


def test_the_greatest_lever_is_that_of_the_curve() -> None:
    """0.9 + 0.9 φ² − 3.75 φ⁴ = 0 at the peak."""
    squared = (0.9 + math.sqrt(0.81 + 4.0 * 3.75 * 0.9)) / 7.5
    peak = math.sqrt(squared)
    judgement = general.judge(curved())
    assert found(judgement, "heel_of_greatest_gz") == pytest.approx(math.degrees(peak), abs=1e-9)
    top = 0.9 * peak + 0.3 * peak**3 - 0.75 * peak**5
    assert found(judgement, "gz_from_30") == pytest.approx(top, abs=1e-12)
    assert judgement.fulfilled is True


def test_margins_are_found_less_required() -> None:
    for requirement in general.judge(curved(kg=5.6)).requirements:
        assert requirement.found is not None
        assert requirement.required is not None
        assert requirement.margin == pytest.approx(requirement.found - requirement.required)
        assert requirement.fulfilled is (requirement.found >= requirement.required)


def test_a_number_that_is_just_enough_is_enough() -> None:
    assert line(general.judge(sine(0.15)), "gm").fulfilled is True
    assert line(general.judge(sine(0.1499)), "gm").fulfilled is False


def test_flooding_ends_the_areas_to_40_alone() -> None:
    own = replace(wall(0.3), floods=(math.radians(36.0),) * 2)
    judgement = general.judge(own)
    to_30, to_36 = (wall_area(0.3, 3.0, angle) for angle in (30.0, 36.0))
    assert found(judgement, "area_to_40") == pytest.approx(to_36, abs=1e-12)
    assert found(judgement, "area_30_to_40") == pytest.approx(to_36 - to_30, abs=1e-12)
    assert "36" in line(judgement, "area_to_40").note


def test_flooding_before_30_leaves_no_area_beyond() -> None:
    own = replace(wall(0.3), floods=(math.radians(24.0),) * 2)
    judgement = general.judge(own)
    assert found(judgement, "area_to_30") == pytest.approx(wall_area(0.3, 3.0, 30.0), abs=1e-12)
    assert "24" in line(judgement, "area_to_30").note
    assert found(judgement, "area_30_to_40") == 0.0
    assert judgement.fulfilled is False


def test_levers_that_end_too_soon_get_no_verdict() -> None:
    judgement = general.judge(wall(0.3, reach=35.0))
    for quantity in ("area_to_40", "area_30_to_40"):
        assert line(judgement, quantity).fulfilled is None
        assert "levers end at 35" in line(judgement, quantity).note
    # GZ still grows there: enough is enough, and more could only help.
    assert line(judgement, "gz_from_30").fulfilled is True
    assert line(judgement, "heel_of_greatest_gz").fulfilled is True
    short = general.judge(wall(0.3, reach=22.0))
    assert line(short, "gz_from_30").fulfilled is None
    assert line(short, "heel_of_greatest_gz").fulfilled is None
    assert short.fulfilled is None


def test_a_small_lever_that_still_grows_is_no_failure() -> None:
    judgement = general.judge(wall(0.16, bm=0.2, reach=32.0))
    requirement = line(judgement, "gz_from_30")
    assert requirement.found is not None
    assert requirement.found < 0.2
    assert requirement.fulfilled is None
    assert "still grows" in requirement.note


@pytest.mark.parametrize("gm", [0.0, -0.05, -0.4])
def test_no_gm_is_never_a_pass(gm: float) -> None:
    judgement = general.judge(wall(gm, bm=6.0))
    assert line(judgement, "gm").fulfilled is False
    assert judgement.fulfilled is False
    assert True not in {r.fulfilled for r in judgement.requirements}
    for requirement in judgement.requirements:
        assert "GM is not above 0" in requirement.note
        assert requirement.found is not None


def test_a_lolled_ship_is_told_where_she_lies() -> None:
    """tan φ = √(−2 GM/BM), wall-sided."""
    heel = math.degrees(math.atan(math.sqrt(2.0 * 0.05 / 6.0)))
    note = general.judge(wall(-0.05, bm=6.0)).requirements[0].note
    assert f"she lies at {heel:.4g}° to starboard" in note


def test_free_surfaces_and_off_centre_weight_are_in_the_lever() -> None:
    plain = ship(wall_sided(5.6, 3.0, 1.0), Gravity(5.3))
    weighed = replace(plain, curve=replace(plain.curve, gravity=Gravity(5.3, 0.04, 0.02)))
    judgement = general.judge(weighed)
    angle = math.radians(30.0)
    lost = 0.02 * (1.0 - math.cos(angle)) + 0.04 * math.sin(angle)
    expected = wall_area(0.3, 3.0, 30.0) - lost
    assert found(judgement, "area_to_30") == pytest.approx(expected, abs=1e-12)
    assert found(judgement, "gm") == pytest.approx(0.28, abs=1e-12)


def test_the_side_of_the_lesser_curve_is_judged() -> None:
    starboard = ship(wall_sided(5.6, 3.0, 1.0), Gravity(5.3, 0.03))
    port = ship(wall_sided(5.6, 3.0, 1.0), Gravity(5.3, -0.03))
    assert (starboard.side.name, port.side.name) == ("starboard", "port")
    for mine, other in zip(
        general.judge(starboard).requirements, general.judge(port).requirements, strict=True
    ):
        assert mine.found == pytest.approx(other.found, abs=1e-9)


def test_the_side_that_floods_first_is_judged() -> None:
    own = replace(wall(0.3), floods=(math.inf, math.radians(35.0)))
    assert own.side.name == "port"
    assert own.flooding == math.radians(35.0)
    weak = replace(ship(wall_sided(5.6, 3.0, 1.0), Gravity(5.3, 0.2)), floods=own.floods)
    assert weak.side.name == "starboard"
    assert weak.flooding == math.inf


def test_an_asymmetric_table_is_read_on_its_weaker_side() -> None:
    heel = np.radians([-60, -40, -20, 0, 20, 40, 60])
    kn = np.array([-4.3, -3.2, -1.7, 0.0, 2.0, 3.7, 4.8])
    own = ship(from_kn_table(heel, kn), Gravity(4.5))
    assert own.side.name == "port"
    assert float(own.side.value(math.radians(40.0))) == pytest.approx(
        3.2 - 4.5 * math.sin(math.radians(40.0))
    )


def test_areas_of_a_published_table_of_kn() -> None:
    """KN of a cargo ship of 40 000 t at KG 10 (Derrett, p. 180); areas by a cubic spline of ours.

    Which spline is taken moves them by some per cent.
    """
    heel = np.radians([0, 5, 10, 15, 20, 30, 45, 60, 75, 90])
    kn = [0.0, 0.90, 1.92, 3.11, 4.25, 6.30, 8.44, 9.39, 9.29, 8.50]
    own = ship(from_kn_table(heel, kn), Gravity(10.0), displacement=40_000.0)
    judgement = general.judge(own)
    assert float(own.curve.value(math.radians(30.0))) == pytest.approx(1.30, abs=0.005)
    assert found(judgement, "area_to_30") == pytest.approx(0.288, abs=0.003)
    assert found(judgement, "area_to_40") == pytest.approx(0.532, abs=0.004)
    assert found(judgement, "area_30_to_40") == pytest.approx(0.244, abs=0.002)
