"""The criteria in pictures: GZ against the general ones, and the areas of the weather criterion."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from rollsim.criteria.at_rest import ShipAtRest, Side
from rollsim.criteria.requirement import Judgement
from rollsim.show import style
from rollsim.show.figures.sudden import HEELING, RIGHTING
from rollsim.show.query.criteria import QUANTITIES, VERDICTS

MOST = 3
"""So many cases stand below each other."""
ACROSS = 66
"""Characters of a line of words in a panel."""
ROW = 4.6
"""Height of a row [in]."""
FIRST: dict[str, Any] = {"facecolor": "#d9d9d9", "edgecolor": "none"}
SECOND: dict[str, Any] = {
    "facecolor": "#f2f2f2", "edgecolor": "#8a8a8a", "hatch": "...", "linewidth": 0.0,
}  # fmt: skip
OF_AREAS = (
    "GZ", "flooding", "steady wind's lever lw1", "gust's lever lw2", "area a", "area b",
)  # fmt: skip
NOTE = (
    "GZ at the start, off-centre G and free surfaces in it, towards the side of the lesser curve; "
    "heels count outwards, windward is negative. A fulfilled criterion is no proof of safety."
)


class Drawn(NamedTuple):
    """A case to be drawn: its name, the ship, and what each rule says of her."""

    name: str
    ship: ShipAtRest
    by_rule: Mapping[str, Judgement]


@style.styled
def criteria_figure(title: str, drawn: Sequence[Drawn], *, loll: bool = False) -> Figure:
    """A row for each case: the general criteria to the left, wind and rolling to the right."""
    shown = drawn[:MOST]
    marks = {name for each in shown for name in _marked(each)}
    handles = _legend(marks, floods=any(_floods(each) for each in shown))
    strip = style.strip_height(handles)
    notes = [NOTE]
    if len(drawn) > len(shown):
        notes.append(f"Shown: the first {MOST} of {len(drawn)} cases; --case draws another.")
    height = 1.6 + ROW * len(shown) + strip
    figure = style.new_figure(title, "published criteria", notes=notes, loll=loll, height=height)
    grid = GridSpec(len(shown) + 1, 2, figure, height_ratios=[*[ROW] * len(shown), strip])
    for row, each in enumerate(shown):
        general = style.panel(figure, grid[row, 0])
        weather = style.panel(figure, grid[row, 1])
        _draw_general(general, each)
        _draw_weather(weather, each)
        if row == len(shown) - 1:
            for axes in (general, weather):
                axes.set_xlabel("heel, outwards [°]")
    style.legend_strip(figure, grid[-1, :], handles)
    return figure


class Areas(NamedTuple):
    """A case of which areas a and b are drawn: its name, the ship, heels and levers to mark."""

    name: str
    ship: ShipAtRest
    marks: Mapping[str, float]


@style.styled
def areas_figure(title: str, drawn: Sequence[Areas]) -> Figure:
    """The areas of the weather criterion of up to three cases, side by side."""
    shown = drawn[:MOST]
    marks = {name for each in shown for name in each.marks}
    floods = any(each.ship.flooding < _to(each.ship.side, 50.0, 6.0) for each in shown)
    handles = [h for h in _legend(marks, floods=floods) if h.get_label() in OF_AREAS]
    strip = style.strip_height(handles)
    notes = [NOTE]
    if len(drawn) > len(shown):
        notes.append(f"Shown: the first {MOST} of {len(drawn)} cases.")
    figure = style.new_figure(title, "weather criterion", notes=notes, height=5.0 + strip)
    grid = GridSpec(2, len(shown), figure, height_ratios=[4.0, strip])
    for column, each in enumerate(shown):
        axes = style.panel(figure, grid[0, column])
        axes.set_title(style.literal(each.name, 90 // len(shown)), loc="left")
        _draw_areas(axes, each.ship, each.marks)
        axes.set_xlabel("heel, outwards [°]")
        if column == 0:
            axes.set_ylabel("GZ and wind levers [m]")
    style.legend_strip(figure, grid[1, :], handles)
    return figure


def _heels(side: Side, low: float, high: float) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Heels [rad] to draw between two, as far as the levers are known."""
    return np.linspace(max(low, side.start), min(high, side.end), 400)


