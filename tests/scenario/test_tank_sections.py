"""Tanks by sections in a scenario: what follows from them, and what is wrong or doubtful."""

from __future__ import annotations

from pathlib import Path

import pytest
from hull_file_samples import HULL, SHIP
from loading_samples import LOADING, scenario

from rollsim.errors import InputError
from rollsim.scenario.load import Study, load, loads
from rollsim.scenario.schema.hull_file import hull_of
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship.tanks.room import outside

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BOX = "box_m = { aft = 30.0, fore = 42.0, port = -6.5, starboard = 0.0, bottom = 0.0, top = 1.2 }"
RING = "[[-6.5, 0.0], [0.0, 0.0], [0.0, 1.2], [-6.5, 1.2]]"
AFT = f"{{ along_m = 30.0, outline_m = {RING} }}"
FORE = f"{{ along_m = 42.0, outline_m = {RING} }}"
PORT = f"sections = [\n  {AFT},\n  {FORE},\n]"


def with_sections(sections: str = PORT, more: str = "") -> Study:
    return loads(scenario(LOADING.replace(BOX, sections, 1), more))


def test_a_box_by_sections_makes_the_ship_of_the_box() -> None:
    one, other = loads(scenario()).base.ship, with_sections().base.ship
    assert other.displacement_t == pytest.approx(one.displacement_t, abs=1e-9)
    for key in ("kg_m", "off_centre_m", "free_surface_m"):
        values = [getattr(each.gravity, key) for each in (one, other)]
        assert values[0] == pytest.approx(values[1], abs=1e-9)
    assert with_sections().warnings == loads(scenario()).warnings


def test_fillings_and_sections_may_be_swept() -> None:
    axes = '[sweep]\n"ship.loading.tanks.0.filling_percent" = [0.0, 50.0, 100.0]\n'
    tonnes = [each.scenario.ship.displacement_t for each in with_sections(more=axes).cases]
    assert tonnes[2] - tonnes[1] == pytest.approx(0.5 * 93.6 * 1.025)
    axes = '[sweep]\n"ship.loading.tanks.0.sections.1.along_m" = [42.0, 45.0]\n'
    ships = [each.scenario.ship for each in with_sections(more=axes).cases]
    assert ships[1].displacement_t - ships[0].displacement_t == pytest.approx(
        0.4 * 3.0 * 7.8 * 1.025
    )


def moved(old: str, new: str) -> str:
    assert old in PORT
    return PORT.replace(old, new, 1)


FAULTS = [
    ("", "must hold exactly one of box_m and sections; neither is given (port)"),
    (f"{BOX}\n{PORT}", "must hold exactly one of box_m and sections; both are given (port)"),
    (moved("[[-6.5, 0.0], [0.0, 0.0]", "[[0.0, 0.0], [-6.5, 0.0]"),
     "sections.0.outline_m: the outline is not closed: the last point joins the first"),
    (moved("[[-6.5, 0.0], [0.0, 0.0], [0.0, 1.2]", "[[-6.5, 0.0], [0.0, 1.2], [0.0, 0.0]"),
     "sections.0.outline_m: the outline crosses itself"),
    (moved(RING, "[[-6.5, 0.0], [0.0, 0.0], [-3.0, 0.0]]"), "encloses no area: it is open (port)"),
    (moved("along_m = 42.0", "along_m = 29.0"),
     "sections.1.along_m: must not lie aft of the last, got 29 after 30 (port)"),
    (moved("along_m = 42.0", "along_m = 30.0"), "the section at 30 m is given twice (port)"),
    (f"sections = [{AFT}]", "sections: must hold at least 2, got 1 (port)"),
    (PORT.replace("-6.5", "0.0"), "sections: enclose no volume (port)"),
    (moved("along_m = 42.0", 'along_m = "42"'), "sections.1.along_m: must be a number"),
]  # fmt: skip


