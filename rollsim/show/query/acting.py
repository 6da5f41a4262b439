"""What acts on a case and when: gusts, levers, weights, growing seas, by the stored scenario."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.equilibria import equilibria
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import static_heel
from rollsim.show.query import cases, inputs
from rollsim.show.query.curves import heels, under
from rollsim.show.query.heel import heel_history
from rollsim.show.query.runs import with_history

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

GROWTH = 0.4
"""A lever that grows within this share of her roll period counts as sudden."""
SHORT = 5.0
"""So does one that grows within this time [s] where she has no period."""
STILL = 0.5
"""A rate [degree/s] below which she hangs at the end of a swing, or rests."""
POINTS = 4001
WEIGHTS = {
    "move-weight": "move",
    "add-weight": "come on board",
    "remove-weight": "leave the ship",
}
CHANGED = {
    "ship.gravity.kg_m": ("KG", "m"),
    "ship.gravity.off_centre_m": ("G off the centreline", "m"),
    "ship.gravity.free_surface_m": ("free surfaces", "m"),
    "wind.speed_mps": ("wind", "m/s"),
    "sea.height_m": ("wave height", "m"),
}
"""What changes by a set value, and its unit."""


@dataclass(frozen=True)
class Act:
    """Something that acts from `start` on, in full from `full`, until `end` [s] (inf: it stays)."""

    words: str
    start: float
    full: float
    end: float
    kind: str = ""
    factor: float = 1.0
    """Wind speed over the mean wind speed while it acts."""
    lever: float = 0.0
    """The heeling lever [m] that it adds."""


@dataclass(frozen=True, eq=False)
class Sudden:
    """The greatest sudden heeling lever of a case against her righting lever, undamped.

    Heels in degrees: `start` where it meets her, `balance` where it equals the righting lever,
    `reach` the dynamical heel, at which the areas are equal (NaN: there is none), and `end`, up
    to which the righting lever is the greater.
    """

    words: str
    lever: Floats
    """The heeling lever [m] in full force over the result's heels."""
    start: float
    balance: float
    reach: float
    end: float


def settle(ds: xr.Dataset) -> float:
    """The time [s] from which limits, extremes and margins count."""
    run = inputs.scenario(ds).get("run")
    return _number(run, "settle_s", 0.0) if isinstance(run, dict) else 0.0


def acts(ds: xr.Dataset, case: int) -> list[Act]:
    """What acts on a case at set times, by the time at which it begins."""
    tables = inputs.of_case(ds, case)
    every = [*_sea(tables.get("sea")), *_gusts(tables.get("wind")), *_events(tables.get("events"))]
    return sorted((act for act in every if math.isfinite(act.start)), key=lambda act: act.start)


def _sea(sea: Any) -> Iterator[Act]:
    if isinstance(sea, dict) and sea.get("kind") != "calm":
        ramp = _number(sea, "ramp_s", 0.0)
        if ramp > 0.0:
            yield Act("the sea grows", 0.0, ramp, ramp, "sea")


def _gusts(wind: Any) -> Iterator[Act]:
    for gust in inputs.tables(wind.get("gust")) if isinstance(wind, dict) else ():
        factor = _number(gust, "speed_factor")
        start, rise, hold = (_number(gust, f"{name}_s") for name in ("at", "rise", "hold"))
        if factor != 1.0:
            end = start + 2.0 * rise + hold
            yield Act(f"gust, wind × {factor:g}", start, start + rise, end, "gust", factor)


def _events(events: Any) -> Iterator[Act]:
    for event in inputs.tables(events):
        kind, start, over = (
            str(event.get("kind")),
            _number(event, "at_s"),
            _number(event, "over_s", 0.0),
        )
        lever = _number(event, "lever_m", 0.0) if kind == "heeling-lever" else 0.0
        yield Act(_words(kind, event), start, start + over, math.inf, kind, lever=lever)


def _words(kind: str, event: dict[str, Any]) -> str:
    """What an event does, in few words."""
    if kind in WEIGHTS:
        return f"{_number(event, 'mass_t'):g} t {WEIGHTS[kind]}{_way(kind, event)}"
    if kind == "heeling-lever":
        lever = _number(event, "lever_m")
        return f"lever {abs(lever):g} m to {'starboard' if lever > 0.0 else 'port'}"
    if kind == "change":
        what, unit = CHANGED.get(str(event.get("key")), (str(event.get("key")), ""))
        return f"{what} to {_number(event, 'to'):g} {unit}".rstrip()
    if kind == "fill-tank":
        return f"{event.get('tank')} to {_number(event, 'to_percent'):g} %"
    return kind.replace("-", " ")


def _way(kind: str, event: dict[str, Any]) -> str:
    """How far a weight moves: " 5 m to starboard, 0.5 m up"."""
    if kind != "move-weight":
        return ""
    across, up = _number(event, "across_m", 0.0), _number(event, "up_m", 0.0)
    ways = [f" {abs(across):g} m to {'starboard' if across > 0.0 else 'port'}"] * bool(across)
    ways += [f" {abs(up):g} m {'up' if up > 0.0 else 'down'}"] * bool(up)
    return ",".join(ways)


