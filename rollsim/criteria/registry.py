"""The criteria by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rollsim.criteria import general, naval_beam_wind, weather, weather_long_periods
from rollsim.criteria.at_rest import ShipAtRest
from rollsim.criteria.requirement import Judgement


@dataclass(frozen=True)
class Rule:
    """A criterion: what it is called, the text that it follows, and what it says of a ship."""

    words: str
    text: str
    judge: Callable[[ShipAtRest], Judgement]


RULES: dict[str, Rule] = {
    "general": Rule("general criteria", general.TEXT, general.judge),
    "weather": Rule("severe wind and rolling", weather.TEXT, weather.judge),
    "weather-long-periods": Rule(
        "severe wind and rolling, long roll periods",
        weather_long_periods.TEXT,
        weather_long_periods.judge,
    ),
    "naval-beam-wind": Rule(
        "naval beam wind and rolling, from memory", naval_beam_wind.TEXT, naval_beam_wind.judge
    ),
}
"""Every criterion; the naval one is remembered, not read."""
