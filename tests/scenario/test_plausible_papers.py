"""The same doubtful numbers where they come from her papers: loading sheet, cross-curves, hull."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hull_file_samples import HULL, SHIP
from loading_samples import CURVES, scenario, with_curves
from scenario_samples import BASE, GZ
from test_scenario_plausible import REGULAR, SEA, gz_table, warned

from rollsim.scenario.load import loads

CARGO = "mass_t = 2400.0"
TWO = """
[[conditions]]
name = "full"
[[conditions]]
name = "light"
"ship.loading.weights.0.mass_t" = {}
"""
ROWS = CURVES[CURVES.index("kn_m = [") : CURVES.index("draught_m")]
HEELS = (0, 10, 20, 30, 40, 50, 60, 75, 90)
KN_TEXT = BASE[BASE.index("kn_m = [") : BASE.index("]\nkm_m") + 1]
WINDY = '[wind]\nspeed_mps = 50\nfrom = "port"\n[run]'


def rows(scale: float, kg: float = 0.0) -> str:
    """The sample's cross-curves in another unit, or as GZ for a KG [m]."""
    lines = [line.strip().strip("[],") for line in ROWS.splitlines() if line.startswith("    [")]
    table = [
        [
            round(scale * (float(kn) - kg * math.sin(math.radians(heel))), 3)
            for kn, heel in zip(line.split(","), HEELS, strict=True)
        ]
        for line in lines
    ]
    return with_curves().replace(ROWS, f"kn_m = {table}\n")