def _number(table: dict[str, Any], key: str, default: float = math.nan) -> float:
    value = table.get(key, default)
    return (
        float(value)
        if isinstance(value, (int, float)) and not isinstance(value, bool)
        else math.nan
    )


def sudden(ds: xr.Dataset, case: int) -> Sudden | None:
    """The greatest sudden lever of a case; None without one that drives her over further.

    Nothing is said once a weight has moved or the wind has changed before: the curves are those
    of the start.
    """
    every = acts(ds, case)
    steady = np.nan_to_num(cases.values(ds, "steady_heeling_lever", case=case))
    period = cases.number(ds, "roll_period", case=case)
    short = GROWTH * period if np.isfinite(period) else SHORT
    changed = min(
        (a.start for a in every if a.kind not in ("gust", "sea", "heeling-lever")), default=np.inf
    )
    blows = [
        (np.abs(lever).max(), act, lever)
        for act in every
        if act.kind in ("gust", "heeling-lever")
        and act.full - act.start <= short
        and act.full < changed
        if (lever := _lever(every, steady, act.full)).any()
    ]
    if not blows:
        return None
    _, act, lever = max(blows, key=lambda blow: blow[0])
    before = under(ds, case, _lever(every, steady, math.nextafter(act.start, -math.inf)))
    curve = under(ds, case, lever)
    start = _meets(ds, case, act.start, before)
    return _areas(act.words, lever, curve, start) if curve and np.isfinite(start) else None


def _lever(every: list[Act], steady: Floats, time: float) -> Floats:
    """The whole heeling lever [m] over heel at a time, as far as it is in full force by then."""
    now = [act for act in every if act.full <= time <= act.end]
    factor = max((act.factor for act in now if act.kind == "gust"), default=1.0)
    return np.asarray(steady * factor**2 + sum(act.lever for act in now))


def _meets(ds: xr.Dataset, case: int, time: float, before: RightingCurve | None) -> float:
    """The heel [degree] at which a lever finds her: in waves at rest, else where she hangs then.

    NaN where in calm water she is on her way, or nothing tells where she is.
    """
    tables = inputs.of_case(ds, case)
    sea, start = tables.get("sea"), tables.get("start")
    static = isinstance(start, dict) and start.get("roll_deg") == "static"
    waves = isinstance(sea, dict) and sea.get("kind") != "calm"
    if not waves and (with_history(ds, case, [0]) or not static):
        return _hangs(ds, case, time, start if isinstance(start, dict) else {})
    rest = cases.number(ds, "static_heel", case=case)
    if before is None or not np.isfinite(rest):
        return rest
    return math.degrees(static_heel(before, math.radians(rest)))


def _hangs(ds: xr.Dataset, case: int, time: float, start: dict[str, Any]) -> float:
    """The heel [degree] at which she hangs, hardly moving, in calm water; NaN where she moves."""
    if with_history(ds, case, [0]):
        run = heel_history(ds, case, 0).up_to_end()
        if run.t.size and time <= run.t[-1] and abs(np.interp(time, run.t, run.rate)) < STILL:
            return float(np.interp(time, run.t, run.heel))
    elif time == 0.0 and not _number(start, "roll_rate_deg_per_s", 0.0):
        return _number(start, "roll_deg", 0.0)
    return math.nan


def _areas(words: str, lever: Floats, curve: RightingCurve, start: float) -> Sudden | None:
    """The equal areas from `start` [degree] on, in the direction in which the lever drives her."""
    first = math.radians(start)
    if not curve.levers.heel_min <= first <= curve.levers.heel_max:
        return None
    driven = -float(curve.value(first))  # what the lever has over the righting lever
    middle = lever[lever.size // 2]
    if driven * middle <= 0.0:
        return None  # it meets her where her righting lever is the greater
    side = math.copysign(1.0, driven)
    last = curve.levers.heel_max if side > 0.0 else curve.levers.heel_min
    zeros = sorted((e.heel for e in equilibria(curve) if side * (e.heel - first) > 1e-9), key=abs)
    heel = np.linspace(first, last, POINTS)
    spare = curve.potential(heel) - curve.potential(first)
    back = np.flatnonzero(spare[1:] >= 0.0)
    reach = math.nan
    if back.size:
        i = int(back[0])
        share = spare[i] / (spare[i] - spare[i + 1]) if i else 1.0
        reach = math.degrees(heel[i] + share * (heel[i + 1] - heel[i]))
    ordered = sorted(zeros, key=lambda phi: side * phi)
    balance, end = ([*map(math.degrees, ordered), math.nan, math.nan])[:2]
    return Sudden(
        words, lever, start, balance, reach, end if np.isfinite(end) else math.degrees(last)
    )


def heels_between(ds: xr.Dataset, low: float, high: float) -> Floats:
    """The result's heels [degree] between two, which stand at the ends themselves."""
    grid = heels(ds)
    low, high = min(low, high), max(low, high)
    return np.concatenate(([low], grid[(grid > low) & (grid < high)], [high]))
