"""Beside the section: the GZ curve, the phase portrait and the potential, with moving points."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from rollsim.measures.margins import roll_energy
from rollsim.show import style
from rollsim.show.animation.panel import HEADROOM, Scale, reaching
from rollsim.show.animation.section import BUOYANCY, LEVER
from rollsim.show.query import cases
from rollsim.show.query.curves import Potential, escape_line
from rollsim.show.query.track import Track

TRAIL = 30.0
"""How much of the past [s] the phase portrait keeps."""
EDGE = style.COLOURS[2]


def limit_lines(axes: Axes, limits: Mapping[str, float], reach: float, *, upright: bool) -> None:
    """The limits [degree] within reach on both sides, across or upright."""
    draw = axes.axvline if upright else axes.axhline
    for name, angle in limits.items():
        if angle < reach:
            for side in (-angle, angle):
                draw(side, color=style.FAINT, linestyle=style.LIMIT_DASHES[name], linewidth=1.4)


def moving(axes: Axes, marker: str, colour: str) -> Line2D:
    """A point that moves."""
    (line,) = axes.plot(
        [], [], marker=marker, color=colour, markersize=10, markeredgecolor=style.INK, linestyle="",
        animated=True, zorder=6,
    )  # fmt: skip
    return line


def _whole(point: Line2D) -> None:
    """Let a point that never leaves its panel stand over the frame, not be cut by it."""
    point.set_clip_on(False)
    point.set_in_layout(False)


class LeverPanel:
    """GZ as it is at the moment, the heel that the levers feel, and the heeling lever."""

    def __init__(self, axes: Axes, run: Track, scale: Scale, limits: Mapping[str, float]) -> None:
        self.run = run
        style.zero_line(axes)
        style.zero_line(axes, vertical=True)
        limit_lines(axes, limits, scale.heel, upright=True)
        axes.set(xlim=(-scale.heel, scale.heel), ylim=scale.lever, ylabel="GZ [m]")
        self.seen = np.abs(run.grid) <= scale.heel
        (self.curve,) = axes.plot(
            run.grid[self.seen], run.curve(0)[self.seen], color=style.INK, animated=run.moves
        )
        (self.drop,) = axes.plot([], [], color=LEVER, linewidth=4.0, animated=True, zorder=4)
        self.point = moving(axes, "o", LEVER)
        self.heeling = moving(axes, "D", BUOYANCY)
        self.heeling.set(markerfacecolor="none", markeredgecolor=BUOYANCY, markeredgewidth=2.4)
        self.heeling.set_markersize(13)
        self.artists: list[Artist] = [self.drop, self.point]
        if run.moves:
            self.artists.insert(0, self.curve)
        if np.any(run.heeling_lever):
            self.artists.append(self.heeling)

    def update(self, frame: int) -> None:
        """Move the curve and the points."""
        run = self.run
        if run.moves:
            self.curve.set_ydata(run.curve(frame)[self.seen])
        heel, lever = run.heel[frame], run.scene.lever[frame]
        self.drop.set_data([heel, heel], [0.0, lever])
        self.point.set_data([heel], [lever])
        self.heeling.set_data([heel], [run.heeling_lever[frame]])


class PhasePanel:
    """Roll rate over heel, with the line outside of which she goes over undamped and undriven."""

    def __init__(
        self, axes: Axes, run: Track, scale: Scale, well: Potential, gyradius: float
    ) -> None:
        self.run = run
        style.zero_line(axes)
        style.zero_line(axes, vertical=True)
        if well.barriers and np.isfinite(gyradius):
            heel, bound = escape_line(well, gyradius)
            for side in (bound, -bound):
                axes.plot(heel, side, color=EDGE, linestyle=style.DASHES[1], linewidth=1.6)
        axes.set(xlim=(-scale.heel, scale.heel), ylim=(-scale.rate, scale.rate))
        axes.set_ylabel("rate [°/s]")
        (self.trail,) = axes.plot([], [], color=style.COLOURS[0], linewidth=1.4, animated=True)
        self.point = moving(axes, "o", style.COLOURS[0])
        _whole(self.point)
        self.artists: list[Artist] = [self.trail, self.point]

    def update(self, frame: int) -> None:
        """Move the point and its trail."""
        run = self.run
        now = run.times[frame]
        first, last = np.searchsorted(run.path[0], [now - TRAIL, now])
        _, heel, rate = run.path[:, first:last]
        self.trail.set_data(np.append(heel, run.heel[frame]), np.append(rate, run.heel_rate[frame]))
        self.point.set_data([run.heel[frame]], [run.heel_rate[frame]])


class PotentialPanel:
    """The potential at the start of the run, the ball in it, and its energy above."""

    def __init__(
        self, axes: Axes, run: Track, scale: Scale, well: Potential, gyradius: float
    ) -> None:
        self.run = run
        self.low = well.at(run.heel)
        self.high = roll_energy(np.radians(run.heel_rate), gyradius, self.low)
        seen = np.abs(well.heel) <= scale.heel
        axes.plot(well.heel[seen], well.value[seen], color=style.INK)
        if well.barriers:
            axes.axhline(well.escape, color=EDGE, linestyle=style.DASHES[1], linewidth=1.6)
        top = HEADROOM * float(np.fmax.reduce(self.high, initial=1e-3))
        top = reaching(top, HEADROOM * well.escape) if well.barriers else top
        axes.set(xlim=(-scale.heel, scale.heel), ylim=(-0.2 * top, top))
        axes.set_ylabel("energy [m·rad]")
        (self.swing,) = axes.plot([], [], color=style.COLOURS[0], linewidth=2.4, animated=True)
        self.ball = moving(axes, "o", style.INK)
        self.point = moving(axes, "_", style.COLOURS[0])
        self.artists: list[Artist] = [self.swing, self.ball, self.point]

    def update(self, frame: int) -> None:
        """Move the ball and what it has in energy of motion."""
        heel, low, high = self.run.heel[frame], self.low[frame], self.high[frame]
        self.swing.set_data([heel, heel], [low, high])
        self.ball.set_data([heel], [low])
        self.point.set_data([heel], [high])


class HistoryPanel:
    """Roll and wave slope against time, up to the moment."""

    def __init__(self, axes: Axes, run: Track, scale: Scale, limits: Mapping[str, float]) -> None:
        self.run = run
        style.zero_line(axes)
        limit_lines(axes, limits, scale.roll, upright=False)
        room = 0.015 * (scale.end - scale.start)
        axes.set(xlim=(scale.start, scale.end + room), ylim=(-scale.roll, scale.roll))
        axes.set(xlabel="time [s]", ylabel="roll [°]")
        (self.slope,) = axes.plot(
            [], [], color=BUOYANCY, linewidth=1.2, linestyle=(0, (3, 1.5)), animated=True
        )
        (self.roll,) = axes.plot([], [], color=style.INK, linewidth=1.8, animated=True)
        self.point = moving(axes, "o", LEVER)
        _whole(self.point)
        self.artists: list[Artist] = [self.roll, self.point]
        if np.any(run.stored.slope):
            self.artists.insert(0, self.slope)
        self.first = int(np.searchsorted(run.stored.t, run.times[0]))

    def update(self, frame: int) -> None:
        """Draw on to the moment."""
        run = self.run
        last = int(np.searchsorted(run.stored.t, run.times[frame]))
        t, roll, slope = (
            each[self.first : last] for each in (run.stored.t, run.stored.roll, run.stored.slope)
        )
        now = run.times[frame]
        self.roll.set_data(np.append(t, now), np.append(roll, run.roll[frame]))
        self.slope.set_data(np.append(t, now), np.append(slope, run.slope[frame]))
        self.point.set_data([now], [run.roll[frame]])


def limits_text(limits: Mapping[str, float]) -> str:
    """The limits of a case in words."""
    names = {name: cases.LIMITS[name].removesuffix(" limit") for name in limits}
    return ", ".join(f"{names[name]} ±{angle:.4g}°" for name, angle in limits.items())
