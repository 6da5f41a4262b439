"""Doubtful values: each warned of with its figure, the usual range and its place; none refused."""

from __future__ import annotations

import math
import re

import pytest
from scenario_samples import BASE, GZ, GZ_KG, HEELS, KN, MARK

from rollsim.errors import InputError
from rollsim.scenario.load import loads

KN_TEXT = BASE[BASE.index("kn_m = [") : BASE.index("]\nkm_m") + 1]
LIMITS = BASE[BASE.index("[limits]") : BASE.index("[wind]")]
SEA = BASE[BASE.index("[sea]") : BASE.index("[start]")]
DAMPING = "linear_per_s = 0.012\nquadratic = 0.35\n"
REGULAR = '[sea]\nkind = "regular"\nheight_m = {}\nperiod_s = 8\n\n'

SOURCES = ("common practice", "(geometry)", "(statics)", "Beaufort")
"""Where a usual range comes from: each doubt names one of these."""

EDITS = [
    (
        "gyradius_m = 5.3",
        "gyradius_m = ¤0.38",
        "outside the usual 0.25 to 0.55 of the beam, got 0.0271",
        "beam_fraction = 0.38",
    ),
    ("gyradius_m = 5.3", "gyradius_m = ¤12", "of the beam, got 0.857", "0.35 to 0.45"),
    ("gyradius_m = 5.3", "beam_fraction = ¤0.8", "of the beam, got 0.8", "common practice"),
    ("gyradius_m = 5.3", "period_s = ¤2", "of the beam, got 0.0427", "2 s with a beam of 14 m"),
    (
        DAMPING,
        "critical_fraction = ¤5\n",
        "critical damping: she would creep back, not roll, got 5",
        "0.01 to 0.2",
    ),
    (
        f"[ship.damping]\n{DAMPING}",
        "¤[ship.damping]\n",
        "ship.damping: holds no damping at all",
        "0.02 to 0.1",
    ),
    (
        "displacement_t = 4250.0",
        "displacement_t = ¤501",
        "usual 0.3 to 0.95, got 0.08",
        "0.4 to 0.85",
    ),
    (
        "km_m = 5.659",
        "km_m = ¤6.659",
        "table's own KM, 5.657 m by its row at 5°, got 6.659",
        "within",
    ),
    (
        KN_TEXT,
        f"kn_m = [0, ¤{str(GZ[1:])[1:]}",
        "puts the metacentre below half of KG (5.3 m), got KM 0.",
        'kind "gz"',
    ),
    (
        KN_TEXT,
        f"kn_m = {[round(100 * kn, 1) for kn in KN]}".replace("454.2", "¤454.2"),
        "the deck's edge (10.7 m), got 454.2",
        "in centimetres",
    ),
    ("kg_m = 5.30", "kg_m = ¤12", "higher than 1.2 times the depth (9.72 m), got 12", "0.5 to 0.9"),
    (
        "linear_per_s = 0.012",
        "linear_per_s = ¤5",
        "is more than critical damping (7.06 times it): she would creep back, not roll, got 5",
        "0.01 to 0.2",
    ),
    (
        BASE[BASE.index("[[events]]") : BASE.index("[run]")],
        '[[events]]\nkind = "change"\nkey = "wind.speed_mps"\nat_s = 1\nto = ¤50\n\n',
        "events.0.to: is beyond the usual 40 m/s of a mean wind, got 50",
        "Beaufort",
    ),
    (
        "significant_height_m = 6.0\npeak_period_s = 11.0",
        "significant_height_m = ¤12\npeak_period_s = 8",
        "1/10 of the wave length (99.9 m), got 12",
        "1/40 to 1/15",
    ),
    (
        "significant_height_m = 6.0\npeak_period_s = 11.0",
        "significant_height_m = ¤12\nzero_crossing_period_s = 6",
        "1/10 of the wave length (111 m), got 12",
        "common practice",
    ),
    (
        SEA,
        REGULAR.format("¤15"),
        "before it breaks, 1/7 of the wave length (99.9 m), got 15",
        "1/50",
    ),
    (
        "speed_mps = 24.0",
        "speed_mps = ¤50",
        "beyond the usual 40 m/s of a mean wind, got 50",
        "knots",
    ),
    (
        'excitation = "relative"',
        'excitation = "relative"\nramp_s = ¤60',
        "longer than settle_s (0 s), got 60",
        "grows",
    ),
    ("roll_deg = 0.0", "roll_deg = ¤75", "past the vanishing angle on that side (", "goes on over"),
    (
        "lever_m = 6.4",
        "lever_m = ¤8.5",
        "is more than the depth (8.1 m), got 8.5",
        "lateral resistance",
    ),
    ("across_m = 2.0", "across_m = ¤20", "further than the beam (14 m), got 20", "side to side"),
    ("heading_deg = 90.0", "heading_deg = ¤180", "they do nothing, got 180", "outside the model"),
    (
        "heading_deg = 90.0",
        "heading_deg = ¤0",
        "gives the waves no slope across her",
        "levers_in_waves",
    ),
    (
        BASE[BASE.index("[[events]]") : BASE.index("[run]")],
        '[[events]]\nkind = "add-weight"\nat_s = 1\nmass_t = 2\nheight_m = 3\nacross_m = ¤8\n',
        "lies beyond the ship's side (7 m), got 8",
        "off the centreline",
    ),
]


