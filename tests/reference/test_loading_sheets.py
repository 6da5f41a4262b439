"""Loading sheets, tanks and lifting against published solutions.

Each names its source: De n is Derrett, Ship Stability for Masters and Mates, page n; T is a marine
teachers' collection (chapters 7 and 11); G a solved mates' textbook on stability; L US licence
questions; IC a printed icing example. What a source does not print and follows from its inputs is
called derived.
"""

from __future__ import annotations

import math

import pytest

from rollsim.ship.levers import Gravity, wall_sided
from rollsim.ship.loading import Ice, Item, iced, total
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import loll_angles, static_heel
from rollsim.ship.tanks.box import BoxTank

SEA, FRESH = 1025.0, 1000.0


def sheet(*rows: tuple[float, ...]) -> tuple[float, float, float]:
    """Mass, KG and G off the centreline of rows of mass, height and place across."""
    whole = total(Item("", row[0], row[1], 0.0, *row[2:3]) for row in rows)
    return whole.mass, whole.height, whole.across


def list_deg(across: float, gm: float) -> float:
    """The list at small angles, tan φ = GG₁ / GM."""
    return math.degrees(math.atan(across / gm))


def test_deck_cargo_for_a_given_gm_derrett_108() -> None:
    mass, kg, _ = sheet((5000, 4.5), (2000, 3.7), (1000, 7.5), (650, 9.0))
    assert mass == 8650
    assert 5.3 - kg == pytest.approx(0.3, abs=5e-4)


def test_list_after_loading_derrett_128() -> None:
    mass, kg, across = sheet((8000, 7.6), (250, 6.1, 7.6), (300, 0.6, -6.1), (-50, 1.2, -4.6))
    assert mass == 8500
    assert mass * kg == pytest.approx(62_445, abs=0.5)
    assert (round(kg, 2), round(8.70 - kg, 2)) == (7.35, 1.35)
    assert across == pytest.approx(0.035, abs=5e-4)
    assert (kg, across) == pytest.approx((7.34647, 0.035294), abs=5e-6)  # derived
    assert list_deg(across, 8.70 - kg) == pytest.approx(1.494, abs=5e-4)  # derived


def test_loading_and_discharging_teacher() -> None:
    rows = ((2000, 3.66), (1500, 5.5), (3500, 4.6), (1520, 0.6), (-2000, 2.44), (-900, 0.4))
    mass, kg, _ = sheet(*rows)
    assert (mass, round(kg, 3)) == (5620, 4.865)


def test_deck_cargo_for_a_given_kg_teacher() -> None:
    assert sheet((2600, 4.88), (4600, 5.0), (225.77, 10.0))[1] == pytest.approx(5.11, abs=1e-5)


def test_kg_of_a_general_cargo_teacher() -> None:
    rows = ((3000, 3.9), (200, 3), (300, 6.4), (150, 5.2), (350, 4))
    assert round(sheet(*rows)[1], 1) == 4.1


def test_deadweight_moment_derrett_386() -> None:
    # ρ i of the two slack tanks joins the moments of the deadweight
    items = [
        Item("fuel", 250, 0.5, 0.0, free_surface=1400),
        Item("water", 50, 5.0, 0.0, free_surface=500),
        Item("cargo", 2000, 4.0, 0.0),
    ]
    for more, moment in (([], 10_275), ([Item("more", 200, 3.0, 0.0)], 10_875)):
        whole = total([*items, *more])
        assert whole.mass * whole.height + whole.free_surface == pytest.approx(moment)


def test_icing_by_the_allowances_printed_example() -> None:
    decks = ((3100, 16.2), (60, 18.6), (42, 21.0), (48, 23.4), (56, 25.8))
    ice = [iced("deck", Ice(area, height, 0.0, 0.0), 0.0) for area, height in decks]
    ice.append(iced("side", Ice(0.0, 0.0, 860.0, 13.64), 0.0))
    tonnes = [item.mass / 1000.0 for item in ice]
    assert tonnes[:-1] == pytest.approx([93.0, 1.80, 1.26, 1.44, 1.68])
    assert tonnes[-1] / 1.05 == pytest.approx(12.90)
    ship = Item("ship", 31_700_000, 9.12, 0.0, free_surface=2_050_000)
    whole = total([ship, *ice])
    assert whole.mass / 1000.0 == pytest.approx(31_812.725)  # derived, as what follows
    assert whole.height == pytest.approx(9.14543, abs=5e-6)
    assert whole.height + whole.rise == pytest.approx(9.20987, abs=5e-6)
    assert 9.46 - whole.height - whole.rise == pytest.approx(0.25013, abs=5e-6)


