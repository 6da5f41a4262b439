"""The picture of a hull shows the numbers of its file."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from matplotlib.figure import Figure

from rollsim.map_names import HULL
from rollsim.ship.hull.form import Hull, Opening, from_half_breadths
from rollsim.show.figures.hull import hull_figure
from rollsim.study.hull import Wanted, hull_arrays


def barge() -> Hull:
    ends = [from_half_breadths(x, [5.0, 7.0, 7.0], [0.0, 2.0, 8.0]) for x in (0.0, 80.0)]
    return Hull("barge", tuple(ends), openings=(Opening("vent", 40.0, 3.0, 9.0),))


@pytest.fixture(scope="module")
def papers() -> xr.Dataset:
    arrays = hull_arrays(Wanted(barge(), "", tuple(np.linspace(2000.0, 6000.0, 9))))
    data = {name: (HULL[name].dims, values) for name, values in arrays.items()}
    return xr.Dataset(data, attrs={"title": "barge", "trim_of_levers": "free", "length_m": 80.0})


@pytest.fixture(scope="module")
def figure(papers: xr.Dataset) -> Figure:
    return hull_figure(papers)


def test_every_variable_is_there(papers: xr.Dataset) -> None:
    assert set(HULL) == set(papers.variables)


def test_six_of_many_displacements_are_drawn(figure: Figure, papers: xr.Dataset) -> None:
    kn = figure.axes[1]
    lines = [line for line in kn.lines if np.size(np.asarray(line.get_xdata())) > 2]
    assert len(lines) == 6
    np.testing.assert_allclose(np.asarray(lines[0].get_ydata(), float), papers["kn"][0])
    np.testing.assert_allclose(np.asarray(lines[-1].get_ydata(), float), papers["kn"][-1])


def test_the_hydrostatic_curves_go_over_the_draught(figure: Figure, papers: xr.Dataset) -> None:
    heights = figure.axes[2]
    for line, name in zip(heights.lines, ("km", "kb", "bm", "tonnes_per_cm"), strict=True):
        np.testing.assert_allclose(np.asarray(line.get_xdata(), float), papers[name])
        np.testing.assert_allclose(np.asarray(line.get_ydata(), float), papers["draught"])


def test_no_label_is_wider_than_its_panel(figure: Figure) -> None:
    figure.canvas.draw()
    for axes in figure.axes[:4]:
        box = axes.get_tightbbox()
        assert box is not None
        assert box.x0 >= 0.0
        assert box.x1 <= figure.bbox.width
