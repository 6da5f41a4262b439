"""Pictures and tables of basins and steady responses show the numbers of their files."""

from __future__ import annotations

import io
import json
from itertools import pairwise

import numpy as np
import pytest
from map_samples import basin, equilibria, heel_causes, response
from matplotlib.colors import to_rgb
from rich.console import Console

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.map_names import BranchEnd
from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.figures.basin import PORT, STARBOARD, picture
from rollsim.show.figures.equilibria import equilibria_figure
from rollsim.show.figures.heel_cause import NAMES, heel_cause_figure
from rollsim.show.figures.integrity import integrity_figure
from rollsim.show.figures.response import response_figure
from rollsim.show.query import basins, responses
from rollsim.show.tables.basin import basin_json, basin_table
from rollsim.show.tables.equilibria import equilibria_json, equilibria_table
from rollsim.show.tables.heel_cause import heel_cause_table
from rollsim.show.tables.response import response_json, response_table


def printed(table: object) -> str:
    console = Console(width=120, file=io.StringIO())
    console.print(table)
    text = console.file
    assert isinstance(text, io.StringIO)
    return " ".join(text.getvalue().split())


def lightness(colours: np.ndarray) -> np.ndarray:
    """Of colours as a grey print shows them."""
    return np.asarray(colours @ [0.299, 0.587, 0.114])


def test_outcomes_are_told_apart_in_grey() -> None:
    """Each class has a band of lightness of its own, the graver the darker."""
    ds = basin(outcomes=True)
    grey = lightness(picture(ds, 0, (5.0, 60.0)))
    outcome = ds["outcome"].values[0]
    bands = []
    for code in (Outcome.CAPSIZED, Outcome.FLOODED, Outcome.ROLL_LIMIT, Outcome.SURVIVED):
        here = grey[outcome == code]
        assert here.size
        bands.append((here.min(), here.max()))
    for darker, lighter in pairwise(bands):
        assert darker[1] < lighter[0]


def test_two_wells_are_two_tints_of_safe_in_grey_too() -> None:
    ds = basin(wells=True)
    image, well = picture(ds, 0, (5.0, 60.0)), ds["well"].values[0]
    assert np.all(image[well == -1] == to_rgb(PORT))
    assert np.all(image[well == 1] == to_rgb(STARBOARD))
    port, starboard = (float(lightness(np.array(to_rgb(c)))) for c in (PORT, STARBOARD))
    assert starboard - port > 0.1


def test_sooner_is_darker() -> None:
    ds = basin()
    grey = lightness(picture(ds, 0, (15.0, 40.0)))
    time, lost = ds["failure_time"].values[0], ds["outcome"].values[0] == Outcome.CAPSIZED
    order = np.argsort(time[lost])
    assert np.all(np.diff(grey[lost][order]) >= -1e-12)


def test_a_great_map_is_drawn_from_a_part_of_its_starts() -> None:
    small = basin()
    ds = small.isel(roll=np.repeat(np.arange(61), 60), roll_rate=np.repeat(np.arange(41), 60))
    assert max(picture(ds, 0, (5.0, 60.0)).shape) <= 2000


def test_the_profile_and_where_it_falls_off() -> None:
    ds = basin(5)
    (line,) = basins.profiles(ds, "height")
    area = ds["safe_area"].values
    assert line.share == pytest.approx(area / area[0])
    below = int(np.argmax(line.share < 0.9))
    assert line.x[below - 1] < line.falls <= line.x[below]
    assert line.bracket == (line.x[below - 1], line.x[below])
    assert line.melnikov == pytest.approx(2.5)
    figure = integrity_figure(ds, "height")
    drawn = figure.axes[0].get_lines()
    assert "between 1 and 2 m\n(1." in str(drawn[1].get_label())
    assert str(drawn[2].get_label()).endswith("2.5 m")
    assert drawn[0].get_ydata() == pytest.approx(100.0 * line.share)
    assert np.asarray(drawn[1].get_xdata())[0] == pytest.approx(line.falls)
    assert np.asarray(drawn[1].get_ydata())[0] == pytest.approx(90.0)


def test_the_tables_of_a_basin() -> None:
    ds = basin(5, wells=True)
    rows = json.loads(json.dumps(basin_json(ds)))
    assert [row["height_m"] for row in rows] == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert rows[0]["starts"] == rows[0]["survived"] + rows[0]["capsized"] == 61 * 41
    assert rows[0]["ends_to_port"] + rows[0]["ends_to_starboard"] == rows[0]["survived"]
    assert rows[0]["falls_off"][0]["melnikov_at"] == pytest.approx(2.5)
    assert rows[0]["melnikov_height_between_m"] is None
    text = printed(basin_table(ds))
    assert "Melnikov's estimate is passed at 2.5 m" in text
    assert "falls below nine tenths of its greatest between 1 and 2 m (1." in text
    assert "by a straight line)" in text
    assert rows[0]["falls_off"][0]["falls_off_between"] == [1.0, 2.0]
    assert "wave" not in text[: text.index("Over ")]
    single = printed(basin_table(basin()))
    assert "wave" in single[: single.index("Safe: ")]
    assert CAUTION in text
    assert LOLL_WARNING in text
    assert LOLL_WARNING not in printed(basin_table(basin()))