@pytest.mark.parametrize(
    ("weight", "gm", "moment", "heel"), [(5000, 0.3, 100, 3.8), (8000, 2.0, 1200, 4.29)]
)
def test_list_from_a_moment_teacher(weight: float, gm: float, moment: float, heel: float) -> None:
    assert list_deg(moment / weight, gm) == pytest.approx(heel, abs=0.016)


def test_a_weight_down_and_across_teacher() -> None:
    _, kg, across = sheet((10_000, 7.0), (-200, 10.0, 0.0), (200, 0.0, 5.0))
    assert kg == pytest.approx(6.8)
    assert round(list_deg(across, 7.4 - kg), 2) == 9.46


def test_transfer_between_slack_tanks() -> None:
    # G: 432 t of fresh water to the opposite tank, 12 m across and 6 m lower, both 12 m square
    moment = 10_000 * (10.8 - 9.0) * math.tan(math.radians(10.0))
    assert moment == pytest.approx(3173.88, abs=6e-3)
    assert moment / 12.0 == pytest.approx(264.49, abs=5e-3)
    tank = BoxTank(0, 12, 0, 12, 0, 10, density=FRESH)
    rise = 2.0 * tank.free_surface_moment(0.5) / 1e7
    kg = 9.0 - 432 * 6 / 10_000
    gm = 10.8 - kg - rise
    assert (round(kg, 3), round(rise, 4)) == (8.741, 0.3456)
    assert gm == pytest.approx(1.7134, abs=3e-4)  # from the rounded KG
    across = (moment - 432 * 12) / 10_000
    assert list_deg(across, gm) == pytest.approx(-6.69, abs=5e-3)


def test_the_list_of_a_wall_sided_ship() -> None:
    # 1500 t, KB 2.1, KG 2.7, KM 3.1, 10 t x 10 m: 9° 27' at small angles; wall-sided derived
    across = 10 * 10 / 1500
    assert list_deg(across, 0.4) == pytest.approx(9.0 + 27.0 / 60.0, abs=0.02)
    curve = RightingCurve(wall_sided(3.1, 1.0, 1.0), Gravity(2.7, across))
    assert math.degrees(static_heel(curve, 0.0)) == pytest.approx(9.169, abs=5e-4)


def test_the_list_at_no_gm() -> None:
    # 12 250 t, KM = KG = 8, KB 3.8, 2 t x 12 m: derived
    curve = RightingCurve(wall_sided(8.0, 4.2, 1.0), Gravity(8.0, 24 / 12_250))
    assert math.degrees(static_heel(curve, 0.0)) == pytest.approx(5.581, abs=5e-4)


@pytest.mark.parametrize(
    ("divisions", "slack", "rises"),
    [
        (1, (1,), (0.53136,)),
        (2, (2, 1), (0.13284, 0.06642)),
        (3, (3, 2, 1), (0.05904, 0.03936, 0.01968)),
        (4, (4, 3, 2, 1), (0.03321, 0.02491, 0.01660, 0.00830)),
    ],
)
def test_a_tank_in_divisions_some_slack(
    divisions: int, slack: tuple[int, ...], rises: tuple[float, ...]
) -> None:
    # G: 5000 t, a tank of 18 x 12 m of sea water; printed to three places
    one = BoxTank(0, 18, 0, 12.0 / divisions, 0, 5, density=SEA)
    for count, rise in zip(slack, rises, strict=True):
        assert count * one.free_surface_moment(0.5) / 5e6 == pytest.approx(rise, abs=6e-6)
    parted = BoxTank(0, 18, 0, 12.0, 0, 5, density=SEA, divisions=divisions)
    assert parted.free_surface_moment(0.5) / 5e6 == pytest.approx(rises[0], abs=6e-6)


