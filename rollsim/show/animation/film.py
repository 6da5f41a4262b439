"""The figure of an animation: what stands where, and the drawing of one frame after the other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec, SubplotSpec
from matplotlib.transforms import offset_copy
from numpy.typing import NDArray

from rollsim.measures.margins import escape_rate
from rollsim.show import style
from rollsim.show.animation.curves import (
    HistoryPanel,
    LeverPanel,
    PhasePanel,
    PotentialPanel,
)
from rollsim.show.animation.notes import notes
from rollsim.show.animation.panel import Panel, Scale, scale
from rollsim.show.animation.plan import FilmPlan, speed_text
from rollsim.show.animation.section import DetailPanel, Points, SectionPanel
from rollsim.show.query import cases
from rollsim.show.query.curves import potential
from rollsim.show.query.runs import Run
from rollsim.show.query.track import Track, track
from rollsim.show.query.words import Caption, captions, readout

if TYPE_CHECKING:
    import xarray as xr

HEIGHTS = {"section": 3.2, "lever": 1.2, "history": 1.0, "phase": 1.4, "energy": 1.1}
"""The share of the height that each panel takes of its column."""
LINES, PITCH = 1.25, 1.22
"""Spacing of the lines of a title, and what that comes to in type sizes."""
LEAST = 6.0
"""Type [pt] that is not made any smaller."""
ROOM = 0.94
"""Share of a column that its words may take."""
SIGNS = "seen from astern: starboard is right; positive roll is starboard down"


class WordsPanel:
    """Over her picture: what she does, why, and the numbers; the title below keeps the room."""

    def __init__(
        self, axes: Axes, run: Track, captions: Sequence[Caption], title: str, size: float
    ):
        self.run, self.words, self.size = run, captions, size
        own = axes.get_title(loc="left")
        axes.set_title(
            f"{title}\n\n\n\n{own or chr(160)}", loc="left", fontsize=size, linespacing=LINES
        )
        lines = []
        for up, weight in ((3, "bold"), (2, "normal"), (1, "normal")):
            rise = mpl.rcParams["axes.titlepad"] + up * PITCH * size
            line = offset_copy(
                axes.transAxes, fig=axes.get_figure(root=True), y=rise, units="points"
            )
            lines.append(
                axes.text(0.0, 1.0, "", transform=line, fontsize=size, weight=weight, animated=True)
            )
        self.what, self.why, self.numbers = lines
        self.artists: list[Artist] = [self.numbers]
        self.captions: list[Artist] = [self.what, self.why]

    def fit(self, width: float) -> None:
        """Make the type small enough for the longest words in a column of a width [pixel]."""
        for line, words in zip((self.what, self.why), zip(*self.words, strict=True), strict=True):
            line.set_text(max(words, key=len))
            size = self.size
            # In steps: letters stand at whole pixels, so that widths jump.
            while line.get_window_extent().width > width and size > LEAST:
                size -= 0.5
                line.set_fontsize(size)

    def update(self, frame: int) -> None:
        """Say what is seen."""
        what, why = self.words[frame]
        self.what.set_text(what)
        self.why.set_text(why)
        self.numbers.set_text(readout(self.run, frame))


@dataclass(frozen=True)
class RunView:
    """One run of the picture with all that its panels need."""

    ds: xr.Dataset
    run: Run
    track: Track
    scale: Scale
    title: str
    text_size: float


class Film:
    """A figure and its moving panels; `draw` gives one frame as pixels.

    What stands still is drawn once and put back under every frame; captions, which change now and
    then and are dear to draw, are drawn on it whenever they do.
    """

    def __init__(self, figure: Figure, panels: Sequence[Panel], count: int) -> None:
        self.figure, self.panels, self.count = figure, panels, count
        self.artists = [artist for panel in panels for artist in panel.artists]
        self.words = [panel for panel in panels if isinstance(panel, WordsPanel)]
        self._canvas: FigureCanvasAgg | None = None
        self._bare: Any = None
        self._ground: Any = None
        self._captions: list[Caption] = []

    def update(self, frame: int) -> None:
        """Put every moving artist where it belongs."""
        for panel in self.panels:
            panel.update(frame)

    def draw(self, frame: int) -> NDArray[np.uint8]:
        """The pixels (height, width, 4) of a frame; the next call draws over them."""
        canvas = self._canvas or self._prepare()
        self.update(frame)
        captions = [panel.words[frame] for panel in self.words]
        if captions != self._captions:
            canvas.restore_region(self._bare)  # type: ignore[no-untyped-call]
            self._draw(artist for panel in self.words for artist in panel.captions)
            self._ground, self._captions = self._copy(canvas), captions
        canvas.restore_region(self._ground)  # type: ignore[no-untyped-call]
        self._draw(self.artists)
        return np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]

    def _draw(self, artists: Iterable[Artist]) -> None:
        for artist in artists:
            self.figure.draw_artist(artist)

    def _copy(self, canvas: FigureCanvasAgg) -> Any:
        return canvas.copy_from_bbox(self.figure.bbox)  # type: ignore[no-untyped-call]

    @style.styled
    def _prepare(self) -> FigureCanvasAgg:
        """Lay out and draw what stands still, once."""
        self._canvas = canvas = FigureCanvasAgg(self.figure)
        self.figure.draw_without_rendering()
        self.figure.set_layout_engine("none")
        for panel in self.panels:
            if isinstance(panel, Points):
                panel.fit()
        columns = max(len(self.words), 2)
        for words in self.words:
            words.fit(ROOM * self.figure.bbox.width / columns)
        canvas.draw()  # type: ignore[no-untyped-call]
        self._bare = self._copy(canvas)
        return canvas


@style.styled
def film(ds: xr.Dataset, plan: FilmPlan) -> Film:
    """The figure of a plan with all panels in place."""
    tracks = [track(ds, case, run, plan.times) for case, run in plan.runs]
    among = [case for case, _ in plan.runs]
    figure = style.new_figure(
        cases.title(ds),
        f"{speed_text(plan.speed)}; {SIGNS}",
        notes=notes(ds, plan, tracks),
        loll=cases.has_loll(ds, among),
        height=style.WIDTH * plan.size[1] / plan.size[0],
    )
    figure.set_dpi(plan.size[0] / style.WIDTH)
    shared = _scale(ds, plan, tracks)
    single = len(tracks) == 1
    size = style.TEXT if single else style.SMALL
    shown = [
        RunView(ds, run, one, shared, _title(ds, run, among), size)
        for run, one in zip(plan.runs, tracks, strict=True)
    ]
    columns = _columns(plan.panels) if single else [list(plan.panels)] * len(tracks)
    widths = [1.0] * len(columns)
    grid = GridSpec(1, len(columns), figure, width_ratios=widths)
    panels: list[Panel] = []
    for column, names in enumerate(columns):
        view = shown[0] if single else shown[column]
        first = len(figure.axes)
        panels += _column(figure, grid[0, column], view, names)
        if column == 0 or not single:
            words = captions(ds, *view.run, view.track)
            panels.append(
                WordsPanel(figure.axes[first], view.track, words, view.title, view.text_size)
            )
    return Film(figure, panels, plan.times.size)


def _columns(panels: Sequence[str]) -> list[list[str]]:
    """Of one run: the ship and her history to the left, her curves over heel to the right."""
    left = [name for name in panels if name in ("section", "history")]
    right = [name for name in panels if name in ("lever", "phase")]
    right += ["energy"] * ("phase" in right)
    if not left or not right:
        return [[*left, *right]]
    return [left, right]


def _column(figure: Figure, spec: SubplotSpec, shown: RunView, names: Sequence[str]) -> list[Panel]:
    """The panels of one column from the top down."""
    rows = spec.subgridspec(len(names), 1, height_ratios=[HEIGHTS[name] for name in names])
    panels: list[Panel] = []
    curves: list[Axes] = []
    first = len(figure.axes)
    for row, name in enumerate(names):
        if name == "section":
            panels += _section(figure, rows[row, 0], shown)
            continue
        axes = style.panel(figure, rows[row, 0])
        axes.tick_params(labelsize=shown.text_size - 1.0)
        panels.append(_panel(axes, shown, name))
        if name in ("lever", "phase", "energy"):
            curves.append(axes)
    for axes in figure.axes[first:]:
        axes.xaxis.label.set_fontsize(shown.text_size)
        axes.yaxis.label.set_fontsize(shown.text_size)
    for axes in curves[:-1]:
        axes.tick_params(labelbottom=False)
    if curves:
        words = "heel to the water [°]" if shown.track.waves else "heel [°]"
        curves[-1].set_xlabel(words)
    return panels


def _section(figure: Figure, spec: SubplotSpec, shown: RunView) -> list[Panel]:
    pair = spec.subgridspec(1, 2, width_ratios=[1.75, 1.0])
    whole, detail = (style.panel(figure, pair[0, i]) for i in range(2))
    return [
        SectionPanel(whole, shown.track, shown.scale.section, shown.text_size),
        DetailPanel(detail, shown.track, shown.scale.detail, shown.text_size),
    ]


def _panel(axes: Axes, shown: RunView, name: str) -> Panel:
    case = shown.run[0]
    limits = cases.limits(shown.ds, case)
    if name == "lever":
        return LeverPanel(axes, shown.track, shown.scale, limits)
    if name == "history":
        return HistoryPanel(axes, shown.track, shown.scale, limits)
    well = potential(shown.ds, case)
    gyradius = cases.number(shown.ds, "gyradius", case=case)
    kind = PhasePanel if name == "phase" else PotentialPanel
    return kind(axes, shown.track, shown.scale, well, gyradius)


def _title(ds: xr.Dataset, run: Run, among: Sequence[int]) -> str:
    """Case and realisation, no longer than a column; of one case the picture has two columns."""
    columns, size = (2, style.TEXT) if len(among) == 1 else (len(among), style.SMALL)
    words = f", realisation {cases.number_of(ds, 'realisation', run[1])}"
    room = int(style.WIDTH * 72.0 * 0.94 / columns / (0.6 * size)) - len(words)
    return style.literal(cases.case_label(ds, run[0], among), room) + words


def _scale(ds: xr.Dataset, plan: FilmPlan, tracks: Sequence[Track]) -> Scale:
    """The limits that the panels share; no case shows less than another."""
    names = ("vanishing_angle", "vanishing_angle_port")
    chosen = [case for case, _ in plan.runs]
    angles = np.abs([cases.number(ds, name, case=case) for case in chosen for name in names])
    near = [angle for case in chosen for angle in cases.limits(ds, case).values()]
    vanishing = float(np.fmax.reduce(angles, initial=0.0))
    escape = float(np.fmax.reduce([_escape_rate(ds, case) for case in chosen], initial=0.0))
    return scale(tracks, vanishing, float(plan.times[-1]), near, escape)


def _escape_rate(ds: xr.Dataset, case: int) -> float:
    """The greatest rate [degree/s] on the escape line, at the bottom of the lowest well."""
    escape, gyradius = potential(ds, case).escape, cases.number(ds, "gyradius", case=case)
    return float(np.degrees(escape_rate(escape, gyradius)))
