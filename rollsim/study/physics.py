"""From a validated scenario to physics: the one place where degrees and tonnes become SI."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.engines.solution import Limits, Tolerances
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Change, timeline
from rollsim.scenario import schema
from rollsim.scenario.schema import gm_of, gravity_of, levers_of
from rollsim.ship.damping import Damping, from_critical_fraction, from_extinction
from rollsim.ship.inertia import gyradius_from_period, natural_frequency
from rollsim.ship.levers import Levers, metacentric_height
from rollsim.ship.statics import Heeling
from rollsim.weather.sea import RegularWave, SeaState
from rollsim.weather.spectra import SPECTRA, Spectrum
from rollsim.weather.wind import Gust, Windage, moment_per_speed_squared

Floats = NDArray[np.float64]

TONNE = 1000.0
T = TypeVar("T")


class Once:
    """Results of functions of parts of scenarios, each made once for the same parts."""

    def __init__(self) -> None:
        self._made: dict[tuple[int, ...], tuple[tuple[Any, ...], Any]] = {}

    def __call__(self, make: Callable[..., T], *parts: Any) -> T:
        """`make` of the parts."""
        key = tuple(map(id, (make, *parts)))
        if key not in self._made:  # the parts are kept: their identities are not given to others
            self._made[key] = parts, make(*parts)
        made: T = self._made[key][1]
        return made


def physics(scenario: schema.Scenario, base: schema.Scenario, once: Once) -> Case:
    """A case's physics without its start; what needs GM > 0 is converted at `base`'s gravity."""
    ship, run = scenario.ship, scenario.run
    levers = once(levers_of, ship.levers)
    gravity = once(gravity_of, ship.gravity)
    gyradius, damping = once(_dynamics, ship.inertia, ship.damping, ship.beam_m, base.ship)
    weight = ship.displacement_t * TONNE * GRAVITY
    wind, law = _wind_per_speed_squared(scenario) / weight, _heel_law(scenario)
    mean_wind = scenario.wind.speed_mps if scenario.wind else 0.0
    relative = scenario.sea.excitation == "relative"
    coefficients = calm_coefficients(
        levers, gyradius**2 / GRAVITY, damping, gravity.free_surface, wind, law
    )._replace(
        relative=relative,
        absolute_gm=0.0 if relative else metacentric_height(levers, gravity),
        ramp=scenario.sea.ramp_s,
    )
    return Case(
        index=-1,
        condition="",
        coordinates={},
        beam=ship.beam_m,
        draught=ship.draught_m,
        depth=math.nan if ship.depth_m is None else ship.depth_m,
        levers=levers,
        gravity=gravity,
        kb=height_of_buoyancy(ship.levers),
        heeling=Heeling(wind * mean_wind**2, law),
        coefficients=coefficients,
        segments=once(
            _segments,
            ship,
            scenario.events,
            scenario.wind,
            *(run.duration_s, run.settle_s, scenario.sea.ramp_s),
        ),
        mean_wind=mean_wind,
        sea=sea_of(scenario),
        start=(math.nan, math.nan),
        limits=_limits(scenario.limits, levers),
        settle=run.settle_s,
        output_step=run.output_step_s,
        seed=run.seed,
        method=run.method,
        tolerances=Tolerances(
            run.method, run.relative_tolerance, math.radians(run.absolute_tolerance_deg)
        ),
        accuracy=math.radians(run.accuracy_deg),
    )


def _segments(
    ship: schema.Ship,
    events: tuple[schema.Event, ...],
    wind: schema.Wind | None,
    duration: float,
    settle: float,
    ramp: float,
) -> Floats:
    """What changes in time, cut at every corner."""
    return timeline(
        duration,
        gravity_of(ship.gravity),
        [_change(event, ship.displacement_t) for event in events],
        wind.speed_mps if wind else 0.0,
        _gusts(wind),
        (settle, ramp),
    )


def height_of_buoyancy(levers: schema.LeverKind) -> float | None:
    """KB upright [m] where the levers say it; a wall-sided hull's follows from KM and BM."""
    if isinstance(levers, schema.WallSidedLevers):
        return levers.km_m - levers.bm_m
    return levers.kb_m


