"""Cross-checks of [severity]: a range, something to make stronger, and something to fail by."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.checks.weather import idle_waves
from rollsim.scenario.schema.events import ValueChange
from rollsim.scenario.schema.weather import CalmSea
from rollsim.scenario.text.faults import Finding


def rising_range(parts: Parts) -> Findings:
    """The factors go up from `from` to `to`."""
    severity = parts("severity")
    if severity is not None and severity.from_ >= severity.to:
        problem = f"must be above from = {severity.from_:g}, got {severity.to:g}"
        hint = "the search goes up through the factors from the first to the last"
        yield Finding(split("severity.to"), problem, hint, (split("severity.from"),))


def something_to_fail_by(parts: Parts) -> Findings:
    """A failure other than a capsize needs a roll or flooding limit."""
    severity, limits = parts("severity"), parts("limits")
    if severity is None or severity.of != "failure":
        return
    if limits.roll_deg is None and limits.flooding_deg is None:
        problem = '"failure" needs a roll or a flooding limit, and none is set'
        hint = 'add roll_deg or flooding_deg under [limits], or take of = "capsize"'
        yield Finding(split("severity.of"), problem, hint, (split("limits"),))


def something_to_make_stronger(parts: Parts) -> Findings:
    """The weather that the factor multiplies is there, and acts on her."""
    severity = parts("severity")
    if severity is None:
        return
    without = {"waves": _without_waves(parts), "wind": _without_wind(parts)}
    asked = [severity.on] if severity.on in without else list(without)
    lacks = [lack for each in asked if (lack := without[each])]
    if len(lacks) < len(asked):
        return
    problem = f'nothing to make stronger: on = "{severity.on}", and {lacks[0][0]}'
    hint = f"{lacks[0][1]}, or leave [severity] out"
    others = [each for each in without if each not in asked and not without[each]]
    if len(lacks) > 1:
        problem = f"nothing to make stronger: {lacks[0][0]}, and {lacks[1][0]}"
        hint = f"{lacks[0][1]} or {lacks[1][1]}, or leave [severity] out"
    elif others:
        hint = f'on = "{others[0]}" makes the {others[0]} stronger'
    causes = split("sea"), split("wind"), split("events"), split("ship")
    yield Finding(split("severity"), problem, hint, causes)


Lack = tuple[str, str] | None
"""Why no weather acts on her, and a way out; None where it does."""


def _without_waves(parts: Parts) -> Lack:
    if isinstance(parts("sea"), CalmSea):
        return "there are no waves", "give a [sea]"
    key = idle_waves(parts)
    if key is None:
        return None
    words = f"sea.{key} = {parts(f'sea.{key}'):g} gives the waves no slope across her"
    return words, "turn sea.heading_deg" if key == "heading_deg" else f"leave out sea.{key}"


def _without_wind(parts: Parts) -> Lack:
    wind = parts("wind")
    if wind is None:
        return "there is no wind", "give a [wind]"
    rises = any(
        isinstance(event, ValueChange) and event.key == "wind.speed_mps" and event.to > 0.0
        for event in parts("events")
    )
    if wind.speed_mps == 0.0 and not rises:
        return "there is no wind", "give wind.speed_mps a value above 0"
    windage = parts("ship").whole_windage
    if windage is None or windage[0] * windage[1] != 0.0:  # without a table it is refused already
        return None
    return "the wind has nothing to heel her by", "give [ship.windage] an area and a lever above 0"


SEVERITY_CHECKS: tuple[Check, ...] = (
    rising_range,
    something_to_fail_by,
    something_to_make_stronger,
)