def test_the_lines_of_a_response() -> None:
    ds = response()
    curve, double = responses.curves(ds, 0)
    assert (curve.ratio, double.ratio) == (1, 2)
    assert double.ends == (BranchEnd.JOINED, BranchEnd.CAPSIZE)
    assert (curve.island, double.island) == (False, True)
    axes = response_figure(ds).axes[0]
    solid = {style.COLOURS[0], style.COLOURS[2]}
    lines = [line for line in axes.get_lines() if line.get_color() in solid]
    drawn = [len(np.asarray(line.get_xdata())) for line in lines if line.get_linestyle() == "-"]
    dashed = [len(np.asarray(line.get_xdata())) for line in lines if line.get_linestyle() != "-"]
    stable = int(np.count_nonzero(curve.stable)) + 20
    # Neighbouring pieces share a point.
    assert stable <= sum(drawn) <= stable + len(drawn)
    assert sum(dashed) >= np.count_nonzero(~curve.stable)
    marked = [line for line in axes.get_lines() if line.get_marker() == "^"]
    assert np.asarray(marked[0].get_xdata()).tolist() == [10.5, 11.0]


def test_the_tables_of_a_response() -> None:
    (row,) = json.loads(json.dumps(response_json(response(heeled=True))))
    assert row["key"] == "sea.period_s"
    assert [branch["period_ratio"] for branch in row["branches"]] == [1, 2]
    assert row["branches"][1]["ends"] == ["joined", "capsize"]
    assert row["branches"][1]["found_by"] == "grid_of_starts"
    assert [branch["island"] for branch in row["branches"]] == [False, True]
    assert row["not_followed"] == 2
    assert row["folds"][0] == {"value": 10.5, "roll_amplitude_deg": 5.0}
    text = printed(response_table(response(heeled=True)))
    assert "folds at 10.5 s (5.0°), 11 s (12.0°)" in text
    assert "period doubles at" in text
    assert "branch 1 ends at 10.4 s (16.4°): she reaches the capsize angle" in text
    words = " ".join(text.split())
    assert "branch 1 is an island: no branch from calm water leads to it in this range" in words
    assert "2 flips, crossings, states or ways from calm water from which no branch" in words
    assert CAUTION in text
    assert LOLL_WARNING in text


def test_the_lines_of_a_map_of_equilibria() -> None:
    ds = equilibria(4)
    figure = equilibria_figure(ds)
    first = figure.axes[0]
    blue = [line for line in first.get_lines() if line.get_color() == style.COLOURS[0]]
    assert {line.get_linestyle() for line in blue} == {"-"}, "loll alone is stable everywhere"
    off = [line for line in figure.axes[3].get_lines() if line.get_color() == style.COLOURS[0]]
    assert {line.get_linestyle() for line in off} == {"-", "--"}
    star = [line for line in first.get_lines() if line.get_marker() == "*"]
    assert star[0].get_xdata() == pytest.approx([5.9])
    folds = figure.axes[4]
    marked = [line for line in folds.get_lines() if line.get_marker() == "^"]
    assert np.asarray(marked[0].get_ydata()) == pytest.approx(ds["fold_value"].values[1:, 0])
    line = folds.get_lines()[0]
    assert np.asarray(line.get_xdata()) == pytest.approx([0.0, 0.01, 0.02, 0.03])
    assert np.asarray(line.get_ydata())[0] == pytest.approx(5.66)


def test_the_tables_of_a_map_of_equilibria() -> None:
    ds = equilibria(2)
    rows = json.loads(json.dumps(equilibria_json(ds)))
    assert rows[0]["branchings"] == [{"value": 5.66, "heel_deg": 0.0}]
    assert rows[0]["folds"] == []
    assert rows[1]["folds"][0]["heel_deg"] == pytest.approx(-8.496, abs=1e-3)
    text = printed(equilibria_table(ds))
    assert "branches cross at 5.66 m (+0.0°)" in text
    assert rows[0]["branches"][0]["ends"] == ["range", "levers"]
    assert text.count(": the levers end") == 2
    assert text.count(": its step became too small to go on") == 2
    assert CAUTION in text
    assert LOLL_WARNING in text


def test_the_bars_of_a_heel_cause_hold_all_that_is_likely() -> None:
    rows, states = heel_causes()
    axes = heel_cause_figure("Why?", rows, states).axes[0]
    drawn = [patch.get_data() for patch in axes.patches]  # type: ignore[attr-defined]
    for i, (name, bars) in enumerate(zip(NAMES, drawn, strict=True)):
        area = float(np.sum((bars.values - bars.baseline) * np.diff(bars.edges)))
        assert area == pytest.approx(rows[0][name], abs=2e-3), i


def test_the_table_of_a_heel_cause() -> None:
    text = printed(heel_cause_table("Why?", heel_causes(2)[0]))
    assert "0.050 [-0.150, 0.250]" in text
    assert "lies upright" not in text
    upright = printed(heel_cause_table("Why?", heel_causes()[0], upright=True))
    assert "She lies upright within the errors of the heel" in upright
    assert "case 1: what would tell most: roll period by stop-watch" in text
    assert "never an order to act" in text
    assert CAUTION in text
    assert LOLL_WARNING in text
