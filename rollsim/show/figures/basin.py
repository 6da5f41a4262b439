"""Basins as maps: what becomes of her over start roll and roll rate, and how soon.

Each outcome has a colour and a range of lightness of its own, the graver the darker, so that the
classes are told apart in grey as well; within it a start is the darker the sooner she fails.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec, SubplotSpec
from numpy.typing import NDArray

from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

MOST_MAPS, ACROSS = 6, 3
MOST_DRAWN = 2000
"""Starts along an axis that are drawn: more than a picture has points."""
KEY = 0.16
"""Width of the key over that of all maps."""
SLENDER = 16.0
"""Height of the key's columns over the width of one: a key, no picture."""
SAFE, PORT, STARBOARD = "#ffffff", "#b9d2ee", "#fff3d6"
RAMPS = {
    Outcome.ROLL_LIMIT: ("#d98f2b", "#f2b866"),
    Outcome.FLOODED: ("#5d4fa3", "#9286cc"),
    Outcome.CAPSIZED: ("#0d0d0d", "#5c5c5c"),
    Outcome.NOT_SOLVED: ("#c2185b", "#c2185b"),
}
"""Of a failure that comes at once, and of the latest: lightness 0.62 to 0.75, 0.36 to 0.56, 0.05 to
0.36."""
NAMES = {
    Outcome.ROLL_LIMIT: "roll limit",
    Outcome.FLOODED: "flooded",
    Outcome.CAPSIZED: "capsized",
    Outcome.NOT_SOLVED: "not solved",
}
OUTER = (1.0, 99.5)
"""Percentiles of the failure times between which they are shaded, by their logarithm."""
ALONE = ("#0d0d0d", "#a8a8a8")
"""The shades of a capsize where there is no other failure."""


