"""Every picture: drawn without a warning, nothing clipped or overlapping, units on every axis."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
import xarray as xr
from critical_samples import critical_map
from map_samples import basin, equilibria, heel_causes, response
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from severity_samples import certain as alike
from severity_samples import with_factors
from show_samples import KG, Make, build

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.show.figures.basin import basin_figure
from rollsim.show.figures.critical import critical_figure
from rollsim.show.figures.equilibria import equilibria_figure
from rollsim.show.figures.heel_cause import heel_cause_figure
from rollsim.show.figures.histories import histories_figure
from rollsim.show.figures.integrity import integrity_figure
from rollsim.show.figures.phase import phase_figure
from rollsim.show.figures.response import response_figure
from rollsim.show.figures.severity import fragility_figure, severity_figure
from rollsim.show.figures.sides import sides_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.sweep import sweep_figure

HEIGHT = {"significant_height": ("m", (3.0, 5.0, 7.0))}
WORDS = {"heel_law": ("", ("constant", "cos", "cos2"))}
GRID = {"kg": ("m", (5.1, 5.3, 5.45)), "significant_height": ("m", (2.0, 4.0, 6.0, 8.0))}
NINE = {"kg": ("m", tuple(5.1 + 0.07 * i for i in range(9)))}
LONG = NINE | {"heading": ("degree", tuple(range(0, 181, 15)))}
THREE = GRID | {"heading": ("degree", (60.0, 90.0))}
HOSTILE = "$x^2$ [red]\x1b[31m_\u4e16\u754c\n" + "a long name of a loading " * 8


def hopping(names: list[str], axes: Any) -> xr.Dataset:
    """Runs that change sides now and then, the first case never."""
    ds = build(names, realisations=4, axes=axes)
    changes = np.arange(ds.sizes["case"] * 4).reshape(-1, 4)
    changes[0] = 0
    numbers = {
        "side_changes": changes,
        "side_changes_to_starboard": changes // 2,
        "time_to_port": 0.4 * ds["end_time"].values,
        "time_to_starboard": 0.6 * ds["end_time"].values,
    }
    return ds.assign({name: (("case", "realisation"), held) for name, held in numbers.items()})


PICTURES: dict[str, Callable[[], Figure]] = {
    "stability": lambda: stability_figure(build()),
    "stability of one case": lambda: stability_figure(build(), [0]),
    "stability, many": lambda: stability_figure(build(["base"], axes=NINE)),
    "stability with gusts": lambda: stability_figure(blown()),
    "histories with gusts": lambda: histories_figure(blown(), [0, 1], [0]),
    "bands with gusts": lambda: histories_figure(blown(realisations=12), [0, 1, 2]),
    "hostile stability with gusts": lambda: stability_figure(blown([HOSTILE, "_b"])),
    "one history": lambda: histories_figure(build(), [1], [0]),
    "few histories": lambda: histories_figure(build(), [0, 1, 2], [0, 1]),
    "bands": lambda: histories_figure(build(realisations=12, axes=HEIGHT), [1, 2, 4, 8]),
    "too many histories": lambda: histories_figure(build(realisations=5, axes=HEIGHT)),
    "phase": lambda: phase_figure(build(), 0, 0),
    "phase at loll": lambda: phase_figure(build(), 2, 1),
    "sweep of conditions": lambda: sweep_figure(build()),
    "sweep of many conditions": lambda: sweep_figure(build([f"loading {i}" for i in range(12)])),
    "sweep of a long grid": lambda: sweep_figure(build(["base"], realisations=3, axes=LONG)),
    "sweep over numbers": lambda: sweep_figure(build(realisations=12, axes=HEIGHT)),
    "sweep over words": lambda: sweep_figure(build(realisations=3, axes=WORDS)),
    "sweep over two": lambda: sweep_figure(build(realisations=12, axes=GRID)),
    "sweep over three": lambda: sweep_figure(build(realisations=2, axes=THREE)),
    "sweep without chance": lambda: sweep_figure(certain(build(realisations=1, axes=HEIGHT))),
    "grid without chance": lambda: sweep_figure(certain(build(realisations=1, axes=GRID))),
    "critical values": lambda: critical_figure(critical_map(unanswered=[5])),
    "critical values of many": lambda: critical_figure(
        critical_map([f"load {i}" for i in range(9)])
    ),
    "critical values alone": lambda: critical_figure(critical_map(["base"], [])),
    "hostile critical values": lambda: critical_figure(
        critical_map([HOSTILE, "_b"], title=HOSTILE)
    ),
    "severity": lambda: severity_figure(with_factors(30)),
    "severity over a sweep": lambda: severity_figure(with_factors(30, axes=HEIGHT)),
    "severity without chance": lambda: severity_figure(alike(with_factors(2))),
    "fragility": lambda: fragility_figure(with_factors(30)),
    "fragility over a sweep": lambda: fragility_figure(with_factors(30, axes=HEIGHT)),
    "hostile fragility": lambda: fragility_figure(
        with_factors(30, conditions=[HOSTILE, "_b"], title=HOSTILE)
    ),
    "sweep of severity": lambda: sweep_figure(with_factors(30)),
    "hostile stability": lambda: stability_figure(build([HOSTILE, "_b"], title=HOSTILE)),
    "hostile histories": lambda: histories_figure(build([HOSTILE, "_b"], title=HOSTILE)),
    "hostile phase": lambda: phase_figure(build([HOSTILE, "_b"], title=HOSTILE), 0, 0),
    "hostile sweep": lambda: sweep_figure(build([HOSTILE, "_b"], title=HOSTILE)),
    "basin": lambda: basin_figure(basin()),
    "basins of two wells": lambda: basin_figure(basin(2, wells=True)),
    "many basins": lambda: basin_figure(basin(9, outcomes=True)),
    "hostile basin": lambda: basin_figure(basin(3, title=HOSTILE)),
    "integrity": lambda: integrity_figure(basin(5), "height"),
    "response": lambda: response_figure(response()),
    "response at loll": lambda: response_figure(response(heeled=True)),
    "responses": lambda: response_figure(response(3, title=HOSTILE)),
    "sides": lambda: sides_figure(hopping(["base"], HEIGHT)),
    "sides of an older file": lambda: sides_figure(
        hopping(["base"], HEIGHT).drop_vars(["time_to_port", "time_to_starboard"])
    ),
    "sides of loadings": lambda: sides_figure(hopping([HOSTILE, "_b"], GRID)),
    "sides without a sweep": lambda: sides_figure(hopping(["light", "full"], {})),
    "equilibria": lambda: equilibria_figure(equilibria()),
    "equilibria and the line of folds": lambda: equilibria_figure(equilibria(5)),
    "hostile equilibria": lambda: equilibria_figure(equilibria(3, title=HOSTILE)),
    "heel cause": lambda: heel_cause_figure("Why?", *heel_causes()),
    "hostile heel causes": lambda: heel_cause_figure(HOSTILE, *heel_causes(5, HOSTILE)),
    "hostile grid": lambda: sweep_figure(build([HOSTILE, "_b"], axes=GRID, title=HOSTILE)),
}


def blown(conditions: Sequence[str] = tuple(KG), realisations: int = 2) -> xr.Dataset:
    """A study in which the sea grows, a gust strikes, weights move."""
    ds = build(conditions, realisations=realisations)
    gust = "[[wind.gust]]\nat_s = 60.0\nrise_s = 2.0\nhold_s = 16.0\nspeed_factor = 1.5\n"
    sea = '[sea]\nkind = "irregular"\nramp_s = 30.0\n[run]\nsettle_s = 30.0\n'
    event = '[[events]]\nkind = "move-weight"\nmass_t = 40.0\nat_s = '
    ds.attrs["scenario_text"] = gust + sea + "".join(f"{event}{t}\n" for t in (90, 120, 150, 180))
    return ds


def certain(ds: xr.Dataset) -> xr.Dataset:
    """The study without probabilities, as one in which nothing is random."""
    gone = [name for name in ds.data_vars if "probability" in str(name) or "_rate" in str(name)]
    return ds.assign({name: np.nan * ds[name] for name in gone})


def agg(figure: Figure) -> RendererAgg:
    """What the picture is measured with; drawn, if it is not yet."""
    canvas = (
        figure.canvas if isinstance(figure.canvas, FigureCanvasAgg) else FigureCanvasAgg(figure)
    )
    if not hasattr(canvas, "renderer"):
        canvas.draw()  # type: ignore[no-untyped-call]
    renderer: RendererAgg = canvas.get_renderer()  # type: ignore[no-untyped-call]
    return renderer


@pytest.fixture(scope="module", params=PICTURES)
def figure(request: pytest.FixtureRequest) -> Figure:
    """Each picture, drawn once."""
    made = PICTURES[request.param]()
    agg(made)
    return made


def texts(figure: Figure) -> list[Text]:
    """All texts that are seen."""
    found = figure.findobj(lambda artist: isinstance(artist, Text) and artist.get_visible())
    return [text for text in found if isinstance(text, Text) and text.get_text().strip()]


def caution(figure: Figure) -> Text:
    """The small print at the foot."""
    return next(text for text in figure.texts if text.get_gid() == "cautions")


def test_nothing_leaves_the_canvas(figure: Figure) -> None:
    renderer = agg(figure)
    box, canvas = figure.get_tightbbox(renderer), figure.bbox_inches
    assert box.x0 >= canvas.x0
    assert box.y0 >= canvas.y0
    assert box.x1 <= canvas.x1
    assert box.y1 <= canvas.y1
    for axes in figure.axes:
        legend = axes.get_legend()
        if legend is not None:
            drawn = legend.get_window_extent(renderer)
            assert drawn.x0 >= 0
            assert drawn.x1 <= figure.bbox.x1
            assert drawn.y0 >= 0


def test_caution_is_whole_and_stands_clear(figure: Figure) -> None:
    renderer = agg(figure)
    print_ = caution(figure)
    assert CAUTION in " ".join(print_.get_text().split())
    box = print_.get_window_extent(renderer)
    assert box.x0 >= 0
    assert box.x1 <= figure.bbox.x1
    assert box.y0 >= 0
    for axes in figure.axes:
        other = axes.get_tightbbox(renderer)
        assert other is None or other.y0 >= box.y1


def test_panels_do_not_overlap(figure: Figure) -> None:
    renderer = agg(figure)
    boxes = [axes.get_tightbbox(renderer) for axes in figure.axes]
    boxes += [
        title.get_window_extent(renderer) for title in figure.texts if title.get_gid() is None
    ]
    seen = [box.padded(-1.0) for box in boxes if box is not None]
    assert not any(a.overlaps(b) for i, a in enumerate(seen) for b in seen[:i])


def test_axis_labels_and_ticks_do_not_cover_each_other(figure: Figure) -> None:
    renderer = agg(figure)
    for axes in (axes for axes in figure.axes if axes.axison):
        held = [*axes.get_xticklabels(), axes.xaxis.label]
        boxes = [t.get_window_extent(renderer) for t in held if t.get_text() and t.get_visible()]
        boxes = [box for box in boxes if box.width > 0]
        assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])
        height = axes.get_window_extent(renderer).height
        assert axes.yaxis.label.get_window_extent(renderer).height <= 1.25 * height


def test_every_axis_says_its_unit(figure: Figure) -> None:
    shared = [axes for axes in figure.axes if axes.axison and has_labels(axes)]
    labels = [label for axes in shared for label in (axes.get_xlabel(), axes.get_ylabel())]
    named = [label for label in labels if label and label not in ("condition", "heel law")]
    assert named
    assert all(label.endswith("]") and "[" in label for label in named)


def has_labels(axes: Axes) -> bool:
    """Whether the panel is labelled itself and not by its neighbour."""
    return bool(axes.get_xlabel() or axes.get_ylabel())


def test_type_can_be_read_from_afar(figure: Figure) -> None:
    small = [
        t.get_text() for t in texts(figure) if float(t.get_fontsize()) < 10.5 and not t.get_gid()
    ]
    cells = [text for axes in figure.axes for text in axes.texts]
    assert set(small) <= {cell.get_text() for cell in cells}
    assert all(float(cell.get_fontsize()) >= 7.0 for cell in cells)


def test_no_text_is_taken_for_a_formula(figure: Figure) -> None:
    for text in texts(figure):
        drawn, formula = text._preprocess_math(text.get_text())  # type: ignore[attr-defined]
        assert formula is False
        assert all(c.isprintable() or c == "\n" for c in drawn)


def test_loll_is_warned_of_only_where_it_is(make: Make) -> None:
    ds = make()
    with_loll = " ".join(caution(stability_figure(ds, [0, 2])).get_text().split())
    without = " ".join(caution(stability_figure(ds, [0, 1])).get_text().split())
    assert LOLL_WARNING in with_loll
    assert LOLL_WARNING not in without
