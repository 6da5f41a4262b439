"""What acts on a case and when, and what a sudden lever does: read from a result, and drawn."""

from __future__ import annotations

import math

import numpy as np
import pytest
import xarray as xr
from matplotlib.collections import FillBetweenPolyCollection
from matplotlib.figure import Figure
from show_samples import HEEL, Make

from rollsim.show.figures.histories import histories_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.storms import storm_figure
from rollsim.show.query import inputs
from rollsim.show.query.acting import acts, settle, sudden
from rollsim.show.query.lineup import Source, line_up

BASE = """
[wind]
speed_mps = 20.0
[[wind.gust]]
at_s = 60.0
rise_s = 2.0
hold_s = 16.0
speed_factor = 1.2
[sea]
kind = "irregular"
ramp_s = 20.0
[run]
settle_s = 30.0
[[events]]
kind = "move-weight"
at_s = 90.0
over_s = 10.0
mass_t = 40.0
across_m = -5.0
up_m = 0.5
[[conditions]]
name = "light"
[[conditions]]
name = "deck cargo"
"wind.gust.0.speed_factor" = 1.5
events = []
[[conditions]]
name = "top heavy"
"wind.gust" = []
"sea.ramp_s" = 0.0
"""


def told(ds: xr.Dataset, case: int) -> list[tuple[str, float, float, float]]:
    """Words and times of all that acts."""
    return [(act.words, act.start, act.full, act.end) for act in acts(ds, case)]


@pytest.fixture
def stormy(make: Make) -> xr.Dataset:
    """Three loadings with a scenario of their own each."""
    ds = make()
    ds.attrs["scenario_text"] = BASE
    return ds


def test_acts_are_those_of_the_condition_in_the_order_of_time(stormy: xr.Dataset) -> None:
    sea, weight = (
        ("the sea grows", 0.0, 20.0, 20.0),
        ("40 t move 5 m to port, 0.5 m up", 90.0, 100.0, math.inf),
    )
    assert told(stormy, 0) == [sea, ("gust, wind × 1.2", 60.0, 62.0, 80.0), weight]
    assert told(stormy, 1) == [sea, ("gust, wind × 1.5", 60.0, 62.0, 80.0)]
    assert told(stormy, 2) == [weight]
    assert settle(stormy) == 30.0


def test_a_swept_key_has_the_value_of_the_case_and_an_offset_is_added(make: Make) -> None:
    ds = make(["base"], axes={"speed_factor": ("1", (0.1, 0.3))})
    ds["speed_factor"].attrs |= {"scenario_key": "wind.gust.0.speed_factor", "scenario_offset": 1}
    ds.attrs["scenario_text"] = BASE.split("[[conditions]]")[0]
    assert [acts(ds, case)[1].factor for case in (0, 1)] == pytest.approx([1.3, 1.5])
    del ds["speed_factor"].attrs["scenario_offset"]
    assert [acts(ds, case)[1].factor for case in (0, 1)] == [0.1, 0.3]
    assert inputs.scenario(ds)["wind"]["gust"][0]["speed_factor"] == 1.2


@pytest.mark.parametrize(
    "text",
    ["", "wind = 3", "events = [1, 2]", 'wind.gust = [{ at_s = "x" }]', "sea = []", "[[events]]"],
)
def test_a_text_that_another_hand_has_been_at_is_no_trouble(make: Make, text: str) -> None:
    ds = make()
    ds.attrs["scenario_text"] = text
    assert acts(ds, 0) == []
    assert sudden(ds, 0) is None