def test_wing_and_centre_tanks() -> None:
    # G: 10 000 t, fresh water, 20 m long, wings of 4 m and a centre of 12 m
    wing = BoxTank(0, 20, 0, 4, 0, 5, density=FRESH).free_surface_moment(0.5) / 1e7
    centre = BoxTank(0, 20, -6, 6, 0, 5, density=FRESH).free_surface_moment(0.5) / 1e7
    whole = BoxTank(0, 20, -10, 10, 0, 5, density=FRESH).free_surface_moment(0.5) / 1e7
    assert [round(2 * wing, 4), round(centre, 3), round(2 * wing + centre, 3)] == [
        0.0213, 0.288, 0.309,
    ]  # fmt: skip
    assert round(whole, 3) == 1.333


@pytest.mark.parametrize(
    ("length", "breadth", "density", "tonnes", "rise", "count"),
    [
        (20.0, 8.0, 1010.0, 16_000, 0.054, 1),  # G
        (12.0 * 242.0, 1.0, 880.0, 5000, 0.042, 1),  # G: i 242 m⁴
        (20.0, 10.0, 1000.0, 10_000, 0.16667, 1),  # derived
    ],
)
def test_single_tanks(
    length: float, breadth: float, density: float, tonnes: float, rise: float, count: int
) -> None:
    tank = BoxTank(0, length, 0, breadth, 0, 2, density=density)
    got = count * tank.free_surface_moment(0.5) / (1000.0 * tonnes)
    assert got == pytest.approx(rise, abs=6e-4)


def test_two_tanks_of_a_licence_question() -> None:
    # L: 9000 long tons, two tanks of 40 x 30 ft, specific gravity .86 in 1.025: .48 ft, 35 ft³/ton
    tank = BoxTank(0, 40, 0, 30, 0, 10, density=0.86 / 1.025)
    assert round(2 * tank.free_surface_moment(0.5) / (9000 * 35), 2) == 0.48


def test_a_tank_pumped_to_half() -> None:
    # De 207, inputs; derived: a full tank of 15 x 10 x 2 m amidships on the keel
    tank = BoxTank(0, 15, -5, 5, 0, 2, density=SEA)
    before = Item("ship", 8_153_750, 7.5, 0.0)
    after = total([before, Item("full", -tank.capacity, 1.0, 0.0),
                   Item("half", 0.5 * tank.capacity, tank.centroid(0.5).height, 0.0,
                        free_surface=tank.free_surface_moment(0.5))])  # fmt: skip
    assert after.height - 7.5 == pytest.approx(0.1153, abs=5e-5)
    assert after.rise == pytest.approx(0.1602, abs=5e-5)
    assert 8.0 - after.height - after.rise == pytest.approx(0.2245, abs=5e-5)


def test_lifting_by_a_derrick() -> None:
    # G: a weight that hangs acts at the derrick's head
    kg = sheet((12_000, 7.6), (-300, 8.0), (300, 20.0))[1]
    assert kg == pytest.approx(7.9)
    assert sheet((12_000, 7.6), (-300, 8.0), (300, 2.0))[1] == pytest.approx(7.45)  # derived


def test_landing_a_weight() -> None:
    # G: 12 000 t without it, KM 9, KG 7.25; 200 t at a head of 24 m; landed at 10 m, 7 m off
    mass, kg, across = sheet((12_000, 7.25), (200, 24.0))
    assert (kg, 9.0 - kg) == pytest.approx((7.524, 1.476), abs=1e-3)
    _, kg, across = sheet((12_000, 7.25), (200, 10.0, 7.0))
    assert mass == 12_200
    assert list_deg(across, 9.0 - kg) == pytest.approx(3.85, abs=6e-3)


def test_gm_from_a_heel_by_a_weight() -> None:
    # L: 18 000 + 50 long tons, 75 ft, 3.5°: 3.40 ft; stowed 56 ft lower 3.552 (derived)
    gm = 50 * 75 / (18_050 * math.tan(math.radians(3.5)))
    assert round(gm, 2) == 3.40
    assert gm + 50 * 56 / 18_050 == pytest.approx(3.552, abs=1e-3)


def test_free_surfaces_make_the_loll_of_the_exact_box() -> None:
    # box of 20 m beam, 6 m draught, virtual KG 8.8, of it 0.6 by free surfaces: 16.5229° (derived)
    levers = wall_sided(3.0 + 50.0 / 9.0, 50.0 / 9.0, math.radians(30.0))
    starboard, _ = loll_angles(levers, Gravity(8.2, 0.0, 0.6))
    assert math.degrees(starboard) == pytest.approx(16.5229, abs=1e-4)