def edited(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return text


SHEET = scenario()
DOUBTS = {
    "a gyradius of masses": (
        edited(
            SHEET,
            ("gyradius_m = 5.3", "from_masses = { water_share = 0.2 }"),
            (CARGO, f"{CARGO}\nbreadth_m = 40.0\ntall_m = 6.0"),
        ),
        "from_masses",
        ("outside the usual 0.25 to 0.55 of the beam, got 0.7", "common practice"),
    ),
    "a displacement of the sheet": (
        edited(SHEET, (CARGO, "mass_t = 24.0"), ("mass_t = 1480.0", "mass_t = 300.0")),
        "[ship.loading]",
        ("ship.displacement_t: gives a block coefficient", "got 0.11", "0.4 to 0.85"),
    ),
    "a displacement of one condition": (
        SHEET + TWO.format(900.0),
        '"ship.loading.weights.0.mass_t" = 900.0',
        ("by -35 % at the same draught", 'for condition = "light"', "below 10 % is usual"),
    ),
    "a G above the deck": (
        edited(SHEET, ("height_m = 4.6", "height_m = 15.0")),
        "[ship.loading]",
        ("ship.gravity.kg_m: is higher than 1.2 times the depth (9.72 m), got ", "0.5 to 0.9"),
    ),
    "KN that is GZ beside a sheet": (
        edited(SHEET, (KN_TEXT, f"kn_m = {GZ}"), ("km_m = 5.659\n", "")),
        "kn_m",
        ("puts the metacentre below half of KG", '"gz"'),
    ),
    "a start past vanishing": (
        edited(SHEET, ("roll_deg = 0.0", "roll_deg = 75")),
        "roll_deg = 75",
        ("past the vanishing angle on that side (5", "statics"),
    ),
    "windage far above": (
        edited(SHEET, ("windage_height_m = 9.0", "windage_height_m = 90.0")),
        "windage_height_m",
        ("is not between the keel and 20.2 m, got 90 (timber)", "common practice"),
    ),
    "a light ship's G": (
        edited(SHEET, ("height_m = 6.10", "height_m = 61.0")),
        "lightship",
        ("is 7.5 of the depth, got 61", "usually 0.4 to 1.1"),
    ),
    "cross-curves in centimetres": (
        rows(100.0),
        "kn_m",
        ("the deck's edge (10.7 m), got 490 (row 1, 3000 t); likewise in 3 more", "geometry"),
    ),
    "cross-curves of GZ": (
        rows(1.0, kg=5.3),
        "kn_m",
        ("puts the metacentre below half of KG", "likewise in 3 more of the curves", "geometry"),
    ),
    "KM against cross-curves": (
        edited(
            with_curves(), ("draught_m = [3.9", "km_m = [7.1, 5.8, 5.7, 5.6]\ndraught_m = [3.9")
        ),
        "km_m",
        ("table's own KM, 6.104 m by its row at 10°, got 7.1 (row 1, 3000 t)", "geometry"),
    ),
    "one draught for all displacements": (
        edited(with_curves(), ("[3.9, 4.5, 5.2, 5.95]", "[5.2, 5.2, 5.2, 5.2]"))
        + TWO.format(1400.0),
        '"ship.loading.weights.0.mass_t" = 1400.0',
        ("at the same draught: the block coefficient goes from", 'condition = "light"'),
    ),
    "a start past vanishing by cross-curves": (
        edited(with_curves(), ("roll_deg = 0.0", "roll_deg = 75")),
        "roll_deg = 75",
        ("past the vanishing angle on that side (50.4°), got 75",),
    ),
    "a gyradius over a hull's beam": (
        edited(SHIP, ("gyradius_m = 5.3", "gyradius_m = 0.38")),
        "gyradius_m",
        ("of the beam, got 0.0271", "beam_fraction = 0.38"),
    ),
    "a G above a hull's deck": (
        edited(SHIP, ("kg_m = 5.0", "kg_m = 15.0")),
        "kg_m",
        ("is higher than 1.2 times the depth", "got 15"),
    ),
    "a start past a hull's vanishing angle": (
        SHIP + "[start]\nroll_deg = 88\n",
        "roll_deg",
        ("past the vanishing angle on that side (74.5°), got 88",),
    ),
    "a hull in radians": (
        edited(SHIP, ('hull.toml"', 'hull.toml"\nheel_max_deg = 1.57')),
        "heel_max_deg",
        ("looks like radians, got 1.57", "60 or 90"),
    ),
    "a weight off a hull": (
        SHIP + '[[events]]\nkind = "move-weight"\nmass_t = 10\nacross_m = 20\nat_s = 1\n',
        "across_m",
        ("further than the beam (14 m), got 20", "geometry"),
    ),
    "windage over a hull's depth": (
        edited(
            SHIP,
            ("[ship.inertia]", "[ship.windage]\narea_m2 = 500\nlever_m = 12\n[ship.inertia]"),
            ("[run]", WINDY),
        ),
        "lever_m",
        ("is more than the depth", "got 12", "0.5 to 1 of the depth"),
    ),
}


@pytest.mark.parametrize("name", DOUBTS)
def test_a_doubt_is_told_whatever_paper_the_number_comes_from(name: str, tmp_path: Path) -> None:
    """Once, with its figure, its usual range or source, and at the line that is to be looked at."""
    text, place, words = DOUBTS[name]
    (tmp_path / "barge-hull.toml").write_text(HULL)
    warnings = loads(text, "a.toml", tmp_path).warnings
    (told,) = [warning for warning in warnings if words[0] in warning]
    for word in words:
        assert word in told
    line = int(told.split(":")[1])
    assert place in text.splitlines()[line - 1]


def test_gz_in_centimetres() -> None:
    (warning,) = [w for w in warned(gz_table(gz=[100.0 * gz for gz in GZ])) if "deck's edge" in w]
    assert "gz_m." in warning
    assert "is with KG sin φ longer than from the keel" in warning


def test_regular_waves_that_an_event_makes_steep() -> None:
    event = '[[events]]\nkind = "change"\nkey = "sea.height_m"\nat_s = 1\nover_s = 20\nto = 15\n'
    text = BASE[: BASE.index("[[events]]")] + event + "[run]\nduration_s = 100\n"
    (warning,) = warned(text.replace(SEA, REGULAR.format("2")))
    assert "events.0.to: is steeper than a wave can be before it breaks, 1/7" in warning
    assert "1/50 to 1/20 (common practice)" in warning