def straight(wind: float, factor: float, start: float) -> xr.Dataset:
    """A ship of GZ = φ [m], held over by a gust from rest at the steady heel or from `start`."""
    phi = np.radians(HEEL)
    t = np.arange(0.0, 20.0, 0.5)
    ds = xr.Dataset(
        {
            "righting_lever": (("case", "heel"), [phi]),
            "steady_heeling_lever": (("case", "heel"), [np.full_like(phi, wind)]),
            "static_heel": ("case", [math.degrees(wind)]),
            "roll_period": ("case", [12.0]),
            "roll_angle": (("case", "realisation", "t"), [[np.full(t.size, start)]]),
            "roll_rate": (("case", "realisation", "t"), [[np.zeros(t.size)]]),
            "wave_slope": (("case", "realisation", "t"), [[np.zeros(t.size)]]),
        },
        coords={"heel": HEEL, "t": t, "realisation": [0]},
    )
    ds.attrs["scenario_text"] = (
        f"[[wind.gust]]\nat_s = 5.0\nrise_s = 1.0\nhold_s = 9.0\nspeed_factor = {factor}\n"
    )
    return ds


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_equal_areas_under_a_straight_lever_are_exact(side: float) -> None:
    """Exact: with GZ = φ she swings as far beyond the balance as she began before it."""
    seen = sudden(straight(side * 0.05, 2.0, side * -10.0), 0)
    assert seen is not None
    balance = math.degrees(0.2)
    assert seen.start == pytest.approx(side * -10.0)
    assert seen.balance == pytest.approx(side * balance, abs=1e-3)
    assert seen.reach == pytest.approx(side * (2.0 * balance + 10.0), abs=0.01)
    assert seen.lever[0] == pytest.approx(side * 0.2)


def test_in_waves_it_meets_her_at_rest() -> None:
    ds = straight(0.05, 2.0, -10.0)
    ds.attrs["scenario_text"] += '\n[sea]\nkind = "irregular"\n'
    seen = sudden(ds, 0)
    assert seen is not None
    assert seen.start == pytest.approx(math.degrees(0.05), abs=1e-6)


def test_in_calm_water_on_her_way_nothing_is_drawn() -> None:
    ds = straight(0.05, 2.0, -10.0)
    ds["roll_rate"][:] = 3.0
    assert sudden(ds, 0) is None
    assert sudden(ds.drop_vars("roll_angle"), 0) is None


def test_without_a_history_it_meets_her_as_the_scenario_lets_her_go() -> None:
    ds = straight(0.05, 2.0, 0.0).drop_vars("roll_angle")
    text = str(ds.attrs["scenario_text"]).replace("at_s = 5.0", "at_s = 0.0")
    for start, heel in (("-8.0", -8.0), ('"static"', math.degrees(0.05))):
        ds.attrs["scenario_text"] = f"{text}\n[start]\nroll_deg = {start}\n"
        seen = sudden(ds, 0)
        assert seen is not None
        assert seen.start == pytest.approx(heel, abs=1e-6)


def test_a_lever_that_cannot_be_met_has_no_dynamical_heel() -> None:
    ds = straight(0.05, 2.0, 0.0)
    phi = np.radians(HEEL)
    ds["righting_lever"][:] = 0.25 * np.sin(2.0 * phi)  # the areas would be equal past vanishing
    seen = sudden(ds, 0)
    assert seen is not None
    assert math.isnan(seen.reach)
    assert seen.end == pytest.approx(math.degrees(0.5 * (math.pi - math.asin(0.8))), abs=0.01)


def test_a_lever_past_every_righting_lever_is_still_told() -> None:
    ds = straight(0.05, 3.0, 0.0)
    ds["righting_lever"][:] = 0.25 * np.sin(2.0 * np.radians(HEEL))
    seen = sudden(ds, 0)
    assert seen is not None
    assert math.isnan(seen.balance)
    assert math.isnan(seen.reach)


def test_nothing_is_said_of_slow_levers_nor_once_a_weight_has_moved(stormy: xr.Dataset) -> None:
    ds = straight(0.05, 2.0, 0.0)
    text = str(ds.attrs["scenario_text"])
    ds.attrs["scenario_text"] = text.replace("rise_s = 1.0", "rise_s = 5.0")
    assert sudden(ds, 0) is None
    moved = '[[events]]\nkind = "add-weight"\nat_s = 1.0\nmass_t = 3.0\nheight_m = 4.0\n'
    ds.attrs["scenario_text"] = text + moved
    assert sudden(ds, 0) is None
    assert sudden(stormy, 0) is not None


