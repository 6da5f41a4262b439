"""The margins of a result as plain numbers: for the tables, as JSON and as CSV."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.measures.comparison import compare
from rollsim.measures.probability import pairs
from rollsim.measures.rates import censored_rate, exposure, mean_time
from rollsim.names import VARIABLES, Outcome
from rollsim.show.query import cases, inputs

if TYPE_CHECKING:
    import xarray as xr

Row = dict[str, Any]

STATICS = (
    "gm",
    "loll_angle_port",
    "loll_angle",
    "static_heel",
    "vanishing_angle_port",
    "vanishing_angle",
)
CHANCES = ("capsize_probability", "failure_probability")
SUFFIXES = {"degree": "_deg", "degree s-1": "_deg_per_s", "m s-1": "_mps", "1": "", "": ""}
HOUR = 3600.0


def with_unit(name: str, units: str) -> str:
    """A name with its unit as suffix: "gm" and "m" give "gm_m"."""
    return name + SUFFIXES.get(units, "_" + re.sub(r"\W+", "_", units))


def axis_name(ds: xr.Dataset, axis: str) -> str:
    """The name of a sweep axis with its unit as suffix."""
    return with_unit(axis, str(ds[axis].attrs.get("units", "")))


def static_row(ds: xr.Dataset, case: int) -> Row:
    """Where a case stands in the study and its numbers at rest, named with their units."""
    who = {"case": cases.told(ds, "case", case), "condition": cases.conditions(ds)[case]}
    row: Row = who | _axis_values(ds, case)
    for name in STATICS:
        row[with_unit(name, VARIABLES[name].units)] = _plain(cases.number(ds, name, case=case))
    return row


def case_row(ds: xr.Dataset, case: int) -> Row:
    """All numbers of one case that the summary shows, named with their units; None if missing."""
    row = static_row(ds, case)
    outcome = cases.values(ds, "outcome", case=case)
    row["runs"] = int(outcome.size)
    early = cases.values(ds, "failed_before_settle", case=case) == 1
    row |= {code.label: int(np.count_nonzero(outcome[~early] == code)) for code in Outcome}
    row["failed_before_settle"] = int(np.count_nonzero(early))
    roll = cases.worst_roll(ds, case)[cases.solved(ds, case)]
    roll = roll[np.isfinite(roll)]
    row["worst_roll_deg"] = float(roll[np.argmax(np.abs(roll))]) if roll.size else None
    margin = cases.values(ds, "energy_margin", case=case)
    row["least_energy_margin"] = _plain(np.fmin.reduce(margin.ravel(), initial=np.nan))
    for name in CHANCES:
        for part in (name, f"{name}_lower", f"{name}_upper"):
            row[part] = _plain(cases.number(ds, part, case=case))
    return row | _rates(ds, case)


def _rates(ds: xr.Dataset, case: int) -> Row:
    """Failures per hour at risk and the mean time between, with limits; None if nothing is random.

    Without a failure the mean time and its upper limit are None: there is no end to them.
    """
    random = np.isfinite(cases.number(ds, "failure_probability", case=case))
    found = exposure(
        cases.values(ds, "outcome", case=case),
        cases.values(ds, "failed_before_settle", case=case),
        cases.values(ds, "failure_time", case=case),
        cases.values(ds, "end_time", case=case),
        inputs.settle(ds),
    )
    rate = censored_rate(found.events, found.time / HOUR if random else 0.0)
    time = mean_time(rate)
    return {
        "time_at_risk_h": found.time / HOUR if random else None,
        "failure_rate_per_h": _plain(rate.rate),
        "failure_rate_per_h_lower": _plain(rate.lower),
        "failure_rate_per_h_upper": _plain(rate.upper),
        "mean_time_to_failure_h": _plain(time.mean),
        "mean_time_to_failure_h_lower": _plain(time.lower),
        "mean_time_to_failure_h_upper": _plain(time.upper),
    }


def pair_rows(ds: xr.Dataset) -> list[Row]:
    """The conditions compared two by two, storm by storm, at equal values of the sweep axes.

    Empty where nothing is random. Runs that failed before settling stand apart, as they do in
    the probabilities: they are left out.
    """
    if not np.isfinite(cases.values(ds, "failure_probability")).any():
        return []
    names = list(dict.fromkeys(cases.conditions(ds)))
    return [
        _axis_values(ds, first) | {"first": a, "second": b} | _pair(ds, first, second)
        for a, b in combinations(names, 2)
        for first, second in _partners(ds, a, b)
    ]


def _pair(ds: xr.Dataset, first: int, second: int) -> Row:
    """Counts of common storms, the difference of the probabilities with limits, an exact test."""
    pair = pairs(counted(ds, first), counted(ds, second))
    found = compare(pair)
    return pair._asdict() | {
        "difference": _plain(found.difference),
        "difference_lower": _plain(found.lower),
        "difference_upper": _plain(found.upper),
        "p_value": found.p_value,
    }


def _partners(ds: xr.Dataset, first: str, second: str) -> Iterator[tuple[int, int]]:
    """The cases of two conditions that agree in all sweep axes."""
    names = cases.conditions(ds)
    place = [
        tuple(str(ds[axis].values[i]) for axis in cases.sweep_axes(ds)) for i in range(len(names))
    ]
    other = {place[i]: i for i, name in enumerate(names) if name == second}
    for i, name in enumerate(names):
        if name == first and place[i] in other:
            yield i, other[place[i]]


def counted(ds: xr.Dataset, case: int) -> NDArray[np.int_]:
    """The outcomes of a case, those that failed before settling set to not run."""
    outcome = cases.values(ds, "outcome", case=case)
    early = cases.values(ds, "failed_before_settle", case=case)
    return np.where(early == 1, int(Outcome.NOT_RUN), outcome).astype(int)


def _axis_values(ds: xr.Dataset, case: int) -> Row:
    """Where a case stands on every sweep axis."""
    return {axis_name(ds, axis): _plain(ds[axis].values[case]) for axis in cases.sweep_axes(ds)}


def _plain(value: Any) -> Any:
    """A value as JSON has it: missing and infinite numbers are None."""
    plain = value.item() if isinstance(value, np.generic) else value
    return plain if not isinstance(plain, float) or np.isfinite(plain) else None


def summary_json(ds: xr.Dataset) -> dict[str, Any]:
    """Everything the margins table says, ready for `json.dumps`; missing numbers are None."""
    count = ds.sizes["case"]
    return {
        "title": cases.title(ds),
        "caution": CAUTION,
        "loll_warning": LOLL_WARNING if cases.has_loll(ds, range(count)) else None,
        "cases": [case_row(ds, case) for case in range(count)],
        "pairs": pair_rows(ds),
    }


def summary_csv(ds: xr.Dataset) -> str:
    """One line a case, units in the header, missing numbers empty; pairs are in the JSON only."""
    rows = [case_row(ds, case) for case in range(ds.sizes["case"])]
    for case, row in enumerate(rows):
        loll = cases.has_loll(ds, [case])
        row["caution"] = f"{CAUTION} {LOLL_WARNING}" if loll else CAUTION
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([_harmless(name) for name in rows[0]])
    writer.writerows([_harmless(value) for value in row.values()] for row in rows)
    return text.getvalue()


def _harmless(value: Any) -> Any:
    """A cell safe on a terminal, and that no spreadsheet program takes for a formula."""
    if not isinstance(value, str):
        return value
    text = printable(value)
    return "'" + text if text.lstrip().startswith(("=", "+", "-", "@")) else text
