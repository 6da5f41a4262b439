"""Cross-checks of [severity]: a range, something to make stronger, and something to fail by."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
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
    """The weather that the factor multiplies is there."""
    severity = parts("severity")
    if severity is None:
        return
    sea, wind = parts("sea"), parts("wind")
    waves = not isinstance(sea, CalmSea)
    rises = any(
        isinstance(event, ValueChange) and event.key == "wind.speed_mps" and event.to > 0.0
        for event in parts("events")
    )
    blows = wind is not None and (wind.speed_mps > 0.0 or rises)
    there = {"waves": waves, "wind": blows, "weather": waves or blows}
    if there[severity.on]:
        return
    causes = split("sea"), split("wind"), split("events")
    if severity.on == "weather":
        problem = "nothing to make stronger: there are neither waves nor wind"
        hint = "give a [sea] or a [wind], or leave [severity] out"
    else:
        lacks, other = ("waves", "wind") if severity.on == "waves" else ("wind", "waves")
        problem = f'nothing to make stronger: on = "{severity.on}", and there is no {lacks}'
        problem = problem.replace("is no waves", "are no waves")
        table = "[sea]" if severity.on == "waves" else "[wind]"
        hint = (
            f'on = "{other}" makes the {other} stronger'
            if there[other]
            else (f"give a {table}, or leave [severity] out")
        )
    yield Finding(split("severity"), problem, hint, causes)


SEVERITY_CHECKS: tuple[Check, ...] = (
    rising_range,
    something_to_fail_by,
    something_to_make_stronger,
)
