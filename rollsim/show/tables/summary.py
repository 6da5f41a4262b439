"""The margins of a result as plain numbers: for the tables, as JSON and as CSV."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.measures.outcome import EVENTS, MOST_EARLY, Event
from rollsim.measures.rates import Rate, mean_time
from rollsim.names import VARIABLES, Outcome
from rollsim.show.query import cases, sides
from rollsim.show.query.runs import greatest_worst_roll, random
from rollsim.show.tables.severity import severity_row

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
PASSINGS = ("roll_limit", "flooding", "capsize")
"""The limits of which the result holds when each run passed them first."""
PERIODS = ("roll_period", "roll_period_upright")
SUFFIXES = {
    "degree": "_deg",
    "degree s-1": "_deg_per_s",
    "m s-1": "_mps",
    "h-1": "_per_h",
    "1": "",
    "": "",
}
LIMITS = ("", "_lower", "_upper")
"""A number that has an interval, and its two limits."""


def with_unit(name: str, units: str) -> str:
    """A name with its unit as suffix: "gm" and "m" give "gm_m"."""
    return name + SUFFIXES.get(units, "_" + re.sub(r"\W+", "_", units))


def axis_name(ds: xr.Dataset, axis: str) -> str:
    """The name of a sweep axis with its unit as suffix; of an offset it says so."""
    name = f"{axis}_offset" if cases.is_offset(ds, axis) else axis
    return with_unit(name, str(ds.variables[axis].attrs.get("units", "")))


def placed_row(ds: xr.Dataset, case: int) -> Row:
    """Where a case stands in the study: its number, condition and axis values."""
    who = {"case": cases.number_of(ds, "case", case), "condition": cases.conditions(ds)[case]}
    return who | axis_values(ds, case)


def static_row(ds: xr.Dataset, case: int) -> Row:
    """Where a case stands in the study and its numbers at rest, named with their units."""
    row = placed_row(ds, case)
    for name in (*STATICS, *(name for name in PERIODS if name in ds.variables)):
        row[with_unit(name, VARIABLES[name].units)] = plain(cases.number(ds, name, case=case))
    return row | _righted_to_the_end(ds, case)


def _righted_to_the_end(ds: xr.Dataset, case: int) -> Row:
    """The ends of the levers [degree] on the sides where GZ still rights her there; else None."""
    lever = cases.values(ds, "righting_lever", case=case)
    heel = ds["heel"].values[np.isfinite(lever)]
    lever = lever[np.isfinite(lever)]
    row: Row = {"gz_positive_to_port_deg": None, "gz_positive_to_deg": None}
    if lever.size and lever[0] < 0.0 and _missing(ds, "vanishing_angle_port", case):
        row["gz_positive_to_port_deg"] = plain(heel[0])
    if lever.size and lever[-1] > 0.0 and _missing(ds, "vanishing_angle", case):
        row["gz_positive_to_deg"] = plain(heel[-1])
    return row


def _missing(ds: xr.Dataset, name: str, case: int) -> bool:
    """Whether a case has no such number."""
    return bool(np.isnan(cases.number(ds, name, case=case)))


def case_row(ds: xr.Dataset, case: int) -> Row:
    """All numbers of one case that the summary shows, named with their units; None if missing.

    What a file of an older program lacks is left out. Where nothing is random all realisations are
    one run, and it is counted once.
    """
    row = static_row(ds, case)
    counted = _counted(ds, case)
    outcome = cases.values(ds, "outcome", case=case)[counted]
    row["runs"] = int(outcome.size)
    row |= {code.label: int(np.count_nonzero(outcome == code)) for code in Outcome}
    early = cases.values(ds, "failed_before_settle", case=case)[counted]
    row["failed_before_settle"] = int(np.count_nonzero(early == 1))
    row["worst_roll_deg"] = plain(greatest_worst_roll(ds, case))
    for name in ("energy_margin", "limit_margin"):
        if name == "energy_margin" or name in ds.variables:
            margin = cases.values(ds, name, case=case).ravel()
            row[f"least_{name}"] = plain(np.fmin.reduce(margin, initial=np.nan))
    for event in EVENTS:
        for part in LIMITS:
            name = f"{event}_probability{part}"
            row[name] = plain(cases.number(ds, name, case=case))
    return (
        row
        | severity_row(ds, case)
        | _passings(ds, case)
        | _motion(ds, case)
        | {k: v for event in EVENTS for k, v in _rates(ds, case, event)}
    )


def _counted(ds: xr.Dataset, case: int) -> slice:
    """The realisations of a case that are runs of their own."""
    return slice(None) if random(ds, case) else slice(1)


def _passings(ds: xr.Dataset, case: int) -> Row:
    """How many runs passed each limit, whatever became of them after, and when the first did."""
    row: Row = {}
    for name in PASSINGS:
        if f"{name}_time" in ds.variables:
            times = cases.values(ds, f"{name}_time", case=case)[_counted(ds, case)]
            if name != "capsize":  # that is an outcome: nothing comes after it
                row[f"passed_{name}"] = int(np.count_nonzero(np.isfinite(times)))
            row[f"first_{name}_time_s"] = plain(np.fmin.reduce(times, initial=np.nan))
    return row


def _motion(ds: xr.Dataset, case: int) -> Row:
    """How she rolled, over all runs of a case together."""
    row: Row = {}
    if "roll_std" in ds.variables:
        mean, deviation = (cases.values(ds, f"roll_{part}", case=case) for part in ("mean", "std"))
        known = np.isfinite(mean) & np.isfinite(deviation)
        square = np.mean(deviation[known] ** 2) if known.any() else np.nan
        row["roll_mean_deg"] = plain(np.mean(mean[known]) if known.any() else np.nan)
        row["roll_std_deg"] = plain(np.sqrt(square))
    for name in ("upcrossings", "side_changes"):
        if name in ds.variables:
            count = cases.values(ds, name, case=case)[_counted(ds, case)]
            row[name] = int(np.nansum(count)) if np.isfinite(count).any() else None
    return row | _sides(ds, case)


def _sides(ds: xr.Dataset, case: int) -> Row:
    """Time and mean stay on each side, with limits; None for a ship with one well."""
    stays = sides.sides(ds, case=case).stays
    if stays is None:
        return {}
    row: Row = {"share_to_starboard": plain(float(stays.share))}
    for side, hours, stay in (
        ("port", stays.port_hours, stays.port),
        ("starboard", stays.starboard_hours, stays.starboard),
    ):
        row[f"time_to_{side}_h"] = plain(float(hours))
        for part, value in zip(LIMITS, stay, strict=True):
            row[f"stay_to_{side}_h{part}"] = plain(float(value))
    return row


def _rates(ds: xr.Dataset, case: int, event: Event) -> Iterator[tuple[str, Any]]:
    """Events per hour from settle_s on and the mean time between, with limits.

    Without an event the mean time and its upper limit are None: there is no end to them.
    """
    if f"{event}_rate" not in ds.variables:
        return
    rate = Rate(*(cases.values(ds, f"{event}_rate{part}", case=case) for part in LIMITS))
    for name, numbers in (
        (f"{event}_rate_per_h", rate),
        (f"mean_time_to_{event}_h", mean_time(rate)),
    ):
        for part, value in zip(LIMITS, numbers, strict=True):
            yield name + part, plain(float(value))


def warnings(ds: xr.Dataset) -> list[str]:
    """What a reader of the numbers must know before he believes them, in sentences."""
    shares = cases.early_shares(ds)
    many = [case for case in range(ds.sizes["case"]) if shares[case] > MOST_EARLY]
    if not many:
        return []
    names = ", ".join(
        f"{cases.number_of(ds, 'case', case)} ({100.0 * shares[case]:.3g} %)" for case in many[:8]
    )
    more = f" and {len(many) - 8} more" if len(many) > 8 else ""
    return [
        f"Warning: more than 1 run in 20 passed a limit before settle_s in case {names}{more}. "
        "They stay in every count: what they say of the start may outweigh what the weather does."
    ]


def axis_values(ds: xr.Dataset, case: int) -> Row:
    """Where a case stands on every sweep axis."""
    return {
        axis_name(ds, axis): plain(ds.variables[axis].values[case]) for axis in cases.sweep_axes(ds)
    }


def plain(value: Any) -> Any:
    """A value as JSON has it: missing and infinite numbers are None."""
    plain = value.item() if isinstance(value, np.generic) else value
    return plain if not isinstance(plain, float) or np.isfinite(plain) else None
