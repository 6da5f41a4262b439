"""A scenario whose levers are her hull: what follows from it, and what is refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hull_file_samples import HULL, SHIP

from rollsim.errors import InputError
from rollsim.scenario.load import Study, load, loads
from rollsim.scenario.schema.hull_file import hull_of
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.levers import levers_of
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship.hull.curves import Curves
from rollsim.ship.metacentre import buoyancy, metacentre


def study(text: str = SHIP, hull: str = HULL) -> Study:
    return loads(f"{text}\n[files]\n\"barge-hull.toml\" = '''\n{hull}'''\n", "a.toml")


def refusal(text: str = SHIP, hull: str = HULL) -> str:
    with pytest.raises(InputError, match=r"a\.toml") as told:
        study(text, hull)
    return str(told.value)


def curves(displacement: float) -> Curves:
    return Curves(hull_of(NamedFile("h.toml", HULL)), np.array([displacement]))


def test_her_sizes_follow_from_the_hull(tmp_path: Path) -> None:
    (tmp_path / "barge-hull.toml").write_text(HULL)
    (tmp_path / "barge.toml").write_text(SHIP)
    whole = load(tmp_path / "barge.toml")
    ship = whole.base.ship
    upright = curves(4000.0).hydrostatics
    assert (ship.length_m, ship.beam_m, ship.depth_m) == (80.0, 14.0, 8.0)
    assert ship.draught_m == upright.draught[0]
    (tmp_path / "barge-hull.toml").unlink()
    assert loads(whole.text).base.ship == ship


def test_a_size_that_is_given_stands() -> None:
    ship = study(SHIP.replace("displacement_t", "length_m = 78.0\ndisplacement_t")).base.ship
    assert (ship.length_m, ship.beam_m) == (78.0, 14.0)


def test_every_case_floats_at_its_own_draught() -> None:
    sweep = '[sweep]\n"ship.displacement_t" = [3000.0, 5000.0]\n'
    trims = '"ship.levers.trim" = "fixed"\n'
    cases = study(f'{SHIP}{sweep}[[conditions]]\nname = "a"\n[[conditions]]\nname = "b"\n{trims}')
    for case in cases.cases:
        ship = case.scenario.ship
        upright = curves(ship.displacement_t).hydrostatics
        assert ship.draught_m == pytest.approx(upright.draught[0], abs=1e-12)
        assert isinstance(ship.levers, HullLevers)
        assert ship.levers.trim == ("fixed" if case.condition == "b" else "free")
        assert levers_of(ship.own_levers).slope(0.0) == pytest.approx(upright.km[0], abs=1e-9)


def test_one_case_takes_another_hull_by_its_file() -> None:
    deeper = HULL.replace("8.0]", "9.0]").replace("bottom = 8.0", "bottom = 9.0")
    text = f'{SHIP}[sweep]\n"ship.levers.file" = ["barge-hull.toml", "b-hull.toml"]\n'
    both = f"\"barge-hull.toml\" = '''\n{HULL}'''\n\"b-hull.toml\" = '''\n{deeper}'''\n"
    cases = loads(f"{text}[files]\n{both}").cases
    assert [case.scenario.ship.depth_m for case in cases] == [8.0, 9.0]
    assert [case.coordinates["file"] for case in cases] == ["barge-hull.toml", "b-hull.toml"]


def test_b_and_m_from_her_levers_are_those_of_the_geometry() -> None:
    """The table of KN goes through a spline: what that costs at the default step."""
    levers = study().base.ship.own_levers
    own, heel = levers_of(levers), np.radians(np.arange(0.0, 86.0, 5.0))
    states = curves(4000.0).at(heel)[0, 0]
    c, s = np.cos(heel), np.sin(heel)
    kb = levers.height_of_buoyancy
    assert kb is not None
    y, z = buoyancy(own, heel, kb)
    np.testing.assert_allclose(y, states[:, 3] * c - states[:, 5] * s, atol=2e-4)
    np.testing.assert_allclose(z, states[:, 3] * s + states[:, 5] * c, atol=2e-4)
    height = metacentre(own, heel)[1]
    smooth = np.abs(heel - math.radians(25.0)) > math.radians(10.0)
    np.testing.assert_allclose(
        height[smooth], (states[:, 3] * s + states[:, 4] * c)[smooth], atol=0.02
    )


def test_a_lopsided_hull_has_levers_of_both_sides() -> None:
    house = "port = -5.0, starboard = 5.0"
    levers = study(hull=HULL.replace(house, "port = -5.0, starboard = -1.0")).base.ship.own_levers
    own = levers_of(levers)
    assert own.heel_min == -own.heel_max
    assert abs(float(own.kn(1.2) + own.kn(-1.2))) > 0.05


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"barge-hull.toml"', '"other.toml"', 'file: "other.toml": is not in the table [files]'),
        ('"barge-hull.toml"', "3", "levers.file: must be the name of a file in quotes, got 3"),
        ("= 4000.0", "= 40000.0", "displaces 40000 t, and the closed hull holds"),
        ("displacement_t = 4000.0", "", "ship.displacement_t: is missing"),
        ('kind = "hull"', 'kind = "hull"\nheel_max_deg = 190', "must be at most 180°, got 190"),
        ('kind = "hull"', 'kind = "hull"\ntrim = "level"', 'must be "free" or "fixed"'),
        ("displacement_t", "draught_m = -1.0\ndisplacement_t", "must be above 0 m, got -1"),
    ],
)
def test_what_is_refused(old: str, new: str, told: str) -> None:
    message = refusal(SHIP.replace(old, new, 1))
    assert told in message
    assert ("is missing" in message) is ("is missing" in told)


def test_faults_of_the_hull_are_told_with_their_own_lines() -> None:
    message = refusal(hull=HULL.replace("along_m = 60.0", "along_m = -60.0"))
    told = "a.toml:7:8: ship.levers.file: barge-hull.toml:10:11: stations.1.along_m: must not lie"
    assert told in message
    assert "stations go from aft to fore" in message
    assert "is missing" not in message


def test_no_volume_below_the_draught() -> None:
    raised = HULL.replace("[0.0, 0.0, 1.5, 8", "[3.0, 3.0, 3.5, 8")
    message = refusal(SHIP.replace("displacement_t", "draught_m = 2.0\ndisplacement_t"), raised)
    assert "draught_m: the hull has no volume below it, got 2 m" in message


def test_another_draught_than_the_hulls_is_doubted() -> None:
    (told,) = [
        words
        for words in study(
            SHIP.replace("displacement_t", "draught_m = 5.5\ndisplacement_t")
        ).warnings
        if "draught" in words
    ]
    assert "is not the hull's at 4000 t" in told


LIGHT = "[ship.loading]\nlightship = { mass_t = 4000.0, height_m = 5.0, along_m = "
WAYS = ((38.0, None), (30.0, "by the stern"), (50.0, "by the bow"))


@pytest.mark.parametrize(("along", "way"), WAYS)
def test_a_great_trim_is_doubted(along: float, way: str | None) -> None:
    text = SHIP.replace("displacement_t = 4000.0\n", "")
    text = text.replace("[ship.gravity]\nkg_m = 5.0\n", f"{LIGHT}{along} }}\n")
    told = [words for words in study(text).warnings if "trims her" in words]
    assert len(told) == (way is not None)
    for words in told:
        assert f"m {way}, G {along:g} m forward of the after end" in words
        assert "look at along_m of the masses" in words


def test_more_errors_than_are_told_are_counted_with_them() -> None:
    station = "[[stations]]\nalong_m = -1.0\nhalf_breadth_m = [1.0, 0.5]\nheight_m = [8.0, 0.0]\n"
    message = refusal(hull=HULL + station * 30)
    assert "more errors in this file" in message
    assert "and 1 more error" not in message
