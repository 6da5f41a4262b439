"""Texts and marks of pictures: none cut, none over another, none where it would mean a value."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr
from critical_samples import critical_map
from map_samples import basin
from matplotlib.axes import Axes
from picture_texts import boxes_of, crossing, lined_names, measured
from show_samples import Make, build, drawn

from rollsim.show.figures.basin import basin_figure
from rollsim.show.figures.critical import critical_figure
from rollsim.show.figures.exceedance import result_exceedance
from rollsim.show.figures.histories import histories_figure
from rollsim.show.figures.loading import loading_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.query.loading import Record


def paths(ds: xr.Dataset) -> Axes:
    """The panel of the paths of M and B."""
    figure = stability_figure(ds)
    return next(axes for axes in figure.axes if "how M and B" in axes.get_title(loc="left"))


@pytest.mark.parametrize("names", [["light"], ["light", "deck cargo", "top heavy"]])
def test_labels_of_the_paths_are_whole_and_cover_no_other(names: list[str]) -> None:
    axes = paths(build(names))
    boxes = boxes_of(axes)
    assert crossing(boxes) == []
    for box in boxes.values():
        assert axes.bbox.x0 <= box.x0
        assert box.x1 <= axes.figure.bbox.x1
        assert axes.bbox.y0 <= box.y0
        assert box.y1 <= axes.bbox.y1


def test_lines_of_names_begin_past_every_name() -> None:
    """So no line crosses the name above or below its own."""
    ds = build()
    ds["gm"].values[:] -= 0.12  # free surfaces: every G has its Gv
    rights = [place[0] for place, _ in lined_names(paths(ds)).values()]
    assert len(rights) == 7
    assert np.ptp(rights) < 0.01


def test_the_inset_and_its_labels_cover_no_curve() -> None:
    figure = stability_figure(build())
    levers = figure.axes[0]
    (inset,) = levers.child_axes
    box = inset.get_tightbbox(measured(figure))
    assert box is not None
    assert levers.bbox.y1 >= box.y1
    for line in levers.get_lines():
        if np.size(line.get_xdata()) > 2:
            points = line.get_transform().transform(line.get_xydata())
            assert not any(box.contains(*point) for point in points)


def sheet(name: str, kg: float, rise: float, km: float) -> Record:
    """A loading sheet by its heights [m]."""
    rows = [
        {"kind": "lightship", "mass_t": 1000.0, "height_m": 5.0},
        {"kind": "tank", "mass_t": 90.0, "height_m": 1.0, "across_m": 3.0},
    ]
    heights = {"kg_m": kg, "free_surface_m": rise, "km_m": km, "gm_m": km - kg - rise}
    return {"case": 0, "condition": name, "rows": rows, **heights}


SHEETS = [
    sheet("GM lost to tanks", 5.5, 0.3, 5.6),
    sheet("M below G", 5.5, 0.3, 5.3),
    sheet("stiff", 5.5, 0.05, 5.9),
    sheet("M at G", 5.5, 0.0, 5.51),
    sheet("slack", 5.5, 0.3, 5.9),
    sheet("hardly any GM", 5.5, 0.3, 5.81),
]


def test_heights_of_a_loading_are_read_also_over_a_hatching() -> None:
    figure = loading_figure(SHEETS, "sheets")
    masses, heights = figure.axes
    assert crossing(boxes_of(heights)) == []
    for text in heights.texts:
        ground = text.get_bbox_patch()
        assert ground is not None
        assert ground.get_facecolor()[:3] == (1.0, 1.0, 1.0)
    for axes in (masses, heights):
        ticks = {str(i): t.get_window_extent() for i, t in enumerate(axes.get_xticklabels())}
        assert crossing(ticks) == []
    assert heights.get_xticklabels()[1].get_text().endswith("\nGM −0.50")
    legend = masses.get_legend()
    assert legend is not None
    assert [t.get_text() for t in legend.get_texts()] == ["lightship", "tanks", "KG"]


def test_exceedance_falls_in_steps_at_the_rolls_of_the_runs(make: Make) -> None:
    ds = make(["a"], realisations=12)
    ds["outcome"].values[:] = 1
    ds["roll_max"].values[0] = np.linspace(10.0, 21.0, 12)
    ds["roll_min"].values[0] = -5.0
    thick, *thin = result_exceedance(ds).axes[0].get_lines()[:3]
    assert {line.get_drawstyle() for line in (thick, *thin)} == {"steps-post"}
    angle, share = drawn(thick)
    assert angle[1:-1] == pytest.approx(np.linspace(10.0, 21.0, 12))
    assert share[:3] == pytest.approx([1.0, 11 / 12, 10 / 12])


def test_a_cross_for_no_value_stands_at_no_height() -> None:
    axes = critical_figure(critical_map(unanswered=[0, 5])).axes[0]
    crosses = [line for line in axes.get_lines() if line.get_marker() == "x"]
    heights = [y for line in crosses for y in np.asarray(line.get_ydata(), float)]
    assert len(heights) == 2
    assert min(heights) > 1.0  # in shares of the panel: over it
    assert all(not line.get_clip_on() for line in crosses)


@pytest.mark.parametrize(("count", "more"), [(1, {}), (9, {"outcomes": True})])
def test_the_key_of_a_basin_is_a_narrow_column(count: int, more: dict[str, Any]) -> None:
    figure = basin_figure(basin(count, **more))
    renderer = measured(figure)
    key = next(axes for axes in figure.axes if axes.get_ylabel() == "time of failure [s]")
    columns = len(key.get_xticks())
    width = key.get_window_extent(renderer).width / figure.dpi
    assert width <= 0.7 * columns


def test_a_limit_beyond_the_scale_has_no_line_in_the_legend(make: Make) -> None:
    ds = make(["a"], realisations=1)
    for name in ("roll_angle", "roll_max", "roll_min"):
        ds[name].values[...] = ds[name].values * 0.1
    ds["outcome"].values[:] = 1
    handles = [
        (handle, text.get_text())
        for axes in histories_figure(ds).axes
        if (legend := axes.get_legend())
        for handle, text in zip(legend.legend_handles, legend.get_texts(), strict=True)
    ]
    beyond = [handle for handle, words in handles if words.endswith("beyond the scale")]
    assert beyond
    assert {handle.get_linestyle() for handle in beyond} == {"None"}  # type: ignore[union-attr]