def _draw_general(axes: Axes, each: Drawn) -> None:
    ship, side = each.ship, each.ship.side
    axes.set_title(style.literal(f"{each.name}: {side.name} side", 60), loc="left")
    far = _to(side, 45.0, 8.0)
    heel = _heels(side, 0.0, far)
    judgement = each.by_rule.get("general")
    thirty, to = math.radians(30.0), min(math.radians(40.0), ship.flooding, side.end)
    for low, high, look in ((0.0, min(thirty, side.end), FIRST), (thirty, to, SECOND)):
        if high > low:
            part = _heels(side, low, high)
            axes.fill_between(np.degrees(part), 0.0, side.value(part), zorder=1, **look)
    style.zero_line(axes)
    axes.plot(np.degrees(heel), side.value(heel), color=style.COLOURS[0])
    axes.plot([0.0, math.degrees(1.0)], [0.0, ship.gm], color=style.INK, linewidth=1.0,
              linestyle=style.DASHES[2])  # fmt: skip
    axes.hlines(0.20, 30.0, math.degrees(far), color=style.COLOURS[2], linewidth=1.6)
    axes.axvline(25.0, color=style.FAINT, linestyle=style.LIMIT_DASHES["roll_limit"], linewidth=1.2)
    if ship.flooding < far:
        _flooding(axes, ship.flooding)
    peak = float(np.max(side.value(heel)))
    axes.set_ylim(min(0.0, float(np.min(side.value(heel)))) - 0.03, 1.75 * max(peak, 0.22))
    axes.set_xlim(0.0, math.degrees(far))
    axes.set_ylabel("GZ [m]")
    _words(axes, _general_words(judgement))


def _general_words(judgement: Judgement | None) -> list[str]:
    """Each line of a criterion: found, in brackets what is required, the verdict."""
    if judgement is None:
        return []
    lines = []
    for r in judgement.requirements:
        if r.required is None:
            continue
        words, bound, digits = QUANTITIES[r.quantity]
        value = "–" if r.found is None else f"{r.found:.{digits}f}"
        required = f"{bound} {r.required:.{digits}f}"
        lines.append(f"{words}: {value} ({required}) {VERDICTS[r.fulfilled]}")
    return lines


def _weather_rule(each: Drawn) -> str:
    """The form of the weather criterion that is drawn of a case: one with areas, if any."""
    rules = [name for name in ("weather", "weather-long-periods") if name in each.by_rule]
    return next((n for n in rules if "area_a" in each.by_rule[n].marks), rules[0] if rules else "")


def _marked(each: Drawn) -> Mapping[str, float]:
    """The marks of that form."""
    chosen = _weather_rule(each)
    return each.by_rule[chosen].marks if chosen else {}


def _draw_weather(axes: Axes, each: Drawn) -> None:
    """The wind's levers against GZ, with areas a and b where there are any, in words as well."""
    chosen = _weather_rule(each)
    if not chosen:
        axes.set_axis_off()
        return
    axes.set_title(chosen.replace("-", " "), loc="left")
    _draw_areas(axes, each.ship, each.by_rule[chosen].marks)
    axes.set_ylabel("GZ and wind levers [m]")
    _words(axes, _weather_words(each.by_rule[chosen]))


def _draw_areas(axes: Axes, ship: ShipAtRest, marks: Mapping[str, float]) -> None:
    """The wind's levers against GZ, with areas a and b where there are any."""
    side = ship.side
    gust = marks.get("gust_lever", 0.0)
    low = min(marks.get("start", 0.0), 0.0) - math.radians(6.0)
    heel = _heels(side, low, _to(side, 50.0, 6.0))
    style.zero_line(axes)
    style.zero_line(axes, vertical=True)
    axes.plot(np.degrees(heel), side.value(heel), color=style.COLOURS[0])
    for name, dash in (("steady_lever", 1), ("gust_lever", 0)):
        if name in marks:
            axes.axhline(marks[name], color=style.INK, linewidth=1.4, linestyle=style.DASHES[dash])
    if "area_a" in marks:
        for start, end, look, name in (
            (marks["start"], marks["meeting"], HEELING, "a"),
            (marks["meeting"], marks["end"], RIGHTING, "b"),
        ):
            part = _heels(side, start, end)
            axes.fill_between(np.degrees(part), side.value(part), gust, zorder=1, **look)
            _letter(axes, side, part, gust, name)
    _angles(axes, marks)
    if ship.flooding < float(heel[-1]):
        _flooding(axes, ship.flooding)
    values = side.value(heel)
    least, most = float(np.min(values)), max(float(np.max(values)), gust, 0.1)
    axes.set_ylim(least - 0.16 * (most - least), most + 0.62 * (most - least))
    axes.set_xlim(math.degrees(heel[0]), math.degrees(heel[-1]))


