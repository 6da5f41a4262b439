"""Changes of side: how often a ship with two wells goes from one to the other, case by case."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from rollsim.measures.outcome import solved
from rollsim.measures.rates import HOUR, Rate, censored_rate
from rollsim.show.query import cases
from rollsim.show.query.acting import settle

if TYPE_CHECKING:
    import xarray as xr


class Sides(NamedTuple):
    """Of the chosen cases: changes of side, hours from settle to the end of the runs, their rate
    per hour with 95 % Poisson limits. A stay on one side lasts 1 / rate on average."""

    changes: np.ndarray
    hours: np.ndarray
    rate: Rate


class Line(NamedTuple):
    """Cases that differ in the first axis of numbers alone."""

    name: str
    cases: list[int]


def sides(ds: xr.Dataset) -> Sides:
    """The changes of side of every case, over its solved runs that came to settle_s."""
    end, outcome = cases.values(ds, "end_time"), cases.values(ds, "outcome")
    counted = solved(outcome) & (end > settle(ds))
    changes = np.where(counted, cases.values(ds, "side_changes"), 0).sum(axis=-1)
    hours = np.where(counted, end - settle(ds), 0.0).sum(axis=-1) / HOUR
    return Sides(changes, hours, censored_rate(changes, hours))


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
