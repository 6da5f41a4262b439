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
    "Greatest KG: height of G above the keel, free surfaces not included; free surfaces, "
    "moving liquid and off-centre G as they are in each condition, on a curve as in the first of "
    "its ship, a hull upright on an even keel. Numbered: the line that governs from there on, "
    "for it allows the least. Hollow: above it the rule has no verdict."
)
STORMS = "#2b2b2b"

Group = list[Row]
"""The lines of one ship at one displacement."""


@style.styled
def greatest_kg_figure(
    title: str, rows: Sequence[Row], names: dict[int, str], storms: Sequence[Row], asked: str
) -> Figure:
    """Each rule's greatest KG over displacement, her own KG, and that of the storms with limits.

    `rows` are lines with `on_curve`; `storms` have condition, place, displacement [t], and kg,
    lower and upper [m].
    """
    groups = _groups([row for row in rows if row["on_curve"] or row["case"] in names])
    rules = list(dict.fromkeys(str(row["rule"]) for row in rows))
    lines = list(dict.fromkeys(_line(least) for g in groups if (least := _governing(g))))
    handles = _legend(rules, lines, bool(storms), asked)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        title,
        f"greatest KG by the criteria{' and by storms' if storms else ''}",
        notes=[NOTE],
        height=style.HEIGHT + strip,
    )
    grid = GridSpec(2, 1, figure, height_ratios=[style.HEIGHT - 1.5, strip])
    axes = style.panel(figure, grid[0, 0])
    if len({group[0]["displacement_t"] for group in groups}) > 1:
        _over_displacement(axes, groups, rules, lines)
        _storms(axes, storms, {})
    else:
        _by_condition(axes, groups, rules, lines, names)
        places = {str(group[0]["condition"]): float(i) for i, group in enumerate(groups)}
        _storms(axes, storms, places)
    axes.set_ylabel("KG [m]")
    style.legend_strip(figure, grid[1, 0], handles)
    return figure


def _groups(rows: Sequence[Row]) -> list[Group]:
    groups: dict[tuple[Any, ...], Group] = {}
    for row in rows:
        groups.setdefault((row["on_curve"], row["case"], row["displacement_t"]), []).append(row)
    return list(groups.values())


def _least(group: Group, rule: str) -> Row | None:
    """The line of a rule that allows the least."""
    own = [row for row in group if row["rule"] == rule and row["greatest_kg_m"] is not None]
    return min(own, key=lambda row: float(row["greatest_kg_m"]), default=None)


def _governing(group: Group) -> Row | None:
    return next((row for row in group if row["governing"]), None)


def _line(row: Row) -> str:
    return f"{row['rule']}: {QUANTITIES[str(row['quantity'])].words}"


def _over_displacement(
    axes: Axes, groups: Sequence[Group], rules: Sequence[str], lines: Sequence[str]
) -> None:
    """Curves where the levers carry the displacement, points for the cases, her KG in each."""
    curves: dict[tuple[int, str], list[Row]] = {}
    for group in groups:
        for i, rule in enumerate(rules):
            if (row := _least(group, rule)) is None:
                continue
            if row["on_curve"]:
                curves.setdefault((row["case"], rule), []).append(row)
            if row["note"] or not row["on_curve"]:
                size = 6 if row["on_curve"] else 9
                axes.plot(row["displacement_t"], row["greatest_kg_m"],
                          **_marker(i, hollow=bool(row["note"])), markersize=size)  # fmt: skip
        if not group[0]["on_curve"]:
            _own_kg(axes, group[0], group[0]["displacement_t"], str(group[0]["condition"]))
    for (_, rule), rows in curves.items():
        x, y = ([row[name] for row in rows] for name in ("displacement_t", "greatest_kg_m"))
        axes.plot(x, y, **style.cue(rules.index(rule)), zorder=1.5)
    along = [group for group in groups if group[0]["on_curve"]] or list(groups)
    last = ""
    for group in sorted(along, key=lambda g: (g[0]["case"], g[0]["displacement_t"])):
        row = _governing(group)
        if row and _line(row) != last:
            _badge(axes, row, row["displacement_t"], lines)
            last = _line(row)
    axes.set_xlabel("displacement [t]")


