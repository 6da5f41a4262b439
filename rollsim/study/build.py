"""From a validated scenario to physics: the one place where degrees and tonnes become SI."""

from __future__ import annotations

import hashlib
import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.engines.solution import Limits, Tolerances
from rollsim.errors import Fault, InputError
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Change, timeline
from rollsim.scenario import schema, schema_ship, schema_weather
from rollsim.scenario.levers_of import gm_of, gravity_of, levers_of
from rollsim.scenario.sweep import CaseSpec
from rollsim.ship.damping import Damping, from_critical_fraction, from_extinction
from rollsim.ship.inertia import gyradius_from_period, natural_frequency
from rollsim.ship.levers import Gravity, Levers, metacentric_height
from rollsim.ship.statics import Heeling
from rollsim.study.equilibrium import static_heels
from rollsim.weather.sea import RegularWave, SeaState
from rollsim.weather.spectra import SPECTRA, Spectrum
from rollsim.weather.wind import Gust, Windage, moment_per_speed_squared

Floats = NDArray[np.float64]

TONNE = 1000.0


Made = tuple[int, Case, str]
"""The number of a kind of case, its physics without a start, and the digest of its weather."""


class Builder:
    """Turns the cases of a study into physics, one by one; what cases share is made once.

    `kinds` numbers what cases have in common besides their start; `weather` is a digest of sea,
    wind, events and settling time by case; `skipped` the cases without a static heel that the
    scenario wants skipped, not refused.
    """

    def __init__(self, base: schema.Scenario, file: str) -> None:
        self._base, self._file = base, file
        self.cases: list[Case] = []
        self.kinds: list[int] = []
        self.weather: list[str] = []
        self.skipped: set[int] = set()
        self._known: dict[tuple[Any, ...], Made] = {}
        self._same: dict[tuple[int, ...], tuple[tuple[Any, ...], Made]] = {}
        self._static: list[tuple[int, CaseSpec]] = []

    def add(self, spec: CaseSpec) -> None:
        """Make one case; a "static" start is found by `finish`."""
        s = spec.scenario
        kind, case, weather = self._shared((s.ship, s.limits, s.wind, s.sea, s.events, s.run), s)
        static, rate = s.start.roll_deg == "static", math.radians(s.start.roll_rate_deg_per_s)
        if static:
            self._static.append((len(self.cases), spec))
        roll = math.nan if static else math.radians(float(s.start.roll_deg))
        self.cases.append(
            replace(
                case,
                index=spec.index,
                condition=spec.condition,
                coordinates=spec.coordinates,
                start=(roll, rate),
            )
        )
        self.kinds.append(kind)
        self.weather.append(weather)

    def _shared(self, parts: tuple[Any, ...], scenario: schema.Scenario) -> Made:
        """What all cases of these parts share: looked for by identity, then by value."""
        key = tuple(id(part) for part in parts)
        if key not in self._same:
            if parts not in self._known:
                made = _physics(scenario, self._base), _weather_digest(scenario)
                self._known[parts] = len(self._known), *made
            # The parts are kept: their identities are not given to others.
            self._same[key] = parts, self._known[parts]
        return self._same[key][1]

    def finish(self) -> None:
        """Find the heels of all "static" starts; InputError where there are none to rest at."""
        faults = []
        asked = [self.cases[i] for i, _ in self._static]
        heels = static_heels(asked)
        for (i, spec), heel in zip(self._static, heels, strict=True):
            case = self.cases[i]
            if abs(heel) < case.limits.capsize:
                self.cases[i] = replace(case, start=(float(heel), case.start[1]))
            elif getattr(spec.scenario.start, "static_missing", "refuse") == "skip":
                self.skipped.add(i)
            else:
                faults.append(_no_static_heel(case, spec))
        if faults:
            raise InputError(self._file, faults)


def _no_static_heel(case: Case, spec: CaseSpec) -> Fault:
    """What stood against a static start, in numbers."""
    wind = case.heeling.wind
    return Fault(
        "start.roll_deg",
        f'"static", but case {spec.index} ({spec.condition}) has no equilibrium within '
        f"capsize_deg {math.degrees(case.limits.capsize):.4g}: wind lever {wind:.3g} m, "
        f"off-centre G {case.gravity.off_centre:.3g} m, KG {case.gravity.kg:.4g} m",
        'lessen the wind, lower G, give the start angle as a number, or static_missing = "skip"',
    )


def _weather_digest(scenario: schema.Scenario) -> str:
    """A digest of what comes from outside: the same for cases that meet the same weather."""
    parts = [scenario.sea, scenario.wind, *scenario.events]
    text = "|".join("" if part is None else part.model_dump_json() for part in parts)
    run = scenario.run
    text += f"|{run.settle_s!r}|{run.duration_s!r}|{run.seed}"
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _physics(scenario: schema.Scenario, base: schema.Scenario) -> Case:
    """A case's physics without its start; what needs GM > 0 is converted at `base`'s gravity."""
    ship, run = scenario.ship, scenario.run
    levers = levers_of(ship.levers)
    gravity = gravity_of(ship.gravity)
    gyradius, damping = _dynamics(ship, base.ship)
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
        segments=_segments(scenario, gravity, mean_wind),
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


def _segments(scenario: schema.Scenario, gravity: Gravity, mean_wind: float) -> Floats:
    """What changes in time, cut at every corner."""
    return timeline(
        scenario.run.duration_s,
        gravity,
        [_change(event, scenario.ship.displacement_t) for event in scenario.events],
        mean_wind,
        _gusts(scenario),
        (scenario.run.settle_s, scenario.sea.ramp_s),
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
        periods = {key: value for key, value in given.items() if value is not None}
        return SPECTRA[sea.spectrum](sea.significant_height_m, **periods)
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
