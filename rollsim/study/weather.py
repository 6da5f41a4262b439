"""Sea and wind of a scenario, from degrees to SI."""

from __future__ import annotations

import math

from rollsim.scenario import schema
from rollsim.weather.sea import RegularWave, SeaState
from rollsim.weather.spectra import SPECTRA, Spectrum
from rollsim.weather.white import WhiteSlope
from rollsim.weather.wind import (
    TURBULENCE,
    Windage,
    WindLines,
    moment_per_speed_squared,
    wind_lines,
)


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
    sea: schema.Sea,
) -> Spectrum | RegularWave | WhiteSlope | None:
    if isinstance(sea, schema.WhiteSlopeSea):
        return WhiteSlope(sea.slope_density_rad2_s, sea.band_rad_per_s)
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


def turbulence_of(wind: schema.Wind | None, run: schema.Run) -> WindLines | None:
    """The lines of a turbulent wind; none where no wind blows."""
    if wind is None or wind.turbulence is None or wind.speed_mps == 0.0:
        return None
    table = wind.turbulence
    spectrum = TURBULENCE[table.spectrum](wind.speed_mps, table.surface_drag, table.intensity)
    return wind_lines(spectrum, run.duration_s)


def wind_per_speed_squared(scenario: schema.Scenario) -> float:
    """Wind moment per V² [N m s²/m²], + to starboard for a wind from port."""
    wind, windage = scenario.wind, scenario.ship.whole_windage
    if wind is None or windage is None:
        return 0.0
    moment = moment_per_speed_squared(Windage(*windage), wind.drag_coefficient)
    return moment if wind.from_ == "port" else -moment


def heel_law(scenario: schema.Scenario) -> str:
    """How the wind's lever falls off with heel."""
    return scenario.wind.heel_law if scenario.wind else "constant"
