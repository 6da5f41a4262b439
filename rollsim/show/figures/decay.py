"""A decay record in a picture: the roll and its fit, what is left, and the extinction curve."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec, GridSpecFromSubplotSpec
from matplotlib.lines import Line2D

from rollsim.show import style

NOTE = (
    "Dots: peaks of the record about the fitted mean line, with their standard errors. Curve: δφ = "
    "a φm + b φm² + c φm³ of the fitted damping, to first order (Froude)."
)


@style.styled
def decay_figure(title: str, what: str, arrays: dict[str, Any], notes: Sequence[str]) -> Figure:
    """Roll and fit, residual, and decrement over amplitude; `what` says the damping in words."""
    handles = [
        Line2D([], [], color=style.FAINT, linewidth=1.2, label="record"),
        Line2D([], [], color=style.COLOURS[0], label="fit of the equation"),
        Line2D(
            [], [], color=style.INK, linewidth=1.0, linestyle=style.DASHES[1], label="mean line"
        ),
        Line2D([], [], **_dot(), label="peaks"),
    ]
    strip = style.strip_height(handles)
    figure = style.new_figure(title, what, notes=[NOTE, *notes], height=style.HEIGHT + strip)
    grid = GridSpec(2, 1, figure, height_ratios=[style.HEIGHT - 1.6, strip])
    inner = GridSpecFromSubplotSpec(
        2, 2, grid[0, 0], width_ratios=[1.7, 1.0], height_ratios=[2.2, 1.0]
    )
    roll = style.panel(figure, inner[0, 0], "roll")
    left = style.panel(figure, inner[1, 0], "residual", sharex=roll)
    lost = style.panel(figure, inner[:, 1], "loss of a half swing")
    style.zero_line(roll)
    roll.plot(arrays["record_time"], arrays["record"], color=style.FAINT, linewidth=1.2)
    roll.plot(arrays["time"], arrays["fitted"], color=style.COLOURS[0], linewidth=1.6)
    roll.plot(arrays["time"], arrays["mean"], color=style.INK, linewidth=1.0,
              linestyle=style.DASHES[1])  # fmt: skip
    roll.plot(arrays["peak_time"], arrays["peak"], **_dot())
    roll.set_ylabel("angle [°]")
    roll.tick_params(labelbottom=False)
    style.zero_line(left)
    left.plot(arrays["time"], arrays["residual"], color=style.COLOURS[0], linewidth=1.0)
    left.set_ylabel("[°]")
    left.set_xlabel("time [s]")
    lost.errorbar(
        arrays["mean_amplitude"], arrays["decrement"], arrays["decrement_error"], **_dot(),
        elinewidth=1.2,
    )  # fmt: skip
    lost.plot(arrays["curve_amplitude"], arrays["curve"], color=style.COLOURS[0])
    lost.set_xlabel("mean amplitude [°]")
    lost.set_ylabel("decrement [°]")
    lost.set_xlim(left=0.0)
    style.legend_strip(figure, grid[1, 0], handles)
    return figure


def _dot() -> dict[str, Any]:
    return {"color": style.COLOURS[2], "linestyle": "none", "marker": "o", "markersize": 5}
