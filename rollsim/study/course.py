"""What changes in the time of a scenario's runs, from degrees and tonnes to SI."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rollsim.motion.filling import FillingPath
from rollsim.motion.timeline import Base, Change, Setting, timeline
from rollsim.motion.timeline import mean_wind as mean_wind_rows
from rollsim.scenario import schema
from rollsim.scenario.schema import gravity_of
from rollsim.ship.levers import Gravity
from rollsim.weather.wind import Gust

Floats = NDArray[np.float64]


def segments(
    ship: schema.Ship,
    events: tuple[schema.Event, ...],
    wind: schema.Wind | None,
    settings: Sequence[Setting],
    run: schema.Run,
    ramp: float,
    filling: FillingPath | None,
) -> Floats:
    """What changes in time, cut at every corner."""
    return timeline(
        run.duration_s,
        _base(gravity_of(ship.gravity), wind),
        [
            _change(event, ship.displacement_t)
            for event in events
            if not isinstance(event, schema.ValueChange | schema.FillTank)
        ],
        settings,
        _gusts(wind),
        (run.settle_s, ramp),
        filling,
    )


def wind_in_time(
    gravity: Gravity,
    wind: schema.Wind | None,
    settings: Sequence[Setting],
    run: schema.Run,
) -> Floats:
    """The wind without gusts in time."""
    return mean_wind_rows(run.duration_s, _base(gravity, wind), settings)


def _base(gravity: Gravity, wind: schema.Wind | None) -> Base:
    return Base(gravity, wind.speed_mps if wind else 0.0)


SETTINGS = {
    "ship.gravity.kg_m": "kg",
    "ship.gravity.off_centre_m": "off_centre",
    "ship.gravity.free_surface_m": "free_surface",
    "wind.speed_mps": "wind",
    "sea.height_m": "waves",
}
"""What a timeline calls the keys whose values may change."""


def settings_of(events: tuple[schema.Event, ...], sea: schema.Sea) -> list[Setting]:
    """The changes of values; a regular sea's height as a factor on its waves."""
    settings = []
    for event in events:
        if isinstance(event, schema.ValueChange):
            what, to = SETTINGS[event.key], event.to
            if what == "waves":
                assert isinstance(sea, schema.RegularSea)
                to /= sea.height_m
            settings.append(Setting(what, to, event.at_s, event.over_s))
    return settings


def _gusts(wind: schema.Wind | None) -> tuple[Gust, ...]:
    gusts = wind.gust if wind else ()
    return tuple(Gust(g.at_s, g.rise_s, g.hold_s, g.speed_factor) for g in gusts)


LoadEvent = schema.MoveWeight | schema.AddWeight | schema.RemoveWeight | schema.HeelingLever


def _change(event: LoadEvent, displacement: float) -> Change:
    """An event as shares of the displacement [t] at t = 0 and moments of those shares [m]."""
    if isinstance(event, schema.HeelingLever):
        return Change(event.at_s, event.over_s, lever=event.lever_m)
    share = event.mass_t / displacement
    if isinstance(event, schema.MoveWeight):
        return Change(event.at_s, event.over_s, 0.0, share * event.up_m, share * event.across_m)
    if isinstance(event, schema.RemoveWeight):
        share = -share
    return Change(event.at_s, event.over_s, share, share * event.height_m, share * event.across_m)
