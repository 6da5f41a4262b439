"""The hull file: what is read of it, and every fault with its line and what to do."""

from __future__ import annotations

import pytest
from hull_file_samples import HULL

from rollsim.errors import InputError
from rollsim.scenario.schema.hull_file import hull_in, hull_of
from rollsim.scenario.schema.hull_tables import MOST_POINTS, MOST_STATIONS
from rollsim.scenario.text.beside import NamedFile


def faults(text: str) -> list[str]:
    return [fault.text("h.toml") for fault in hull_in(NamedFile("h.toml", text)).faults]


def test_a_hull_is_read() -> None:
    hull = hull_of(NamedFile("h.toml", HULL))
    assert (hull.length, hull.beam, hull.depth, hull.symmetric) == (80.0, 14.0, 8.0, True)
    assert [opening.name for opening in hull.openings] == ["vent"]
    assert len(hull.stations) == 3
    assert hull_of(NamedFile("h.toml", HULL)) is hull


def test_a_closed_outline_may_repeat_its_first_point_and_run_either_way() -> None:
    shape = "[[-2, 0], [3, 0], [3, 4], [-2, 4], [-2, 0]]"
    turned = "[[-2, 4], [3, 4], [3, 0], [-2, 0]]"
    text = "format = 1\n" + "".join(
        f"[[stations]]\nalong_m = {i}\noutline_m = {each}\n"
        for i, each in ((0, shape), (9, turned))
    )
    hull = hull_of(NamedFile("h.toml", text))
    assert {len(station.outline) for station in hull.stations} == {4}
    assert hull.depth == 4.0
    assert not hull.symmetric


BOTH = "half_breadth_m = [0.0, 5.0, 7.0, 7.0]\nheight_m = [0.0, 0.0, 1.5, 8.0]"


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("format = 1", "format = 2", "h.toml:1:10: format: must be 1, got 2"),
        ("format = 1", "format = = 1", "h.toml:1:10: not TOML"),
        ("format = 1", "", "format: is missing"),
        ('name = "barge"', "nam = 'x'", "h.toml:2:1: nam: unknown key\n  did you mean name?"),
        ("along_m = 0.0", "", "h.toml:4:1: stations.0.along_m: is missing"),
        ("along_m = 0.0", "along_m = '0'", 'along_m: must be a number, got "0"'),
        ("along_m = 0.0", "along_m = nan", "along_m: must be a finite number, got nan"),
        ("along_m = 0.0", "along_m = 70.0", "stations.1.along_m: must not lie aft of the last"),
        ("along_m = 0.0", "along_m = 60.0", "station at 60 m is given twice"),
        ("along_m = 80.0", "along_m = 800.0", "stations: must reach over 0 to 600 m, got 800"),
        (f"along_m = 60.0\n{BOTH}", "along_m = 60.0", "must hold half_breadth_m and height_m, or"),
        ("[0.0, 5.0, 7.0, 7.0]", "[0.0, 5.0, 7.0]", "as long as height_m: 3 values for 4 heights"),
        ("[0.0, 5.0, 7.0, 7.0]", "[0.0, -5.0, 7.0, 7.0]", "half_breadth_m.1: must be at least 0"),
        ("[0.0, 0.0, 1.5, 8.0]", "[8.0, 1.5, 0.0, 0.0]", "down to 0 m: it is upside down"),
        (
            BOTH,
            "half_breadth_m = [0.0, 6.0, 6.0, 0.5]\nheight_m = [0.0, 5.0, 1.0, 8.0]",
            "half_breadth_m: the outline crosses itself: (0, 0) to (6, 5) and (6, 1) to (0.5, 8)",
        ),
        (BOTH, "outline_m = [[0, 0], [7, 0], [7, 8], [0, 8]]", "on one side of the centreline"),
        (BOTH, "outline_m = [[-7, 0], [7, 0], [-7, 0]]", "encloses no area: it is open"),
        (
            BOTH,
            "outline_m = [[0, 4], [7, 4], [7, 0], [-7, 0], [-7, 8], [8, 8], [8, 2]]",
            "the outline is not closed: the last point joins the first",
        ),
        (BOTH, "outline_m = [[0, 0], [7, 0]]", "outline_m: must hold at least 3 values"),
        ("aft = 2.0", "aft = 22.0", "aft must be less than fore, got 22 and 20"),
        ("aft = 2.0, ", "", "buoyant.0.box_m.aft: is missing"),
        ("bottom = 8.0", "bottom = 6.0", "buoyant.0.box_m: house: lies within the hull by"),
        (
            "fore = 20.0",
            "fore = 90.0",
            "house: lies far outside the hull along, 0 to 80 m, got 2 to 90",
        ),
        (
            "port = -5.0",
            "port = -15.0",
            "lies far outside the hull across, -7 to 7 m, got -15 to 5",
        ),
        ("bottom = 8.0, top = 10.5", "bottom = 18.0, top = 19.5", "lies far outside the hull up"),
        ("along_m = 10.0", "along_m = 100.0", "openings.0.along_m: lies outside the hull, 0 to"),
        ("across_m = 5.2", "across_m = 52", "lies far outside the hull of 14 m beam, got 52"),
        ('name = "vent"', "", "openings.0.name: is missing"),
    ],
)
def test_a_fault_is_told_with_its_place(old: str, new: str, told: str) -> None:
    assert old in HULL
    assert any(told in fault for fault in faults(HULL.replace(old, new, 1))), faults(
        HULL.replace(old, new, 1)
    )


def test_a_third_station_at_one_place() -> None:
    step = "[[stations]]\nalong_m = 0.0\nhalf_breadth_m = [{0}, {0}]\nheight_m = [0, 8]\n"
    text = "format = 1\n" + "".join(step.format(i) for i in (1, 2, 3)) + HULL[HULL.index("[[st") :]
    assert any("a third station at 0 m" in fault for fault in faults(text))


def test_boxes_overlap_and_names_stand_once() -> None:
    more = "[[buoyant]]\nbox_m = { aft = 10, fore = 30, port = -1, starboard = 1, bottom = 8, "
    text = f'{HULL}\n[[openings]]\nname = "vent"\nalong_m = 1\nacross_m = 0\nheight_m = 9\n'
    told = "\n".join(faults(text + more + "top = 9 }\n"))
    assert "buoyant.1.box_m: overlaps box 1" in told
    assert 'the name "vent" is already taken' in told


def test_hulls_have_a_bound() -> None:
    station = f"[[stations]]\nalong_m = 1\n{BOTH}\n"
    assert f"at most {MOST_STATIONS} values" in faults("format = 1\n" + station * 501)[0]
    long = ", ".join(["1"] * (MOST_POINTS + 1))
    assert f"at most {MOST_POINTS} values" in faults(HULL.replace("0.0, 5.0", long, 1))[0]


def test_all_faults_come_at_once_as_an_error() -> None:
    text = HULL.replace("format = 1", "format = 3").replace("along_m = 10.0", "along_m = true")
    with pytest.raises(InputError, match=r"h.toml:1:10: format") as told:
        hull_of(NamedFile("h.toml", text))
    assert len(told.value.faults) == 2
