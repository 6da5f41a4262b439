"""The rolling midship section, and the detail around G in which the lever is large enough to see.

Both hold the same points in metres of the earth axes; the detail has G at its origin.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.path import Path
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D
from mpl_toolkits.axes_grid1.anchored_artists import AnchoredSizeBar
from numpy.typing import NDArray

from rollsim.ship.verdict import NONE
from rollsim.show import style
from rollsim.show.animation.panel import Extent
from rollsim.show.marks import MARKS, STROKES
from rollsim.show.query.section import along_water, to_earth, upward
from rollsim.show.query.track import Track

Floats = NDArray[np.float64]

HULL, WATER = "#e8e2d6", "#4f8fc0"
LEVER, BUOYANCY = STROKES["bar"].colour, STROKES["buoyancy"].colour
PATH = 60.0
"""Heel [degree] to both sides up to which the path of M is drawn."""
POINTS: dict[str, dict[str, Any]] = {
    mark.letter: {"marker": mark.marker, "color": mark.colour, "markeredgecolor": style.INK}
    | ({"markerfacecolor": "white", "markeredgecolor": mark.colour} if mark.hollow else {})
    for name, mark in MARKS.items()
    if name != "z"
}
NOWHERE = np.full((2, 1), np.nan)
CENTRED = (0.0, 0.0)
Shift = tuple[float, float]
SHIFTS: dict[str, Shift] = {
    "G": (-16.0, -8.0), "Gv": (-24.0, 5.0), "B": (8.0, -12.0), "M": (9.0, 1.0), "Z": (6.0, -14.0),
}  # fmt: skip
"""Where each letter stands beside its point [pt]."""
TURNED = SHIFTS | {"G": (8.0, -8.0), "Gv": (8.0, 5.0), "Z": (-14.0, -14.0)}
"""The same where the lever lies to port."""
LOWERED = {"G": 2.0, "Gv": 8.0, "M": -14.0}
"""How far up they stand where M lies below G: the letters keep the order of the points."""
CLEAR = 0.1
"""The lever, in half widths of the detail, from which its letters may change sides."""


class Points:
    """G, B, M, the lines of weight and buoyancy and the lever between them."""

    def __init__(self, axes: Axes, run: Track, view: Extent, size: float, *, around: bool):
        self.run, self.around = run, around
        self.size, self.below = size, False
        self.axes, (self.wide, self.low, self.high) = axes, view
        self.path, self.way = _stroke("m-path"), _stroke("g-path")
        self.weight = _stroke("weight", marker="v", markevery=[1])
        self.force = _stroke("buoyancy", marker="^", markevery=[1])
        self.lever = _stroke("bar", solid_capstyle="butt")
        self.marks = {
            name: Line2D([], [], markersize=8, linestyle="", **look)
            for name, look in POINTS.items()
        }
        self.letters = {name: _letter(name, SHIFTS[name], size) for name in POINTS}
        lines = [self.path, self.way, self.weight, self.force, self.lever]
        self.artists: list[Artist] = _moving(
            axes, *lines, *self.marks.values(), *self.letters.values()
        )

    def origin(self, frame: int) -> Floats:
        """What of the earth axes stands at the origin of the panel."""
        return self.run.scene.virtual[:, frame] if self.around else np.zeros(2)

    def fit(self) -> None:
        """Equal scales across and up, once the panel has its place; its longer side shows more."""
        width, height = self.axes.get_window_extent().size
        metre = max(2.0 * self.wide / width, (self.high - self.low) / height)
        middle = 0.5 * (self.low + self.high)
        self.axes.set_xlim(-0.5 * metre * width, 0.5 * metre * width)
        self.axes.set_ylim(middle - 0.5 * metre * height, middle + 0.5 * metre * height)

    def inside(self, at: Floats) -> bool:
        """Whether a point of the panel is known and in view."""
        return bool(abs(at[0]) < self.wide and self.low < at[1] < self.high)

    def update(self, frame: int) -> None:
        """Put everything where it is at a frame."""
        scene, origin = self.run.scene, self.origin(frame)
        places = {
            "G": scene.gravity,
            "Gv": scene.virtual,
            "B": scene.buoyancy,
            "M": scene.metacentre,
        }
        at = {name: points[:, frame] - origin for name, points in places.items()}
        foot = scene.foot[:, frame] - origin
        for name, mark in self.marks.items():
            shown = name != "Gv" or self.run.ship.free_surface > 0.0
            point = at[name][:, None] if shown and self.inside(at[name]) else NOWHERE
            mark.set_data(*point)
            # In the section G and Gv are so near that their letters would cover each other.
            named = name != "Gv" or self.around
            self.letters[name].set_data(*(point if named else NOWHERE))
        self.lever.set_data(*np.stack([at["Gv"], foot], axis=1))
        up = upward(scene.slope[frame])
        self.weight.set_data(*_ray(at["Gv"], up, 0.85 * self.low))
        self.force.set_data(*_ray(foot, up, 0.85 * self.high))
        seen = np.abs(self.run.grid) <= PATH
        path = self.run.ship.metacentre[:, seen]
        self.path.set_data(*self._earth(path, frame))
        self.way.set_data(*self._earth(self.run.gravity[:, : frame + 1], frame))
        self._order_letters(at)

    def _order_letters(self, at: dict[str, Floats]) -> None:
        """The letter of M above that of G where M is, and below it where it is not."""
        below = bool(at["M"][1] < at["Gv"][1])
        if below != self.below:
            self.below = below
            for name in ("G", "Gv", "M"):
                _shift(self.letters[name], name, self._place(name), self.size)

    def _place(self, name: str, shifts: dict[str, Shift] = SHIFTS) -> Shift:
        """Where a letter stands beside its point: G goes up and M down where M lies below G."""
        across, up = shifts[name]
        return (across, LOWERED.get(name, up)) if self.below else (across, up)

    def _earth(self, points: Floats, frame: int) -> Floats:
        scene = self.run.scene
        turned = to_earth(points, scene.roll[frame], scene.rise[frame], self.run.ship.draught)
        return np.asarray(turned - self.origin(frame)[:, None])


class SectionPanel(Points):
    """The section on its wave slope, seen from astern."""

    def __init__(self, axes: Axes, run: Track, view: Extent, size: float) -> None:
        _frame(axes, view, "schematic " * run.ship.schematic + "midship section", size)
        self.hull = Polygon(run.ship.outline.T, closed=True, fc=HULL, ec=style.INK, lw=2.0)
        self.water = Polygon(np.zeros((4, 2)), closed=True, fc=WATER, ec="none", alpha=0.35)
        self.surface = Line2D([], [], color=BUOYANCY, linewidth=2.0)
        self.centre = Line2D([], [], color=style.FAINT, linewidth=1.2, linestyle=style.DASHES[3])
        patches, lines = (self.hull, self.water), (self.surface, self.centre)
        self.sides = [_letter(side, CENTRED, size) for side in ("P", "S")]
        self.push = _stroke("push", markevery=[1])
        under = _moving(axes, *patches, *lines, *self.sides, self.push)
        super().__init__(axes, run, view, size, around=False)
        self.artists = [*under, *self.artists]

    def update(self, frame: int) -> None:
        """Turn the hull, tilt the water, move the points."""
        super().update(frame)
        self.hull.set_xy(self._earth(self.run.ship.outline, frame).T)
        beam, deck = self.run.ship.outline.max(axis=1)
        self.centre.set_data(*self._earth(np.array([[0.0, 0.0], [-0.08, 1.12]]) * deck, frame))
        corners = self._earth(np.array([[-1.17, 1.17], [0.92 * deck / beam] * 2]) * beam, frame)
        for letter, corner in zip(self.sides, corners.T, strict=True):
            letter.set_data(*corner[:, None])
        self._push(frame)
        slope = self.run.scene.slope[frame]
        ends = np.outer(along_water(slope), [-9.0 * self.wide, 9.0 * self.wide])
        self.surface.set_data(*ends)
        deep = upward(slope)[:, None] * 9.0 * self.wide
        self.water.set_xy(np.concatenate([ends, ends[:, ::-1] - deep], axis=1).T)

    def _push(self, frame: int) -> None:
        """An arrow at her weather side, longer for a greater heeling lever of the run."""
        lever, every = float(self.run.heeling_lever[frame]), np.abs(self.run.heeling_lever)
        if abs(lever) < NONE:
            self.push.set_data([np.nan] * 2, [np.nan] * 2)
            return
        weather = -np.sign(lever)
        beam, draught = float(self.run.ship.outline[0].max()), self.run.ship.draught
        tip = self._earth(np.array([[1.08 * weather * beam], [draught]]), frame)[:, 0]
        length = (0.3 + 0.4 * abs(lever) / float(every.max())) * beam
        self.push.set_data([tip[0] + weather * length, tip[0]], [tip[1], tip[1]])
        self.push.set_marker("<" if weather > 0.0 else ">")


class DetailPanel(Points):
    """The surroundings of G, large enough to see the lever."""

    def __init__(self, axes: Axes, run: Track, view: Extent, size: float) -> None:
        _frame(axes, view, "G, enlarged", size)
        super().__init__(axes, run, view, size, around=True)
        self.letters["Z"] = _letter("Z", SHIFTS["Z"], size)
        self.turned = _turned(run.scene.foot[0] - run.scene.virtual[0], view[0])
        self.artists = [*self.artists, *_moving(axes, self.letters["Z"])]

    def update(self, frame: int) -> None:
        """Move the points; keep the letters clear of the lever, to whichever side it lies."""
        super().update(frame)
        at = self.run.scene.foot[:, frame] - self.origin(frame)
        self.letters["Z"].set_data(*(at[:, None] if self.inside(at) else NOWHERE))
        shifts = TURNED if self.turned[frame] else SHIFTS
        for name in shifts:
            _shift(self.letters[name], name, self._place(name, shifts), self.size)


def _stroke(name: str, **look: Any) -> Line2D:
    """An empty line as the legend has it."""
    stroke = STROKES[name]
    return Line2D(
        [], [], color=stroke.colour, linewidth=stroke.width, linestyle=stroke.style, **look
    )


def _turned(across: Floats, wide: float) -> list[bool]:
    """Whether the lever lies to port, frame by frame; one near nothing changes no side."""
    sides = [False]
    for step in across:
        sides.append(bool(step < 0.0) if abs(step) > CLEAR * wide else sides[-1])
    return sides[1:]


def _moving(axes: Axes, *artists: Artist) -> list[Artist]:
    """Put artists into a panel, to be drawn frame by frame, without a say in its limits."""
    for artist in artists:
        artist.set_animated(True)
        axes.add_artist(artist)
    return list(artists)


def _ray(start: Floats, direction: Floats, height: float) -> Floats:
    """A line (2, 2) from a point along a direction to a height."""
    return np.stack([start, start + (height - start[1]) / direction[1] * direction], axis=1)


def _letter(words: str, shift: Shift, size: float) -> Line2D:
    """A letter that moves with a point, `shift` [pt] away from it.

    It is the marker of a line: a text would be laid out anew in every frame, at ten times the cost.
    """
    letter = Line2D([], [], color=style.INK, markeredgewidth=0.0, linestyle="", gid=words)
    _shift(letter, words, shift, size)
    return letter


def _shift(letter: Line2D, words: str, shift: Shift, size: float) -> None:
    """Put a letter to another side of its point."""
    path = _glyphs(words, shift, size)
    letter.set_marker(path)
    # A marker is scaled so that its furthest coordinate comes to half its size.
    letter.set_markersize(2.0 * float(np.abs(path.vertices).max()))


@lru_cache
def _glyphs(words: str, shift: Shift, size: float) -> Path:
    font = FontProperties(family=[style.FONT], weight="bold")
    path: Path = TextPath(shift, words, size=size, prop=font)
    if shift == CENTRED:
        return path.transformed(Affine2D().translate(*(-0.5 * np.ptp(path.vertices, axis=0))))
    return path


def _frame(axes: Axes, view: Extent, title: str, size: float) -> None:
    """Fixed axes without ticks, a bar for the scale."""
    axes.spines[["top", "right"]].set_visible(True)
    axes.grid(False)
    wide, low, high = view
    axes.set(xlim=(-wide, wide), ylim=(low, high), xticks=[], yticks=[])
    axes.set_title(title, loc="left", fontsize=size)
    length = _round(0.45 * wide)
    bar = AnchoredSizeBar(
        axes.transData, length, f"{length:g} m", "lower right", frameon=False, label_top=True,
        size_vertical=0.02 * wide, color=style.INK, fontproperties=FontProperties(size=style.SMALL),
    )  # fmt: skip
    bar.set_in_layout(False)
    axes.add_artist(bar)


def _round(length: float) -> float:
    """The nearest round length below: 1, 2 or 5 times a power of ten."""
    power = 10.0 ** np.floor(np.log10(length))
    return float(max(step for step in (1.0, 2.0, 5.0) if step * power <= length) * power)