def sea_of(scenario: schema.Scenario) -> SeaState:
    """The sea as the ship meets it."""
    sea, ship = scenario.sea, scenario.ship
    return SeaState(
        waves=_waves(sea),
        beam=ship.beam_m,
        draught=ship.draught_m,
        shortest_wave=ship.beam_m if sea.shortest_wave_m is None else sea.shortest_wave_m,
        duration=scenario.run.duration_s,
        heading=math.radians(sea.heading_deg),
        speed=sea.ship_speed_mps,
        slope_coefficient=None if sea.slope_coefficient == "section" else sea.slope_coefficient,
    )


def _waves(
    sea: schema.CalmSea | schema.RegularSea | schema.IrregularSea,
) -> Spectrum | RegularWave | None:
    if isinstance(sea, schema.RegularSea):
        return RegularWave(sea.height_m, sea.period_s, math.radians(sea.phase_deg))
    if isinstance(sea, schema.IrregularSea):
        given = {
            "peak_period": sea.peak_period_s,
            "zero_crossing_period": sea.zero_crossing_period_s,
            "peak_enhancement": sea.peak_enhancement,
        }
        periods = {key: value for key, value in given.items() if value is not None}
        return SPECTRA[sea.spectrum](sea.significant_height_m, **periods)
    return None


def _dynamics(
    inertia: schema.Inertia, damping: schema.Damping, beam: float, base: schema.Ship
) -> tuple[float, Damping]:
    """Gyradius [m] and damping; what needs GM > 0 takes the base file's (checked before)."""
    gm = gm_of(base.levers, base.gravity)
    gyradius = inertia.gyradius_m
    if inertia.beam_fraction is not None:
        gyradius = inertia.beam_fraction * beam
    if gyradius is None:
        assert inertia.period_s is not None
        gyradius = gyradius_from_period(inertia.period_s, gm)
    if damping.extinction is not None:
        frequency = natural_frequency(gyradius, gm)
        return gyradius, from_extinction(
            damping.extinction.a, damping.extinction.b_per_deg, frequency
        )
    linear = damping.linear_per_s
    if damping.critical_fraction is not None:
        linear = from_critical_fraction(damping.critical_fraction, natural_frequency(gyradius, gm))
    return gyradius, Damping(linear, damping.quadratic, damping.cubic_s)


def _wind_per_speed_squared(scenario: schema.Scenario) -> float:
    """Wind moment per V² [N m s²/m²], + to starboard for a wind from port."""
    wind, windage = scenario.wind, scenario.ship.windage
    if wind is None or windage is None:
        return 0.0
    moment = moment_per_speed_squared(
        Windage(windage.area_m2, windage.lever_m), wind.drag_coefficient
    )
    return moment if wind.from_ == "port" else -moment


def _heel_law(scenario: schema.Scenario) -> str:
    return scenario.wind.heel_law if scenario.wind else "constant"


def _gusts(wind: schema.Wind | None) -> tuple[Gust, ...]:
    gusts = wind.gust if wind else ()
    return tuple(Gust(g.at_s, g.rise_s, g.hold_s, g.speed_factor) for g in gusts)


def _limits(limits: schema.Limits, levers: Levers) -> Limits:
    end = min(-levers.heel_min, levers.heel_max)
    return Limits(
        roll=math.inf if limits.roll_deg is None else math.radians(limits.roll_deg),
        flooding=math.inf if limits.flooding_deg is None else math.radians(limits.flooding_deg),
        capsize=end if limits.capsize_deg is None else min(math.radians(limits.capsize_deg), end),
    )


def _change(event: schema.Event, displacement: float) -> Change:
    """An event as shares of the displacement [t] at t = 0 and moments of those shares [m]."""
    if isinstance(event, schema.HeelingLever):
        return Change(event.at_s, event.over_s, lever=event.lever_m)
    assert not isinstance(event, schema.ValueChange)
    share = event.mass_t / displacement
    if isinstance(event, schema.MoveWeight):
        return Change(event.at_s, event.over_s, 0.0, share * event.up_m, share * event.across_m)
    if isinstance(event, schema.RemoveWeight):
        share = -share
    return Change(event.at_s, event.over_s, share, share * event.height_m, share * event.across_m)
