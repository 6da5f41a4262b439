"""From a validated scenario to physics: the one place where degrees and tonnes become SI."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.engines.limits import Limits, Tolerances
from rollsim.errors import Fault, InputError
from rollsim.motion.coefficients import calm_coefficients
from rollsim.forcing.storm import Storm
from rollsim.motion.timeline import Base, Change, timeline
from rollsim.motion.timeline import mean_wind as mean_wind_rows
from rollsim.scenario import schema, schema_ship, schema_weather
from rollsim.scenario.levers_of import gm_of, gravity_of, levers_of
from rollsim.scenario.sweep import CaseSpec
from rollsim.ship.damping import Damping, from_critical_fraction, from_extinction
from rollsim.ship.inertia import gyradius_from_period, natural_frequency
from rollsim.ship.levers import Levers, metacentric_height
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import static_heel
from rollsim.weather.sea import RegularWave, SeaState
from rollsim.weather.spectra import SPECTRA, Spectrum
from rollsim.weather.wind import Gust, Windage, moment_per_speed_squared

Floats = NDArray[np.float64]

TONNE = 1000.0


def build_case(spec: CaseSpec, base: schema.Scenario, file: str) -> Case:
    """The case's physics; periods and fractions are converted at the gravity of `base`.

    InputError where a "static" start finds no heel to rest at.
    """
    scenario = spec.scenario
    ship = scenario.ship
    levers = levers_of(ship.levers)
    gravity = gravity_of(ship.gravity)
    gyradius, damping = _dynamics(ship, base.ship)
    inertia = gyradius**2 / GRAVITY
    weight = ship.displacement_t * TONNE * GRAVITY
    wind, law = _wind_per_speed_squared(scenario) / weight, _heel_law(scenario)
    mean_wind = scenario.wind.speed_mps if scenario.wind else 0.0
    heeling = Heeling(wind * mean_wind**2, law)
    limits = _limits(scenario.limits, levers)
    relative = scenario.sea.excitation == "relative"
    coefficients = calm_coefficients(levers, inertia, damping, wind, law)._replace(
        relative=relative,
        absolute_gm=0.0 if relative else metacentric_height(levers, gravity),
        ramp=scenario.sea.ramp_s,
    )
    in_force = Base(gravity, mean_wind)
    segments = timeline(
        scenario.run.duration_s,
        in_force,
        [_change(event, ship.displacement_t) for event in scenario.events],
        (),
        _gusts(scenario),
        (scenario.run.settle_s, scenario.sea.ramp_s),
    )
    curve = RightingCurve(levers, gravity, heeling)
    return Case(
        index=spec.index,
        condition=spec.condition,
        coordinates=spec.coordinates,
        beam=ship.beam_m,
        draught=ship.draught_m,
        depth=math.nan if ship.depth_m is None else ship.depth_m,
        levers=levers,
        gravity=gravity,
        kb=height_of_buoyancy(ship.levers),
        heeling=heeling,
        coefficients=coefficients,
        segments=segments,
        mean_wind=mean_wind_rows(scenario.run.duration_s, in_force),
        storm=Storm(sea_of(scenario)),
        start=_start(scenario.start, curve, limits, spec, file),
        limits=limits,
        settle=scenario.run.settle_s,
        output_step=scenario.run.output_step_s,
        seed=scenario.run.seed,
        method=scenario.run.method,
        tolerances=Tolerances(
            scenario.run.method,
            scenario.run.relative_tolerance,
            math.radians(scenario.run.absolute_tolerance_deg),
        ),
        accuracy=math.radians(scenario.run.accuracy_deg),
    )


def height_of_buoyancy(levers: schema_ship.LeverKind) -> float | None:
    """KB upright [m] where the levers say it; a wall-sided hull's follows from KM and BM."""
    if isinstance(levers, schema_ship.WallSidedLevers):
        return levers.km_m - levers.bm_m
    return levers.kb_m


def sea_of(scenario: schema.Scenario) -> SeaState:
    """The sea as the ship meets it."""
    sea, ship = scenario.sea, scenario.ship
    return SeaState(
        waves=_waves(sea),
        length=ship.length_m,
        beam=ship.beam_m,
        draught=ship.draught_m,
        shortest_wave=ship.beam_m if sea.shortest_wave_m is None else sea.shortest_wave_m,
        duration=scenario.run.duration_s,
        heading=math.radians(sea.heading_deg),
        speed=sea.ship_speed_mps,
        slope_coefficient=None if sea.slope_coefficient == "section" else sea.slope_coefficient,
    )


def _waves(
    sea: schema_weather.CalmSea | schema_weather.RegularSea | schema_weather.IrregularSea,
) -> Spectrum | RegularWave | None:
    if isinstance(sea, schema_weather.RegularSea):
        return RegularWave(sea.height_m, sea.period_s, math.radians(sea.phase_deg))
    if isinstance(sea, schema_weather.IrregularSea):
        given = {
            "peak_period": sea.peak_period_s,
            "zero_crossing_period": sea.zero_crossing_period_s,
            "peak_enhancement": sea.peak_enhancement,
        }
        said = {key: value for key, value in given.items() if value is not None}
        return SPECTRA[sea.spectrum](sea.significant_height_m, **said)
    return None


def _dynamics(ship: schema_ship.Ship, base: schema_ship.Ship) -> tuple[float, Damping]:
    """Gyradius [m] and damping; what needs GM > 0 takes the base file's (checked before)."""
    gm = gm_of(base.levers, base.gravity)
    gyradius = ship.inertia.gyradius_m
    if gyradius is None:
        assert ship.inertia.period_s is not None
        gyradius = gyradius_from_period(ship.inertia.period_s, gm)
    damping = ship.damping
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


def _gusts(scenario: schema.Scenario) -> tuple[Gust, ...]:
    gusts = scenario.wind.gust if scenario.wind else ()
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
    share = event.mass_t / displacement
    if isinstance(event, schema.MoveWeight):
        return Change(event.at_s, event.over_s, 0.0, share * event.up_m, share * event.across_m)
    if isinstance(event, schema.RemoveWeight):
        share = -share
    return Change(event.at_s, event.over_s, share, share * event.height_m, share * event.across_m)


def _start(
    start: schema.Start, curve: RightingCurve, limits: Limits, spec: CaseSpec, file: str
) -> tuple[float, float]:
    rate = math.radians(start.roll_rate_deg_per_s)
    if start.roll_deg != "static":
        return math.radians(start.roll_deg), rate
    heel = static_heel(curve, 0.0)
    if abs(heel) < limits.capsize:
        return heel, rate
    fault = Fault(
        "start.roll_deg",
        f'"static", but case {spec.index} ({spec.condition}) rests nowhere short of capsize_deg',
        "lessen the wind or lower G, or give the start angle as a number",
    )
    raise InputError(file, [fault])