def test_sudden_levers_are_drawn_with_their_areas(stormy: xr.Dataset) -> None:
    figure = stability_figure(stormy)
    panels = [axes for axes in figure.axes if axes.get_xlabel() == "heel, starboard down [°]"]
    assert [axes.get_title(loc="left") for axes in panels] == ["0: light", "1: deck cargo"]
    seen = sudden(stormy, 1)
    assert seen is not None
    areas = [c for c in panels[1].collections if isinstance(c, FillBetweenPolyCollection)]
    assert len(areas) == 2
    first, second = (np.asarray(area.get_paths()[0].vertices)[:, 0] for area in areas)
    assert first.min() == pytest.approx(seen.start)
    assert first.max() == second.min() == pytest.approx(seen.balance)
    assert second.max() == pytest.approx(seen.reach)
    assert f"dynamical heel {seen.reach:.1f}° S" in panels[1].texts[0].get_text()
    assert len({(axes.get_xlim(), axes.get_ylim()) for axes in panels}) == 1


def test_of_many_sudden_levers_the_worst_are_drawn(make: Make) -> None:
    ds = make(["base"], axes={"kg": ("m", (5.1, 5.2, 5.3, 5.4, 5.5))})
    ds.attrs["scenario_text"] = BASE.split("[[conditions]]")[0]
    figure = stability_figure(ds)
    panels = [axes for axes in figure.axes if axes.get_xlabel() == "heel, starboard down [°]"]
    titles = [axes.get_title(loc="left") for axes in panels]
    assert titles == ["2: KG 5.3 m", "3: KG 5.4 m", "4: KG 5.5 m"]


def legend(figure: Figure) -> str:
    """All that the legends say."""
    legends = [axes.get_legend() for axes in figure.axes]
    return "\n".join(t.get_text() for each in legends if each for t in each.get_texts())


def test_histories_mark_what_acts_when(stormy: xr.Dataset) -> None:
    figure = histories_figure(stormy, [0, 1], [0])
    said = legend(figure)
    assert "1: the sea grows, 0 to 20 s" in said  # of both, at the foot
    assert "2: gust, wind × 1.2\n60 to 80 s" in said
    assert "3: 40 t move 5 m to port, 0.5 m up\n90 to 100 s" in said
    assert said.count("counted from 30 s on") == 1
    spans = [patch.get_extents() for patch in figure.axes[0].patches]
    assert len(spans) == 3
    assert [text.get_text() for text in figure.axes[0].texts] == ["1", "2", "3"]
    assert [text.get_text() for text in figure.axes[1].texts] == ["1", "2"]


def test_a_cause_that_is_zero_throughout_has_no_panel(make: Make) -> None:
    ds = make()
    ds["wave_slope"][:] = 0.0
    labels = [axes.get_ylabel() for axes in histories_figure(ds, [0], [0]).axes]
    assert labels[:2] == ["roll angle [°]", "heeling\nlever [m]"]
    assert "wave slope\n[°]" not in labels


def test_a_lever_too_small_to_see_is_enlarged(make: Make) -> None:
    (levers, *_) = stability_figure(make()).axes
    assert "inset: near upright" in levers.get_title(loc="left")
    (inset,) = levers.child_axes
    assert inset.get_ylim()[1] < 0.1 * levers.get_ylim()[1]
    (plain, *_) = stability_figure(make(["light"])).axes
    assert plain.child_axes == []
    assert "GM −0." in legend(stability_figure(make()))


def test_a_storm_marks_what_acts_on_all_loadings_alike(make: Make) -> None:
    ds = make(realisations=3)
    ds.attrs["scenario_text"] = BASE.split("[[conditions]]")[0]
    (group,) = line_up([Source(ds)])
    alike = storm_figure(group, 0)
    ds.attrs["scenario_text"] = BASE
    differing = storm_figure(line_up([Source(ds)])[0], 0)
    assert alike is not None
    assert differing is not None
    assert "gust, wind × 1.2, 60 to 80 s" in legend(alike)
    assert "gust" not in legend(differing)


def test_in_calm_water_a_storm_shows_the_levers_instead_of_the_waves(make: Make) -> None:
    ds = make(realisations=1)
    ds["wave_slope"][:] = 0.0
    figure = storm_figure(line_up([Source(ds)])[0], 0)
    assert figure is not None
    assert figure.axes[1].get_ylabel() == "heeling\nlever [m]"
    assert len(figure.axes[1].get_lines()) == 1 + 3
