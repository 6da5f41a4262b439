"""The greatest KG over displacement: what the rules allow and what the storms allow."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D

from rollsim.show import style
from rollsim.show.query.criteria import QUANTITIES, Row

NOTE = (
    "Greatest KG: height of G above the keel, free surfaces not included; free surfaces and "
    "off-centre G as they are in each condition. The governing line allows the least; hollow: "
    "above it the rule has no verdict."
)
STORMS = "#2b2b2b"


@style.styled
def greatest_kg_figure(
    title: str, rows: Sequence[Row], names: dict[int, str], storms: Sequence[Row], asked: str
) -> Figure:
    """Each rule's greatest KG over displacement, her own KG, and that of the storms with limits.

    `rows` are lines with `on_curve`; `storms` have condition, displacement_t, kg_m, lower, upper.
    """
    rules = list(dict.fromkeys(str(row["rule"]) for row in rows))
    handles = _legend(rules, bool(storms), asked)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        title, "greatest KG by the criteria", notes=[NOTE], height=style.HEIGHT + strip
    )
    grid = GridSpec(2, 1, figure, height_ratios=[style.HEIGHT - 1.5, strip])
    axes = style.panel(figure, grid[0, 0])
    shown = [row for row in rows if row["on_curve"] or row["case"] in names]
    if len({row["displacement_t"] for row in shown}) > 1:
        _over_displacement(axes, shown, rules, storms)
    else:
        _by_condition(axes, shown, rules, names, storms)
    axes.set_ylabel("KG [m]")
    style.legend_strip(figure, grid[1, 0], handles)
    return figure


def _least(rows: Sequence[Row], rule: str) -> Row | None:
    """The line of a rule that allows the least."""
    own = [row for row in rows if row["rule"] == rule and row["greatest_kg_m"] is not None]
    return min(own, key=lambda row: float(row["greatest_kg_m"]), default=None)


def _groups(rows: Sequence[Row]) -> list[list[Row]]:
    """The lines of each ship."""
    groups: dict[tuple[Any, ...], list[Row]] = {}
    for row in rows:
        groups.setdefault((row["case"], row["on_curve"], row["displacement_t"]), []).append(row)
    return list(groups.values())


def _over_displacement(
    axes: Axes, rows: Sequence[Row], rules: Sequence[str], storms: Sequence[Row]
) -> None:
    """Curves where the levers carry the displacement, else the cases as points joined in order."""
    for i, rule in enumerate(rules):
        for curve in (True, False):
            own = [g for g in _groups(rows) if g[0]["on_curve"] is curve]
            least = sorted(
                ((g[0]["condition"] if curve else "", row["displacement_t"], row["greatest_kg_m"])
                 for g in own if (row := _least(g, rule))),
            )  # fmt: skip
            for condition in dict.fromkeys(name for name, _, _ in least):
                points = [(x, y) for name, x, y in least if name == condition]
                look = {} if curve else {"linestyle": "none", "marker": style.MARKERS[i]}
                axes.plot(*zip(*points, strict=True), **style.cue(i) | look)
    for group in _groups(rows):
        if not group[0]["on_curve"]:
            x, y = group[0]["displacement_t"], group[0]["kg_m"]
            axes.plot(x, y, **_own())
            axes.annotate(style.literal(str(group[0]["condition"]), 24), (x, y), (6, -12),
                          textcoords="offset points", fontsize=style.SMALL)  # fmt: skip
    _storms(axes, storms, {})
    _governing(axes, rows)
    axes.set_xlabel("displacement [t]")


def _by_condition(
    axes: Axes,
    rows: Sequence[Row],
    rules: Sequence[str],
    names: dict[int, str],
    storms: Sequence[Row],
) -> None:
    """At one displacement: a column for each case."""
    groups = _groups(rows)
    places = {group[0]["case"]: float(i) for i, group in enumerate(groups)}
    for group in groups:
        x = places[group[0]["case"]]
        for i, rule in enumerate(rules):
            if row := _least(group, rule):
                axes.plot(x, row["greatest_kg_m"], linestyle="none", markersize=10,
                          **_marker(i, hollow=bool(row["note"])))  # fmt: skip
        least = next((row for row in group if row["governing"]), None)
        if least:
            words = QUANTITIES[str(least["quantity"])].words
            axes.annotate(f"{least['rule']}: {words}", (x, least["greatest_kg_m"]), (10, -4),
                          textcoords="offset points", fontsize=style.SMALL)  # fmt: skip
        axes.plot(x, group[0]["kg_m"], **_own())
    conditions = {str(group[0]["condition"]): places[group[0]["case"]] for group in groups}
    _storms(axes, storms, conditions)
    axes.set_xlim(-0.4, len(groups) - 0.2)
    axes.set_xticks(list(places.values()), [style.literal(names[case], 26) for case in places])


def _storms(axes: Axes, storms: Sequence[Row], places: dict[str, float]) -> None:
    for row in storms:
        x = places.get(str(row["condition"])) if places else float(row["displacement_t"])
        if x is None or not np.isfinite(row["kg_m"]):
            continue
        low, high = (abs(row["kg_m"] - row[end]) for end in ("lower", "upper"))
        axes.errorbar(x - (0.08 if places else 0.0), row["kg_m"], [[low], [high]], capsize=5,
                      **_storm_look())  # fmt: skip


def _governing(axes: Axes, rows: Sequence[Row]) -> None:
    """Along a curve the names of the lines that govern, where they change."""
    curve = [row for row in rows if row["governing"] and row["on_curve"]]
    curve = curve or [row for row in rows if row["governing"]]
    last = ""
    for row in sorted(curve, key=lambda row: (str(row["condition"]), row["displacement_t"])):
        words = f"{row['rule']}: {QUANTITIES[str(row['quantity'])].words}"
        if words != last:
            place = row["displacement_t"], row["greatest_kg_m"]
            axes.annotate(words, place, (4, -16), textcoords="offset points",
                          fontsize=style.SMALL)  # fmt: skip
        last = words


def _marker(i: int, *, hollow: bool) -> dict[str, Any]:
    colour = style.cue(i)["color"]
    face = "white" if hollow else colour
    return {"marker": style.MARKERS[i], "color": colour, "markerfacecolor": face}


def _own() -> dict[str, Any]:
    return {"marker": "_", "markersize": 26, "markeredgewidth": 3, "color": style.COLOURS[2],
            "linestyle": "none", "zorder": 5}  # fmt: skip


def _storm_look() -> dict[str, Any]:
    return {"marker": "*", "markersize": 13, "color": STORMS, "linestyle": "none", "zorder": 6}


def _legend(rules: Sequence[str], storms: bool, asked: str) -> list[Artist]:
    handles: list[Artist] = [
        Line2D([], [], **style.cue(i), marker=style.MARKERS[i], label=f"{rule}: greatest KG")
        for i, rule in enumerate(rules)
    ]
    handles.append(Line2D([], [], **_own() | {"markersize": 14}, label="KG of the condition"))
    if storms:
        words = style.literal(f"greatest KG by the storms, 95 %: {asked}", 100)
        handles.append(Line2D([], [], **_storm_look(), label=words))
    return handles
