"""Doubtful winds and seas."""

from __future__ import annotations

from math import pi

from rollsim.constants import GRAVITY
from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.checks.weather import idle_waves
from rollsim.scenario.schema.events import ValueChange
from rollsim.scenario.schema.weather import CalmSea, IrregularSea, RegularSea
from rollsim.scenario.text.faults import Finding

STEEP, BREAKING = 1.0 / 10.0, 1.0 / 7.0
"""Wave height over length: a significant height at the peak period, a regular wave that breaks."""

PEAK_OVER_ZERO_CROSSING = 1.408
"""Peak period over mean zero-crossing period of the Bretschneider spectrum."""

STRONG_WIND = 40.0
"""Mean wind [m/s] that few storms reach."""
BEAUFORT = "Beaufort 12 begins at 32.7 m/s; a speed in knots times 0.5144 is in metres a second"


def steep_sea(parts: Parts) -> Findings:
    """Waves of that height and period would break."""
    sea = parts("sea")
    if isinstance(sea, RegularSea):
        key, height, period, steepest = "height_m", sea.height_m, sea.period_s, BREAKING
        words, usual = "a wave can be before it breaks, 1/7", "usually 1/50 to 1/20"
    elif isinstance(sea, IrregularSea):
        key, height, steepest = "significant_height_m", sea.significant_height_m, STEEP
        period = sea.peak_period_s or PEAK_OVER_ZERO_CROSSING * (sea.zero_crossing_period_s or 0.0)
        words, usual = "storm seas are, 1/10", "usually 1/40 to 1/15 in storms"
    else:
        return
    length = GRAVITY * period**2 / (2.0 * pi)
    if period and height > steepest * length:
        problem = f"is steeper than {words} of the wave length ({length:.3g} m), got {height:g}"
        hint = f"{usual} (common practice); is the period right?"
        causes = (split("sea.peak_period_s"), split("sea.zero_crossing_period_s"), split("sea"))
        yield Finding(split(f"sea.{key}"), problem, hint, causes)


def strong_wind(parts: Parts) -> Findings:
    """A mean wind of a knots value taken for metres per second."""
    wind = parts("wind")
    if wind is not None and wind.speed_mps > STRONG_WIND:
        problem = f"is beyond the usual {STRONG_WIND:g} m/s of a mean wind, got {wind.speed_mps:g}"
        yield Finding(split("wind.speed_mps"), problem, BEAUFORT)


def strong_changes(parts: Parts) -> Findings:
    """What an event makes of the wind or of regular waves is no less doubted."""
    sea = parts("sea")
    for index, event in enumerate(parts("events")):
        if not isinstance(event, ValueChange):
            continue
        if event.key == "wind.speed_mps" and event.to > STRONG_WIND:
            problem = f"is beyond the usual {STRONG_WIND:g} m/s of a mean wind, got {event.to:g}"
            yield Finding(split(f"events.{index}.to"), problem, BEAUFORT)
        if event.key == "sea.height_m" and isinstance(sea, RegularSea):
            length = GRAVITY * sea.period_s**2 / (2.0 * pi)
            if event.to > BREAKING * length:
                problem = (
                    "is steeper than a wave can be before it breaks, 1/7 of the wave length "
                    f"({length:.3g} m), got {event.to:g}"
                )
                hint = "usually 1/50 to 1/20 (common practice); is the period right?"
                yield Finding(split(f"events.{index}.to"), problem, hint, (split("sea"),))


def ramp_after_settling(parts: Parts) -> Findings:
    """Limits and extremes should not count while the sea still grows."""
    sea = parts("sea")
    if isinstance(sea, CalmSea):
        return
    settle = parts("run.settle_s")
    if sea.ramp_s > settle:
        problem = f"is longer than settle_s ({settle:g} s), got {sea.ramp_s:g}"
        hint = "limits and extremes count while the sea still grows; usually settle_s is not less "
        hint += "(common practice)"
        yield Finding(split("sea.ramp_s"), problem, hint, (split("run.settle_s"),))


def no_slope(parts: Parts) -> Findings:
    """Waves act on her by their slope across her, or by levers that feel them."""
    sea = parts("sea")
    key = None if isinstance(sea, CalmSea) else idle_waves(parts)
    if key is None:
        return
    problem = f"gives the waves no slope across her: they do nothing, got {getattr(sea, key):g}"
    hint = (
        "usually 30 to 150 or 210 to 330, beam seas are 90 and 270 (geometry); head and following "
        "seas act by [ship.levers_in_waves], and surf-riding and broaching are outside the model"
    )
    if key == "slope_coefficient":
        hint = 'left out it is "section": from beam and draught for each wave'
    yield Finding(split(f"sea.{key}"), problem, hint, (split("sea"),))


WEATHER_DOUBTS: tuple[Check, ...] = (
    steep_sea,
    strong_wind,
    strong_changes,
    ramp_after_settling,
    no_slope,
)
