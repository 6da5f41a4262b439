"""Changes of side of a ship with two wells: how often, the time and the stays on each side."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from rollsim.measures.outcome import solved
from rollsim.measures.rates import HOUR, MeanTime, Rate, censored_rate, mean_time
from rollsim.show.query import cases
from rollsim.show.query.acting import settle

if TYPE_CHECKING:
    import xarray as xr

STAYS = (
    "Mean stay: the hours on a side, by the well last reached, over the departures from it, with "
    "95 % limits of a Poisson count; an unfinished stay counts by its hours."
)
"""What a mean stay is, for people."""


class Sides(NamedTuple):
    """Of every case: changes of side, hours from settle to the end of the runs, their rate per
    hour with 95 % Poisson limits; `stays` on each side, None in files of an older program."""

    changes: np.ndarray
    hours: np.ndarray
    rate: Rate
    stays: Stays | None


class Stays(NamedTuple):
    """Of every case the hours to port and to starboard, the share to starboard and the mean stay
    on each side [h]; NaN where a ship has one well.

    A mean stay is the hours on a side over the departures from it: of a stay that the end of a run
    cuts off the hours count and no departure, which leaves no stay out. Its 95 % limits are those
    of a Poisson count in the hours spent, exact where stays are exponential; without a departure
    the mean and its upper limit are infinite.
    """

    port_hours: np.ndarray
    starboard_hours: np.ndarray
    share: np.ndarray
    port: MeanTime
    starboard: MeanTime


class Line(NamedTuple):
    """Cases that differ in the first axis of numbers alone."""

    name: str
    cases: list[int]


def sides(ds: xr.Dataset, **where: int) -> Sides:
    """The changes of side of every case, or of the one `case`, over its solved runs that came to
    settle_s."""
    end, outcome = (cases.values(ds, name, **where) for name in ("end_time", "outcome"))
    counted = solved(outcome) & (end > settle(ds))
    changes = np.where(counted, cases.values(ds, "side_changes", **where), 0).sum(axis=-1)
    hours = np.where(counted, end - settle(ds), 0.0).sum(axis=-1) / HOUR
    return Sides(changes, hours, censored_rate(changes, hours), _stays(ds, counted, changes, where))


def _stays(
    ds: xr.Dataset, counted: np.ndarray, changes: np.ndarray, where: dict[str, int]
) -> Stays | None:
    """The stays in the runs that are counted."""
    if "time_to_port" not in ds.variables:
        return None
    port, starboard, risen = (
        np.where(counted, cases.values(ds, name, **where), 0.0).sum(axis=-1)
        for name in ("time_to_port", "time_to_starboard", "side_changes_to_starboard")
    )
    known = np.isfinite(port) & (port + starboard > 0.0)
    hours = [np.where(known, each / HOUR, np.nan) for each in (port, starboard)]
    left = [np.where(known, each, 0.0) for each in (risen, changes - risen)]
    share = hours[1] / (hours[0] + hours[1])
    means = [mean_time(censored_rate(*each)) for each in zip(left, hours, strict=True)]
    return Stays(hours[0], hours[1], share, means[0], means[1])


def axis_of(ds: xr.Dataset) -> str | None:
    """The first axis of numbers."""
    return next((a for a in cases.sweep_axes(ds) if ds[a].dtype.kind in "fi"), None)


def lines(ds: xr.Dataset) -> list[Line]:
    """The cases by condition and further axes, each in order of the first axis of numbers."""
    axis = axis_of(ds)
    others = [each for each in cases.sweep_axes(ds) if each != axis]
    found: dict[str, list[int]] = {}
    for case, condition in enumerate(cases.conditions(ds)):
        parts = [] if condition == cases.NO_CONDITION else [condition]
        for other in others:
            value = cases.value_text(ds[other].values[case].item())
            parts.append(f"{cases.axis_words(ds, other)} {value} {cases.unit(ds, other)}".strip())
        found.setdefault(", ".join(parts), []).append(case)
    if axis is None:
        return [Line("", list(range(ds.sizes["case"])))]
    x = ds[axis].values
    return [Line(name, sorted(own, key=lambda case: x[case])) for name, own in found.items()]