@pytest.mark.parametrize(("sections", "said"), FAULTS, ids=[each[1][:40] for each in FAULTS])
def test_faulty_sections_are_refused_in_words(sections: str, said: str) -> None:
    with pytest.raises(InputError, match=r"loading\.tanks\.0") as caught:
        with_sections(sections)
    assert said in str(caught.value)


def test_more_mass_than_the_sections_hold() -> None:
    loading = LOADING.replace(BOX, PORT, 1).replace("filling_percent = 40.0", "mass_t = 96.0")
    with pytest.raises(InputError, match=r"is more than the tank holds \(95\.94 t\), got 96"):
        loads(scenario(loading))


def test_sections_that_overlap_or_lie_beyond_the_box_round_the_hull() -> None:
    warned = with_sections(PORT.replace("0.0, 0.0], [0.0, 1.2", "1.0, 0.0], [0.0, 1.2")).warnings
    assert any('"starboard" overlaps "port"' in line for line in warned)
    # Only the corner at the bottom is drawn out, and what stands above it is drawn in as far.
    leaning = PORT.replace("0.0, 0.0], [0.0, 1.2", "1.0, 0.0], [-1.0, 1.2")
    other = LOADING.replace(BOX, leaning, 1).replace(
        BOX.replace("port = -6.5, starboard = 0.0", "port = 0.0, starboard = 6.5"),
        PORT.replace("[-6.5, 0.0], [0.0, 0.0], [0.0, 1.2], [-6.5, 1.2]",
                     "[1.0, 0.0], [6.5, 0.0], [6.5, 1.2], [-1.0, 1.2]"),
    )  # fmt: skip
    assert not any("overlaps" in line for line in loads(scenario(other)).warnings)
    warned = with_sections(PORT.replace("-6.5", "-7.5")).warnings
    assert any("lies outside the hull (-7 to 7 m), got -7.5 (port)" in line for line in warned)


def barge(tank: str) -> tuple[str, ...]:
    """What is warned of with a tank in the barge by her hull."""
    start = SHIP.index("displacement_t")
    tonnes = float(SHIP[start:].split("=")[1].split("\n")[0].split("#")[0])
    text = SHIP[:start] + SHIP[SHIP.index("\n", start) + 1 :]
    start = text.index("[ship.gravity]")
    end = text.index("[", start + 1)
    loading = (
        f"[ship.loading]\nlightship = {{ mass_t = {tonnes - 10.0}, height_m = 4.0 }}\n"
        f'[[ship.loading.tanks]]\nname = "wing"\nmass_t = 10.0\n{tank}\n'
    )
    text = text[:start] + loading + text[end:]
    return tuple(loads(f"{text}\n[files]\n\"barge-hull.toml\" = '''\n{HULL}'''\n").warnings)


def test_a_tank_is_held_against_the_sections_of_the_hull() -> None:
    inside = "box_m = { aft = 30.0, fore = 40.0, port = -6.9, starboard = -5.0, bottom = 2.0, " \
             "top = 7.0 }"  # fmt: skip
    assert not any("outside the hull" in line for line in barge(inside))
    out = "box_m = { aft = 30.0, fore = 40.0, port = -7.4, starboard = -5.0, bottom = 2.0, " \
          "top = 7.0 }"  # fmt: skip
    (told,) = (line for line in barge(out) if "outside the hull" in line)
    assert "tanks.0.box_m: lies outside the hull by up to 0.4 m, at 30 m along, " in told
    assert "7.4 m to port" in told


def test_the_tanks_of_the_shipped_coaster_lie_within_her() -> None:
    text = (SCENARIOS / "coaster-hull.toml").read_text(encoding="utf-8")
    hull = hull_of(NamedFile("coaster-hull.toml", text))
    for name in ("four-loadings", "papers-to-report"):
        loading = load(SCENARIOS / f"{name}.toml").base.ship.loading
        assert loading is not None
        for tank in loading.tanks:
            assert outside(tank.form.stations, hull.stations, hull.boxes) is None, tank.name