def warned(marked: str) -> tuple[str, ...]:
    return loads(marked.replace(MARK, ""), "a.toml").warnings


@pytest.mark.parametrize(("old", "new", "said", "hint"), EDITS, ids=[edit[2] for edit in EDITS])
def test_a_doubtful_value_is_warned_of_at_its_place(
    old: str, new: str, said: str, hint: str
) -> None:
    assert warned(BASE) == ()
    assert old in BASE
    marked = BASE.replace(old, new, 1)
    before = marked.partition(MARK)[0]
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    warnings = [warning for warning in warned(marked) if said in warning]
    assert len(warnings) == 1, warned(marked)
    assert warnings[0].startswith(f"a.toml:{line}:{column}: ")
    assert hint in warnings[0]
    assert "usual" in warnings[0] or "more than" in warnings[0] or "Beaufort" in warnings[0]
    assert any(source in warnings[0] for source in SOURCES)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("gyradius_m = 5.3", "gyradius_m = 7.6"),
        (DAMPING, "critical_fraction = 0.9\n"),
        (DAMPING, "cubic_s = 0.1\n"),
        (DAMPING, "extinction = { b_per_deg = 0.01 }\n"),
        ("heading_deg = 90.0", "heading_deg = 170"),
        ('excitation = "relative"', 'excitation = "relative"\nramp_s = 60'),
        (SEA, REGULAR.format("13")),
        ("roll_deg = 0.0", "roll_deg = -50"),
        ("speed_mps = 24.0", "speed_mps = 39"),
    ],
)
def test_a_usual_value_is_not(old: str, new: str) -> None:
    text = BASE.replace(old, new, 1)
    assert warned(text.replace("settle_s = 0.0", "settle_s = 60.0")) == ()


def test_head_seas_act_on_levers_in_waves() -> None:
    text = BASE.replace("heading_deg = 90.0", "heading_deg = 180")
    waves = "[ship.levers_in_waves]\ngm_per_m = -0.05\n[ship.gravity]"
    assert warned(text.replace("[ship.gravity]", waves)) == ()


def with_levers(levers: str) -> str:
    head, _, rest = BASE.partition("[ship.levers]\n")
    return f"{head}[ship.levers]\n{levers}\n{rest[rest.index('[ship.gravity]') :]}"


def gz_table(*, kg: float = GZ_KG, gm: float | None = 0.359, gz: list[float] = GZ) -> str:
    slope = "" if gm is None else f"gm_m = {gm}\n"
    return with_levers(f'kind = "gz"\nheel_deg = {HEELS}\ngz_m = {gz}\nkg_m = {kg}\n{slope}')


def test_gz_tables() -> None:
    assert warned(gz_table()) == ()
    slope = next(warning for warning in warned(gz_table(gm=0.9)) if "own GM" in warning)
    assert "the table's own GM, 0.3557 m by its row at 5°, got 0.9" in slope
    assert "another KG?" in slope
    (other,) = warned(gz_table().replace("kg_m = 5.30", "kg_m = 7.3"))
    assert "gravity.kg_m: is far from the KG that GZ was drawn for (5.3 m), got 7.3" in other


def test_without_a_slope_the_rounding_is_told() -> None:
    (warning,) = warned(gz_table(gm=None))
    assert "ship.levers.gz_m: is rounded to 0.001 m, which can move GM by 0.0" in warning
    assert "give gm_m to fix it" in warning


def test_heels_in_radians() -> None:
    heels = [round(math.radians(h), 3) for h in HEELS]
    text = BASE.replace(str(HEELS), str(heels)).replace(LIMITS, "")
    assert any(
        "heel_deg: ends at a heel that looks like radians, got 1.571" in w for w in warned(text)
    )


def test_limits_past_heels_in_radians_say_so() -> None:
    text = BASE.replace(str(HEELS), str([round(math.radians(h), 3) for h in HEELS]))
    with pytest.raises(InputError, match="are the heels of the levers in radians"):
        loads(text)


