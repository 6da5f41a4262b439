"""Pictures of the criteria and of a decay: the numbers they were given, and text that fits."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, replace

import numpy as np
import pytest
from criteria_samples import curved, keeled, wall
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.text import Text

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.criteria.at_rest import ShipAtRest
from rollsim.criteria.registry import RULES
from rollsim.show.figures.criteria import Areas, Drawn, areas_figure, criteria_figure
from rollsim.show.figures.decay import decay_figure
from rollsim.show.figures.greatest_kg import greatest_kg_figure
from rollsim.show.query.criteria import QUANTITIES, Row, rows_of
from rollsim.show.tables.criteria import overview, rows_csv


def drawn(name: str, own: ShipAtRest) -> Drawn:
    return Drawn(name, own, {rule: RULES[rule].judge(own) for rule in ("general", "weather")})


def fits(figure: Figure) -> bool:
    """Whether nothing leaves the picture."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]
    box = figure.get_tightbbox(canvas.get_renderer())  # type: ignore[no-untyped-call]
    whole = figure.bbox_inches
    return bool(
        box.x0 >= whole.x0 and box.y0 >= whole.y0 and box.x1 <= whole.x1 and box.y1 <= whole.y1
    )


def words(figure: Figure) -> str:
    return " ".join(" ".join(text.get_text().split()) for text in figure.findobj(Text))


def area(patch: PolyCollection) -> float:
    """Size of a filled area, in the units of its axes."""
    x, y = patch.get_paths()[0].vertices.T  # type: ignore[union-attr]
    return float(0.5 * abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))))


def test_the_areas_drawn_are_those_of_the_criterion() -> None:
    each = drawn("0: keels", keeled(curved(kg=5.3)))
    figure = criteria_figure("A ship", [each])
    general, weather, *_ = figure.axes
    to_30, to_40 = (area(patch) for patch in general.findobj(PolyCollection)[:2])
    marks = each.by_rule["weather"].marks
    a, b = (area(patch) for patch in weather.findobj(PolyCollection)[:2])
    by_name = {r.quantity: r.found for r in each.by_rule["general"].requirements}
    assert math.radians(to_30) == pytest.approx(by_name["area_to_30"], rel=1e-4)
    assert math.radians(to_40) == pytest.approx(by_name["area_30_to_40"], rel=1e-4)
    assert math.radians(a) == pytest.approx(marks["area_a"], rel=1e-4)
    assert math.radians(b) == pytest.approx(marks["area_b"], rel=1e-4)
    assert fits(figure)
    assert CAUTION in words(figure)


def legend_of(figure: Figure) -> set[str]:
    legends = [legend for axes in figure.axes if (legend := axes.get_legend())]
    return {text.get_text() for legend in legends for text in legend.get_texts()}


def test_words_stay_in_their_panel_and_the_legend_holds_what_is_drawn() -> None:
    """A note is broken into lines and not cut, and both panels say what they measure."""
    cases = [drawn("keels", keeled(curved(kg=5.3))), drawn("no GM", wall(-0.1, bm=6.0))]
    figure = criteria_figure("A ship", cases)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]
    for axes in figure.axes:
        for text in axes.texts:
            box = text.get_window_extent()
            assert axes.bbox.x0 <= box.x0
            assert box.x1 <= axes.bbox.x1, text.get_text()
            assert "…" not in text.get_text()
    labels = [axes.get_ylabel() for axes in figure.axes if axes.axison]
    assert labels == ["GZ [m]", "GZ and wind levers [m]"] * 2
    assert {"area a", "gust's lever lw2"} <= legend_of(figure)
    heel = math.radians(40.0)
    flooded, dry = (replace(cases[0].ship, floods=(at, at)) for at in (heel, math.inf))
    assert "flooding" in legend_of(criteria_figure("A ship", [drawn("wet", flooded)]))
    assert "flooding" not in legend_of(criteria_figure("A ship", [drawn("dry", dry)]))
    assert "area a" not in legend_of(criteria_figure("A ship", cases[1:]))


def test_a_ship_without_gm_has_no_areas_of_wind() -> None:
    each = drawn("1: without GM", wall(-0.1, bm=6.0))
    figure = criteria_figure("A ship", [each] * 5, loll=True)
    assert len(figure.axes) == 7
    assert not figure.axes[1].findobj(PolyCollection)
    assert LOLL_WARNING in words(figure)
    assert "the first 3 of 5 cases" in words(figure)
    assert fits(figure)


def test_areas_of_several_loadings_stand_side_by_side() -> None:
    ships = [keeled(curved(kg=kg)) for kg in (5.0, 5.3)]
    marks = [RULES["weather"].judge(ship).marks for ship in ships]
    each = [Areas(f"case {i}", *pair) for i, pair in enumerate(zip(ships, marks, strict=True))]
    figure = areas_figure("A ship", each)
    for axes, known in zip(figure.axes, marks, strict=False):
        a, b = (area(patch) for patch in axes.findobj(PolyCollection)[:2])
        assert math.radians(a) == pytest.approx(known["area_a"], rel=1e-4)
        assert math.radians(b) == pytest.approx(known["area_b"], rel=1e-4)
    assert fits(figure)
    assert "the first 3 of 4 cases" in words(areas_figure("A ship", each * 2))


