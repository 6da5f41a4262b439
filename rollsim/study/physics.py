"""From a validated scenario to physics: the one place where degrees and tonnes become SI."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.engines.limits import Limits, Tolerances, flooding_limits
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import Coefficients, calm_coefficients, lever_table
from rollsim.scenario import schema
from rollsim.scenario.schema import gm_of, gravity_of, levers_in_waves
from rollsim.ship.damping import Damping, from_critical_fraction, from_extinction
from rollsim.ship.inertia import gyradius_from_period, natural_frequency
from rollsim.ship.lever_table import filled_rows
from rollsim.ship.levers import Levers, metacentric_height
from rollsim.ship.midship import Midship
from rollsim.ship.righting import Heeling
from rollsim.ship.wave_levers import WaveLevers
from rollsim.study.course import segments, settings_of, wind_in_time
from rollsim.study.tanks import levers_with_liquid, tanks_in_time
from rollsim.study.weather import heel_law, sea_of, turbulence_of, wind_per_speed_squared

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
    levers = once(levers_with_liquid, ship)
    gravity = once(gravity_of, ship.gravity)
    sizes = ship if ship.inertia.from_masses else ship.beam_m
    gyradius, damping = once(_dynamics, ship.inertia, ship.damping, sizes, base.ship)
    weight = ship.displacement_t * TONNE * GRAVITY
    wind, law = wind_per_speed_squared(scenario) / weight, heel_law(scenario)
    mean_wind = scenario.wind.speed_mps if scenario.wind else 0.0
    filling = once(tanks_in_time, ship, scenario.events, run)
    coefficients = _coefficients(scenario, levers, gyradius**2 / GRAVITY, damping, (wind, law))
    if filling and filling.levers:
        table = lever_table(levers, _gm_per_m(ship), _wave_levers(scenario))
        rows = once(filled_rows, filling.levers, table)
        coefficients = coefficients._replace(filling=rows)
    # Of the sea only what bends the timeline: cases that differ in their storms share it.
    settings = once(settings_of, scenario.events, scenario.sea) if scenario.events else ()
    changing = scenario.wind, settings, run
    return Case(
        index=-1,
        condition="",
        coordinates={},
        beam=ship.beam_m,
        draught=ship.draught_m,
        depth=math.nan if ship.depth_m is None else ship.depth_m,
        levers=levers,
        gravity=gravity,
        kb=height_of_buoyancy(ship.own_levers),
        heeling=Heeling(wind * mean_wind**2, law),
        coefficients=coefficients,
        segments=once(segments, ship, scenario.events, *changing, scenario.sea.ramp_s, filling),
        mean_wind=once(wind_in_time, gravity, *changing),
        storm=Storm(
            sea_of(scenario),
            _gm_per_m(ship) != 0.0 or _wave_levers(scenario) is not None,
            once(turbulence_of, scenario.wind, run) if wind != 0.0 else None,
        ),
        start=(math.nan, math.nan),
        limits=_limits(scenario.limits, levers, ship),
        settle=run.settle_s,
        output_step=run.output_step_s,
        seed=run.seed,
        method=run.method,
        tolerances=Tolerances(
            run.method, run.relative_tolerance, math.radians(run.absolute_tolerance_deg)
        ),
        accuracy=math.radians(run.accuracy_deg),
        gm_per_m=_gm_per_m(ship),
        filling=filling.levers if filling else None,
        waves=_wave_levers(scenario),
        midship=_midship(ship),
    )


def _coefficients(
    scenario: schema.Scenario,
    levers: Levers,
    inertia: float,
    damping: Damping,
    wind: tuple[float, str],
) -> Coefficients:
    """The equation's constants; `wind` is the lever per V² [s²/m] and its law of heel."""
    ship, sea = scenario.ship, scenario.sea
    relative, waves = sea.excitation == "relative", _wave_levers(scenario)
    calm = calm_coefficients(levers, inertia, damping, *wind, _gm_per_m(ship), waves)
    gm = 0.0 if relative else metacentric_height(levers, gravity_of(ship.gravity))
    if isinstance(sea, schema.WhiteSlopeSea):
        # Random pushes have no sign to lose: so they serve a ship at loll too.
        gm = abs(gm)
    return calm._replace(
        relative=relative,
        absolute_gm=gm,
        added_share=ship.inertia.added_share if relative else 0.0,
        ramp=sea.ramp_s,
    )


def _gm_per_m(ship: schema.Ship) -> float:
    """Change of GM per metre of effective elevation, 0 where the levers do not feel the wave."""
    table = ship.levers_in_waves
    if table is None:
        return 0.0
    waves = levers_in_waves(ship)
    return (table.gm_per_m or 0.0) if waves is None else waves.simple_form.gm_per_m


def _wave_levers(scenario: schema.Scenario) -> WaveLevers | None:
    """Her levers in waves by her hull; in still water they are not made."""
    return None if scenario.sea.kind == "calm" else levers_in_waves(scenario.ship)


def _midship(ship: schema.Ship) -> Midship | None:
    """Her own midship section, where her hull tells it."""
    if isinstance(ship.levers, schema.HullLevers):
        return ship.levers.midship(ship.displacement_t, ship.along)
    return None


def height_of_buoyancy(levers: schema.SingleKind) -> float | None:
    """KB upright [m] where the levers say it; a wall-sided hull's follows from KM and BM."""
    if isinstance(levers, schema.WallSidedLevers):
        return levers.km_m - levers.bm_m
    return levers.kb_m


def _dynamics(
    inertia: schema.Inertia,
    damping: schema.Damping,
    sizes: float | schema.Ship,
    base: schema.Ship,
) -> tuple[float, Damping]:
    """Gyradius [m] and damping; what needs GM > 0 takes the base file's (checked before).

    `sizes` is the beam [m], or the ship where her masses tell the gyradius.
    """
    gm = gm_of(base.own_levers, base.gravity)
    gyradius = inertia.gyradius_m
    if inertia.beam_fraction is not None:
        assert isinstance(sizes, float | int)
        gyradius = inertia.beam_fraction * sizes
    if isinstance(sizes, schema.Ship):
        gyradius = sizes.gyradius
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


def _limits(limits: schema.Limits, levers: Levers, ship: schema.Ship) -> Limits:
    """The angles that count; where no flooding angle is given, those of the hull's openings."""
    end = min(-levers.heel_min, levers.heel_max)
    sides = math.inf, math.inf
    if limits.flooding_deg is not None:
        sides = (math.radians(limits.flooding_deg),) * 2
    elif isinstance(ship.levers, schema.HullLevers):
        sides = ship.levers.flooding(ship.displacement_t, ship.along)
    flooding, port = flooding_limits(*sides)
    return Limits(
        roll=math.inf if limits.roll_deg is None else math.radians(limits.roll_deg),
        flooding=flooding,
        port=port,
        capsize=end if limits.capsize_deg is None else min(math.radians(limits.capsize_deg), end),
    )