def _by_condition(
    axes: Axes,
    groups: Sequence[Group],
    rules: Sequence[str],
    lines: Sequence[str],
    names: dict[int, str],
) -> None:
    """At one displacement: a column for each case."""
    for x, group in enumerate(groups):
        for i, rule in enumerate(rules):
            if row := _least(group, rule):
                axes.plot(x, row["greatest_kg_m"], **_marker(i, hollow=bool(row["note"])),
                          markersize=10)  # fmt: skip
        if row := _governing(group):
            _badge(axes, row, x, lines)
        _own_kg(axes, group[0], x, "")
    axes.set_xlim(-0.4, len(groups) - 0.4)
    conditions = [str(group[0]["condition"]) for group in groups]
    apart = len(set(conditions)) == len(groups)
    called = conditions if apart else [names[group[0]["case"]] for group in groups]
    ticks = [style.literal(name, 26) for name in called]
    axes.set_xticks(range(len(groups)), ticks)


def _badge(axes: Axes, row: Row, x: float, lines: Sequence[str]) -> None:
    """The number of a governing line beside its point."""
    axes.annotate(
        str(lines.index(_line(row)) + 1), (x, row["greatest_kg_m"]), (-13, -15),
        textcoords="offset points", fontsize=style.SMALL, fontweight="bold", ha="center",
        va="center", zorder=7,
        bbox={"boxstyle": "circle,pad=0.2", "facecolor": "white", "edgecolor": style.INK},
    )  # fmt: skip


def _own_kg(axes: Axes, row: Row, x: float, name: str) -> None:
    axes.plot(x, row["kg_m"], **_own())
    if name:
        axes.annotate(style.literal(name, 24), (x, row["kg_m"]), (0, -14), ha="center",
                      textcoords="offset points", fontsize=style.SMALL)  # fmt: skip


def _storms(axes: Axes, storms: Sequence[Row], places: dict[str, float]) -> None:
    """The storms' answers; where a case met several seas, each with its place in the sweep."""
    known = [row for row in storms if np.isfinite(row["kg"])]
    shift = 0.10 if places else 0.0
    for row in known:
        x = places.get(str(row["condition"])) if places else float(row["displacement"])
        if x is None:
            continue
        low, high = (abs(row["kg"] - row[end]) for end in ("lower", "upper"))
        axes.errorbar(x + shift, row["kg"], [[low], [high]], capsize=5, **_storm_look())
        column = "condition" if places else "displacement"
        if sum(other[column] == row[column] for other in known) > 1:
            name = row["place"] if places else ", ".join(filter(None, _storm(row)))
            axes.annotate(style.literal(name, 40), (x + shift, row["kg"]), (10, -4),
                          textcoords="offset points", fontsize=style.SMALL)  # fmt: skip


def _storm(row: Row) -> tuple[str, str]:
    """Condition and place in the sweep of a storm's answer."""
    return str(row["condition"]), str(row["place"])


def _marker(i: int, *, hollow: bool) -> dict[str, Any]:
    colour = style.cue(i)["color"]
    face = "white" if hollow else colour
    look = {"marker": style.MARKERS[i], "color": colour, "markerfacecolor": face}
    return look | {"linestyle": "none", "markeredgewidth": 1.8}


def _own() -> dict[str, Any]:
    return {"marker": "_", "markersize": 26, "markeredgewidth": 3, "color": style.COLOURS[2],
            "linestyle": "none", "zorder": 5}  # fmt: skip


def _storm_look() -> dict[str, Any]:
    return {"marker": "*", "markersize": 13, "color": STORMS, "linestyle": "none", "zorder": 6}


def _legend(rules: Sequence[str], lines: Sequence[str], storms: bool, asked: str) -> list[Artist]:
    handles: list[Artist] = [
        Line2D([], [], **style.cue(i), marker=style.MARKERS[i], label=f"{rule}: greatest KG")
        for i, rule in enumerate(rules)
    ]
    handles.append(Line2D([], [], **_own() | {"markersize": 14}, label="KG of the condition"))
    if storms:
        words = style.literal(f"greatest KG by the storms, 95 %: {asked}", 100)
        handles.append(Line2D([], [], **_storm_look(), label=words))
    handles += [
        Line2D([], [], linestyle="none", marker=f"${number}$", markersize=8, color=style.INK,
               label=words)
        for number, words in enumerate(lines, 1)
    ]  # fmt: skip
    return handles