def _letter(axes: Axes, side: Side, part: Any, gust: float, name: str) -> None:
    """The name of an area, in its middle."""
    if part[-1] - part[0] < math.radians(3.0):
        return
    depth = np.abs(side.value(part) - gust)
    at = float(np.sum(part * depth) / np.sum(depth)) if np.any(depth) else float(part[0])
    axes.text(
        math.degrees(at), 0.5 * (float(side.value(at)) + gust), name, fontsize=style.TEXT,
        fontstyle="italic", ha="center", va="center", zorder=7,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )  # fmt: skip


def _angles(axes: Axes, marks: Mapping[str, float]) -> None:
    """φ0, the end of φ1 and φ2 as short marks at the foot, with their letters."""
    named = (("start", "φ0 − φ1", 4.0), ("steady_heel", "φ0", 19.0), ("end", "φ2", 4.0))
    for key, name, up in named:
        if key in marks:
            angle = math.degrees(marks[key])
            axes.axvline(angle, ymax=0.93 if key == "end" else 0.72, color=style.FAINT,
                         linewidth=1.0, linestyle=style.DASHES[2])  # fmt: skip
            axes.annotate(
                f"{name} = {angle:.1f}°", (angle, 0.0), (3.0, up), fontsize=style.SMALL,
                xycoords=("data", "axes fraction"), textcoords="offset points",
                ha="right" if key == "end" else "left", zorder=8,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8},
            )  # fmt: skip


def _weather_words(judgement: Judgement) -> list[str]:
    roll = next(r for r in judgement.requirements if r.quantity == "roll_to_windward")
    first = [] if roll.found is None else [f"roll to windward φ1: {roll.found:.1f}°"]
    missing = [] if roll.found is not None else textwrap.wrap(roll.note, ACROSS)
    return [*first, *_general_words(judgement), *missing]


def _to(side: Side, least: float, further: float) -> float:
    """Heel [rad] to which a panel goes: so many degrees past the vanishing angle or a least one."""
    return min(side.end, max(side.vanishing, math.radians(least)) + math.radians(further))


def _floods(each: Drawn) -> bool:
    """Whether the flooding angle lies within either panel of a case."""
    general, weather = (_to(each.ship.side, *ends) for ends in ((45.0, 8.0), (50.0, 6.0)))
    return each.ship.flooding < max(general, weather if each.by_rule else 0.0)


def _legend(marks: set[str], *, floods: bool) -> list[Artist]:
    """What is drawn in any of the panels."""
    absent = {
        "flooding": not floods,
        "steady wind's lever lw1": "steady_lever" not in marks,
        "gust's lever lw2": "gust_lever" not in marks,
        "area a": "area_a" not in marks,
        "area b": "area_a" not in marks,
    }
    return [handle for handle in _handles() if not absent.get(str(handle.get_label()))]


def _words(axes: Axes, lines: Sequence[str]) -> None:
    """Lines of words at the top of a panel."""
    axes.text(
        0.015, 0.985, "\n".join(lines), transform=axes.transAxes, va="top", fontsize=style.FOOT + 1,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5, "alpha": 0.85}, zorder=8,
    )  # fmt: skip


def _flooding(axes: Axes, flooding: float) -> None:
    axes.axvline(math.degrees(flooding), color=style.INK,
                 linestyle=style.LIMIT_DASHES["flooding_limit"], linewidth=1.8)  # fmt: skip


def _handles() -> list[Artist]:
    return [
        Line2D([], [], color=style.COLOURS[0], label="GZ"),
        Patch(**FIRST, label="area to 30°"),
        Patch(**SECOND, label="30° to 40° or flooding"),
        Line2D([], [], color=style.COLOURS[2], linewidth=1.6, label="0.20 m from 30° on"),
        Line2D([], [], color=style.FAINT, linestyle=style.LIMIT_DASHES["roll_limit"],
               linewidth=1.2, label="25°"),
        Line2D([], [], color=style.INK, linestyle=style.DASHES[2], linewidth=1.0, label="GM"),
        Line2D([], [], color=style.INK, linestyle=style.LIMIT_DASHES["flooding_limit"],
               linewidth=1.8, label="flooding"),
        Line2D([], [], color=style.INK, linestyle=style.DASHES[1], linewidth=1.4,
               label="steady wind's lever lw1"),
        Line2D([], [], color=style.INK, linewidth=1.4, label="gust's lever lw2"),
        Patch(**HEELING, label="area a"),
        Patch(**RIGHTING, label="area b"),
    ]  # fmt: skip