def kg_rows(case: int, displacement: float, kg: float, *, on_curve: bool, note: str = "") -> Row:
    return {
        "case": case, "condition": f"loading {case}", "displacement_t": displacement,
        "kg_m": 5.0, "rule": "general", "quantity": "gm", "greatest_kg_m": kg,
        "governing": True, "note": note, "on_curve": on_curve,
    }  # fmt: skip


STORM: Row = {
    "condition": "loading 0", "place": "", "displacement": 3000.0, "kg": 5.2,
    "lower": 5.1, "upper": 5.25,
}  # fmt: skip


@pytest.mark.parametrize("along", [True, False])
def test_greatest_kg_over_displacement_or_by_condition(along: bool) -> None:
    rows = [kg_rows(case, 3000.0 + 400.0 * case * along, 5.5, on_curve=False) for case in (0, 1)]
    if along:
        rows += [kg_rows(0, x, 6.0 - x / 5000.0, on_curve=True, note="ends") for x in (2500, 3500)]
    figure = greatest_kg_figure("A ship", rows, {0: "0: one", 1: "1: two"}, [STORM], "failure")
    axes = figure.axes[0]
    points = np.concatenate([line.get_xydata() for line in axes.lines])
    assert np.any(np.isclose(points[:, 1], 5.5))
    assert np.any(np.isclose(points[:, 1], 5.2))
    assert axes.get_xlabel() == ("displacement [t]" if along else "")
    assert "general: GM" in words(figure)
    assert fits(figure)


def test_storms_at_one_displacement_are_named() -> None:
    rows = [kg_rows(case, 3000.0 + 400.0 * case, 5.5, on_curve=False) for case in (0, 1)]
    storms = [STORM | {"place": f"significant height {height}"} for height in (4, 6)]
    told = words(greatest_kg_figure("A ship", rows, {0: "0: one", 1: "1: two"}, storms, "failure"))
    assert "loading 0, significant height 4" in told
    assert "loading 0, significant height 6" in told


def test_a_decay_is_drawn_as_it_was_told() -> None:
    time = np.linspace(0.0, 60.0, 301)
    roll = 20.0 * np.exp(-0.02 * time) * np.cos(0.6 * time)
    arrays = {
        "record_time": time, "record": roll + 0.1, "time": time, "fitted": roll,
        "mean": 0.0 * time, "residual": 0.0 * time + 0.1, "peak_time": time[:3],
        "peak": roll[:3], "mean_amplitude": np.array([18.0, 15.0]),
        "decrement": np.array([2.0, 1.5]), "decrement_error": np.array([0.1, 0.1]),
        "curve_amplitude": time / 3.0, "curve": time / 30.0,
    }  # fmt: skip
    figure = decay_figure("a.csv", "decay: linear_per_s = 0.04", arrays, ["a note"])
    upper, left, lost, _ = figure.axes
    assert any(np.array_equal(line.get_ydata(), roll) for line in upper.lines)
    assert any(np.array_equal(line.get_ydata(), arrays["residual"]) for line in left.lines)
    assert any(np.array_equal(line.get_ydata(), arrays["curve"]) for line in lost.lines)
    assert "a note" in words(figure)
    assert fits(figure)


class Stored:
    """What of a Dataset the lines of a result are read from."""

    def __init__(self, text: str) -> None:
        self.variables, self.sizes = (), {"case": 1}
        self.attrs = {"criteria": text}


def stored_rows() -> list[Row]:
    head = {"case": 0, "condition": "base", "rule": "general"}
    return [head | asdict(r) for r in RULES["general"].judge(curved()).requirements]


def test_lines_of_a_result_come_back_as_they_were() -> None:
    rows = stored_rows()
    assert rows_of(Stored(json.dumps(rows))) == rows  # type: ignore[arg-type]
    assert rows_csv(rows).count("\n") == len(rows) + 1
    assert overview(rows)[1].cells == ["fulfilled"]


@pytest.mark.parametrize("text", ["", "no JSON", "{}", "[1]", json.dumps([{"case": 0}]), "[[]]"])
def test_lines_that_another_hand_has_written_are_left_out(text: str) -> None:
    assert rows_of(Stored(text)) == []  # type: ignore[arg-type]
    wild = stored_rows()
    wild[0]["quantity"] = "speed"
    assert rows_of(Stored(json.dumps(wild))) == []  # type: ignore[arg-type]
    wild[0]["quantity"], wild[0]["found"] = "gm", "<b>"
    assert rows_of(Stored(json.dumps(wild))) == []  # type: ignore[arg-type]
    assert set(QUANTITIES) >= {row["quantity"] for row in stored_rows()}