@style.styled
def basin_figure(ds: xr.Dataset) -> Figure:
    """The maps of up to six cases."""
    chosen = _chosen(ds.sizes["case"])
    across = min(ACROSS, len(chosen))
    down = -(-len(chosen) // across)
    figure = style.new_figure(
        cases.title(ds),
        "what becomes of her from every start",
        notes=_notes(ds, chosen),
        loll=cases.has_loll(ds, chosen),
        height=style.HEIGHT + (3.6 if down > 1 else 0.0),
    )
    times = _times(ds)
    grid = GridSpec(down, across + 1, figure, width_ratios=[1.0] * across + [KEY * across])
    for i, case in enumerate(chosen):
        axes = style.panel(figure, grid[i // across, i % across])
        _draw(axes, ds, case, times)
        if len(chosen) > 1:
            text = style.literal(cases.case_label(ds, case, chosen), 34)
            axes.set_title(text, loc="left", fontsize=style.TICK)
        if i % across == 0:
            axes.set_ylabel("roll rate at the start [°/s]")
        else:
            axes.tick_params(labelleft=False)
        if i + across >= len(chosen):
            axes.set_xlabel("roll at the start [°]")
    _key(figure, grid[:, across], ds, times)
    return figure


def _chosen(count: int) -> list[int]:
    """Cases to be drawn: all, or six from the first to the last."""
    if count <= MOST_MAPS:
        return list(range(count))
    return sorted({round(i * (count - 1) / (MOST_MAPS - 1)) for i in range(MOST_MAPS)})


def _notes(ds: xr.Dataset, chosen: Sequence[int]) -> list[str]:
    notes = [
        "Safe: no limit passed up to the end of the run from that start. Within a colour the "
        "darker, the sooner she fails."
    ]
    if _two_wells(ds):
        notes.append("Tints of safe: the side of the well in which she ends.")
    if len(chosen) < ds.sizes["case"]:
        notes.append(f"Shown: {len(chosen)} of {ds.sizes['case']} cases.")
    return [" ".join(notes)]


def _two_wells(ds: xr.Dataset) -> bool:
    return bool(np.any(ds["well"].values != 0))


def _times(ds: xr.Dataset) -> tuple[float, float]:
    """The failure times [s] of the darkest and the lightest shade."""
    known = ds["failure_time"].values
    known = known[known > 0.0]
    if not known.size:
        return 1.0, 2.0
    least, most = np.percentile(known, OUTER)
    return float(least), max(float(most), 1.01 * float(least))


def _shade(time: Floats, times: tuple[float, float]) -> Floats:
    """0 for the soonest, 1 for the latest."""
    low, high = np.log(times)
    with np.errstate(invalid="ignore", divide="ignore"):
        part = (np.log(np.maximum(time, times[0])) - low) / (high - low)
    return np.asarray(np.clip(np.nan_to_num(part), 0.0, 1.0))


def ramps(ds: xr.Dataset) -> dict[Outcome, tuple[str, str]]:
    """The shades of every failure that occurs, from the soonest to the latest."""
    seen = {code: ramp for code, ramp in RAMPS.items() if np.any(ds["outcome"].values == code)}
    return {Outcome.CAPSIZED: ALONE} if list(seen) == [Outcome.CAPSIZED] else seen


def picture(ds: xr.Dataset, case: int, times: tuple[float, float]) -> Floats:
    """The map of a case as colours, (roll rate, roll, 3); of a great one every second, third ..."""
    part = tuple(slice(None, None, 1 + ds.sizes[d] // MOST_DRAWN) for d in ("roll_rate", "roll"))
    outcome, well, time = (ds[n].values[case][part] for n in ("outcome", "well", "failure_time"))
    image = np.empty((*outcome.shape, 3))
    image[...] = to_rgb(SAFE)
    survived = outcome == Outcome.SURVIVED
    image[survived & (well < 0)] = to_rgb(PORT)
    image[survived & (well > 0)] = to_rgb(STARBOARD)
    shade = _shade(time.astype(np.float64), times)[..., None]
    for code, (soon, late) in ramps(ds).items():
        here = outcome == code
        ramp = (1.0 - shade) * to_rgb(soon) + shade * to_rgb(late)
        image[here] = ramp[here]
    return image


def _draw(axes: Axes, ds: xr.Dataset, case: int, times: tuple[float, float]) -> None:
    roll, rate = ds["roll"].values, ds["roll_rate"].values
    half = 0.5 * (roll[1] - roll[0]), 0.5 * (rate[1] - rate[0])
    extent = (roll[0] - half[0], roll[-1] + half[0], rate[0] - half[1], rate[-1] + half[1])
    axes.imshow(
        picture(ds, case, times),
        origin="lower",
        extent=extent,
        aspect="auto",
        interpolation="nearest" if roll.size < 300 else "antialiased",
    )
    axes.grid(visible=False)
    axes.spines[["top", "right"]].set_visible(True)
    text = f"safe {100.0 * float(ds['safe_share'].values[case]):.1f} %"
    axes.text(
        0.98, 0.97, text, transform=axes.transAxes, ha="right", va="top", fontsize=style.SMALL,
        bbox={"facecolor": "white", "edgecolor": style.FAINT, "pad": 3.0},
    )  # fmt: skip


def _key(figure: Figure, spec: SubplotSpec, ds: xr.Dataset, times: tuple[float, float]) -> None:
    """The key: a column for every failure over its time, and below it the tints of safe."""
    shades = ramps(ds)
    tints = [(PORT, "safe, to port"), (STARBOARD, "safe, to starboard")]
    tints = tints if _two_wells(ds) else [(SAFE, "safe")]
    grid = spec.subgridspec(2, 1, height_ratios=[1.0, 0.10 * len(tints)])
    axes = figure.add_subplot(grid[0])
    steps = np.linspace(0.0, 1.0, 128)[:, None, None]
    columns = [
        (1.0 - steps) * to_rgb(soon) + steps * to_rgb(late) for soon, late in shades.values()
    ] or [np.ones((128, 1, 3))]
    low, high = np.log10(times)
    axes.imshow(
        np.concatenate(columns, axis=1),
        origin="lower",
        extent=(0.0, float(len(columns)), float(low), float(high)),
        aspect="auto",
        interpolation="nearest",
    )
    axes.set_box_aspect(SLENDER / len(columns))
    axes.set_anchor("W")
    ticks = [t * 10.0**k for k in range(-2, 7) for t in (1, 2, 5)]
    ticks = [t for t in ticks if low <= np.log10(t) <= high]
    axes.set_yticks(np.log10(ticks), [f"{t:g}" for t in ticks])
    axes.tick_params(labelsize=style.SMALL)
    axes.yaxis.tick_right()
    axes.yaxis.set_label_position("right")
    axes.set_ylabel("time of failure [s]", fontsize=style.SMALL)
    places = [i + 0.5 for i in range(len(shades))]
    axes.set_xticks(places, [NAMES[code] for code in shades], rotation=90)
    below = figure.add_subplot(grid[1])
    below.set_axis_off()
    below.set(xlim=(0, 1), ylim=(0, len(tints)))
    for i, (colour, words) in enumerate(tints):
        below.barh(i + 0.5, 0.22, 0.7, color=colour, edgecolor=style.FAINT)
        below.text(0.28, i + 0.5, words, va="center", fontsize=style.SMALL)
