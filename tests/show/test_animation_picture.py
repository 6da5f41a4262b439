"""The picture as a whole: nothing clipped or overlapping, cautions and signs said."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
import xarray as xr
from animation_samples import Loading, study
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.text import Text
from matplotlib.transforms import Bbox, BboxBase

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.show.animation.curves import HistoryPanel, PhasePanel
from rollsim.show.animation.film import SIGNS, Film, WordsPanel, film
from rollsim.show.animation.plan import PANELS, Wishes, plan
from rollsim.show.animation.section import DetailPanel
from rollsim.show.query.words import readout

HOSTILE = "$x^2$ [red]\x1b[31m_\u4e16\u754c\n" + "a long name of a loading " * 8
LOLL = Loading("high deck cargo", kg=5.7, about=20.0, free_surface=0.1, wave=5.0, lever=0.05)
THREE = (Loading("light", wave=5.0), Loading("listed", off_centre=0.1, about=10.0, wave=5.0), LOLL)

PICTURES: dict[str, tuple[tuple[Loading, ...], dict[str, Any]]] = {
    "one": (THREE[:1], {}),
    "at loll": ((LOLL,), {}),
    "4 to 3": ((LOLL,), {"size": (1024, 768)}),
    "small": ((LOLL,), {"size": (640, 360)}),
    "large": ((LOLL,), {"size": (1920, 1080)}),
    "two": (THREE[:2], {}),
    "three": (THREE, {}),
    "three, 4 to 3": (THREE, {"size": (800, 600)}),
    "three with phases": (THREE, {"panels": ("section", "lever", "phase")}),
    "hostile": ((LOLL._replace(name=HOSTILE),), {}),
    "three hostile": (tuple(held._replace(name=HOSTILE) for held in THREE), {}),
}
PICTURES |= {f"{name} alone": ((LOLL,), {"panels": (name,)}) for name in PANELS}


def make(loadings: tuple[Loading, ...], wishes: dict[str, Any]) -> Film:
    """The film of some loadings, drawn once."""
    ds = study(loadings, title=HOSTILE if len(loadings[0].name) > 50 else "a wall-sided hull")
    whole = film(ds, plan(ds, [(case, 0) for case in range(len(loadings))], Wishes(**wishes)))
    whole.draw(whole.count // 3)
    return whole


@pytest.fixture(scope="module", params=PICTURES)
def whole(request: pytest.FixtureRequest) -> Film:
    """Each picture, drawn once."""
    return make(*PICTURES[request.param])


def renderer(whole: Film) -> RendererAgg:
    """What the picture is measured with."""
    canvas = whole.figure.canvas
    assert isinstance(canvas, FigureCanvasAgg)
    found: RendererAgg = canvas.get_renderer()  # type: ignore[no-untyped-call]
    return found


def title(axes: Axes) -> Text:
    """The title of a panel; under the words over a column it keeps room for them."""
    found: Text = axes._left_title  # type: ignore[attr-defined]
    return found


def boxes(whole: Film, axes: Axes) -> list[Bbox]:
    """What a panel takes: its frame, its ticks and labels, its title."""
    ink = renderer(whole)
    found: list[Bbox | None] = [axes.get_window_extent(ink)]
    found += [axis.get_tightbbox(ink) for axis in (axes.xaxis, axes.yaxis)]
    if all(panel.what.axes is not axes for panel in whole.words):
        found.append(title(axes).get_window_extent(ink))
    return [Bbox(box) for box in found if box is not None and box.width > 0.0]


def edges(whole: Film) -> list[Bbox]:
    """The title of the picture and the small print."""
    found = [whole.figure._suptitle, *whole.figure.texts]  # type: ignore[attr-defined]
    return [Bbox(text.get_window_extent(renderer(whole))) for text in dict.fromkeys(found)]


def everything(whole: Film) -> str:
    """All that is written, on one line."""
    found = whole.figure.findobj(Text)
    return " ".join(" ".join(t.get_text().split()) for t in found if isinstance(t, Text))


def test_nothing_leaves_the_picture(whole: Film) -> None:
    canvas = whole.figure.bbox
    held = [box for axes in whole.figure.axes for box in boxes(whole, axes)] + edges(whole)
    for box in held:
        assert canvas.x0 <= box.x0
        assert canvas.y0 <= box.y0
        assert box.x1 <= canvas.x1
        assert box.y1 <= canvas.y1


def test_panels_do_not_overlap(whole: Film) -> None:
    groups = [boxes(whole, axes) for axes in whole.figure.axes]
    groups += [[box] for box in edges(whole)]
    seen = [[Bbox(box.padded(-1.0)) for box in group] for group in groups]
    for one, other in combinations(seen, 2):
        assert not any(a.overlaps(b) for a in one for b in other)


def test_words_stay_in_their_column_and_on_their_lines(whole: Film) -> None:
    places = [panel.what.axes for panel in whole.words]
    columns = [axes.get_window_extent().x0 for axes in places if isinstance(axes, Axes)]
    ends = [*columns[1:], whole.figure.bbox.x1]
    for panel, end in zip(whole.words, ends, strict=True):
        longest = max((why for _, why in panel.words), key=len)
        panel.why.set_text(longest)
        panel.numbers.set_text("t 3599.9 s  roll −88.8°  to water −88.8°  GZ −0.88 m")
        lines = (panel.what, panel.why, panel.numbers)
        boxes = [text.get_window_extent(renderer(whole)) for text in lines]
        assert all(box.x1 <= end for box in boxes)
        assert isinstance(panel.what.axes, Axes)
        assert title(panel.what.axes).get_window_extent(renderer(whole)).x1 <= end
        slack = 0.1 * boxes[1].height  # a box is a little higher than its letters
        assert all(upper.y0 > lower.y1 - slack for upper, lower in pairwise(boxes))


def test_cautions_signs_and_speed_are_said(whole: Film) -> None:
    said = everything(whole)
    assert CAUTION in said
    assert SIGNS in said
    assert "true time" in said
    assert (LOLL_WARNING in said) == any(len(p.words) and p.run.gm.min() < 0 for p in whole.words)


def holds(outer: BboxBase, inner: Bbox) -> bool:
    """Whether a box lies within another."""
    across = outer.x0 <= inner.x0 and inner.x1 <= outer.x1
    return bool(across and outer.y0 <= inner.y0 and inner.y1 <= outer.y1)


def test_markers_are_whole_at_every_moment(whole: Film) -> None:
    """At the start and at the greatest roll a marker may stand over the frame, never cut by it."""
    whole_picture = whole.figure.bbox
    for panel in whole.panels:
        point = getattr(panel, "point", None)
        for frame in (0, whole.count // 2, whole.count - 1) if point else ():
            whole.update(frame)
            if not isinstance(panel, HistoryPanel | PhasePanel):
                continue
            assert point is not None
            x, y = point.axes.transData.transform(point.get_xydata())[0]
            half = 0.5 * point.get_markersize() * whole.figure.dpi / 72.0
            marker = Bbox.from_extents(x - half, y - half, x + half, y + half)
            assert holds(point.axes.bbox, marker) or not point.get_clip_on()
            assert holds(whole_picture, marker)


def test_m_stays_in_the_detail_of_a_lolling_ship() -> None:
    whole = make((Loading("loll", kg=5.76, about=18.0, swing=2.0),), {})
    (detail,) = [each for each in whole.panels if isinstance(each, DetailPanel)]
    for frame in range(0, whole.count, 10):
        whole.update(frame)
        assert not np.isnan(np.asarray(detail.marks["M"].get_data(), dtype=float)).any()


def test_words_change_with_the_frames() -> None:
    whole = make(THREE[:1], {})
    panel = whole.words[0]
    assert isinstance(panel, WordsPanel)
    for frame in (0, whole.count - 1):
        whole.draw(frame)
        assert (panel.what.get_text(), panel.why.get_text()) == panel.words[frame]
        assert panel.numbers.get_text() == readout(panel.run, frame)


def test_pixels_are_as_many_as_asked_for() -> None:
    assert make((LOLL,), {"size": (1024, 768)}).draw(0).shape == (768, 1024, 4)
    assert make((LOLL,), {"size": (854, 480)}).draw(0).shape == (480, 854, 4)


def test_assumed_depth_and_shown_span_are_said(study_without_depth: xr.Dataset) -> None:
    ds = study_without_depth
    whole = film(ds, plan(ds, [(0, 0)], Wishes(start=5.0)))
    said = everything(whole)
    assert "Depth is not given: drawn as 1.5 draughts." in said
    assert "Shown: 5 to 40 s of 0 to 40 s" in said


@pytest.fixture
def study_without_depth() -> xr.Dataset:
    """A result that holds no depth."""
    return study().drop_vars("depth")


def test_hull_without_a_centre_of_buoyancy_is_drawn_all_the_same() -> None:
    ds = study()
    for name in ("buoyancy_y", "buoyancy_z"):
        ds[name] = ds[name] * float("nan")
    whole = film(ds, plan(ds, [(0, 0)], Wishes(panels=("section",))))
    assert whole.draw(30).std() > 0.0