def test_the_vanishing_angle_is_that_of_the_side() -> None:
    text = BASE.replace("off_centre_m = 0.0", "off_centre_m = 0.05")
    angles = []
    for roll in (75, -75):
        (warning,) = warned(text.replace("roll_deg = 0.0", f"roll_deg = {roll}"))
        angles.append(float(re.findall(r"\(([\d.]+)°\)", warning)[0]))
    assert angles[0] < angles[1] - 2.0


def test_free_surfaces_bring_the_vanishing_angle_nearer() -> None:
    text = BASE.replace("roll_deg = 0.0", "roll_deg = 50")
    assert warned(text) == ()
    (warning,) = warned(text.replace("free_surface_m = 0.0", "free_surface_m = 0.2"))
    assert "past the vanishing angle on that side (4" in warning


@pytest.mark.parametrize(("roll", "past"), [(50, False), (69, False), (72, True)])
def test_the_vanishing_angle_is_where_the_lever_is_lost_for_good(roll: int, past: bool) -> None:
    levers = 'kind = "gz"\nheel_deg = [0, 10, 20, 30, 40, 50, 60, 70, 80]\nkg_m = 5.3\n'
    text = with_levers(levers + "gz_m = [0, 0.2, 0.3, 0.1, -0.1, 0.1, 0.3, 0.0, -0.3]\n")
    warnings = warned(text.replace(LIMITS, "").replace("roll_deg = 0.0", f"roll_deg = {roll}"))
    assert any("vanishing angle" in warning for warning in warnings) is past


def test_km_fits_a_table_with_its_first_row_at_twenty_degrees() -> None:
    kn = [
        round((5.66 + 1.7 * math.tan(math.radians(h)) ** 2) * math.sin(math.radians(h)), 3)
        for h in (0, 20, 40, 60)
    ]
    text = with_levers(f'kind = "kn"\nheel_deg = [0, 20, 40, 60]\nkn_m = {kn}\nkm_m = 5.66\n')
    assert not any("own KM" in warning for warning in warned(text.replace(LIMITS, "")))


def test_each_condition_is_named() -> None:
    text = "".join(
        f"[[conditions]]\nname = '{name}'\n'ship.displacement_t' = {mass}\n"
        for name, mass in (("full", 4250), ("half", 3000.0), ("light", 2900.0))
    )
    (half, light) = warned(BASE + text)
    assert "ship.displacement_t: changes the displacement by -29 % at the same draught" in half
    assert "goes from 0.68 to 0.48" in half
    assert 'for condition = "half"; give the condition its draught_m too' in half
    assert 'for condition = "light"' in light
    draught = text.replace("= 3000.0", "= 3000.0\n'ship.draught_m' = 4").replace("2900.0", "4200")
    assert warned(BASE + draught) == ()


def test_a_doubt_shared_by_conditions_is_told_once_and_names_them() -> None:
    conditions = "".join(f"[[conditions]]\nname = '{name}'\n" for name in "abcdefg")
    text = BASE.replace("speed_mps = 24.0", "speed_mps = 50.0") + conditions
    (warning,) = warned(f'{text}\n[sweep]\n"ship.gravity.kg_m" = [5.2, 5.3]\n')
    assert 'in 14 cases, of the conditions "a", "b", "c", "d", "e" and 2 more; ' in warning


def test_a_doubt_of_a_sweep_is_told_once() -> None:
    (warning,) = warned(f'{BASE}[sweep]\n"wind.speed_mps" = [20, 45, 50.0]\n')
    assert "got 45" in warning
    assert "in 2 cases, the first speed = 45; " in warning


def test_names_that_differ_by_a_space() -> None:
    text = "[[conditions]]\nname = 'deck cargo'\n[[conditions]]\nname = 'Deck  cargo'\n"
    (warning,) = warned(BASE + text)
    assert 'conditions.1.name: "Deck  cargo" differs from "deck cargo" by spaces' in warning


def test_a_bend_names_condition_row_and_heel() -> None:
    text = f"{BASE}[[conditions]]\nname = 'typed'\n'ship.levers.km_m' = 5.3\n"
    bends = [warning for warning in warned(text) if "bends" in warning]
    assert len(bends) == 1
    assert "where the table does not (row 2, heel 5°)" in bends[0]
    assert 'for condition = "typed"' in bends[0]


def test_warnings_beyond_a_screen_are_counted() -> None:
    text = "".join(
        f"[[conditions]]\nname = 'c{i}'\n'ship.displacement_t' = {3000 - i}\n" for i in range(80)
    )
    warnings = warned(BASE + text)
    assert len(warnings) == 51
    assert warnings[-1] == "a.toml: and 30 more warnings"
