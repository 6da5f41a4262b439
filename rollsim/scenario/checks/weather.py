"""Cross-checks of wind and sea."""

from __future__ import annotations

from math import cos, radians, sin

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.checks.ship import metacentric_height
from rollsim.scenario.schema.weather import IrregularSea, WhiteSlopeSea
from rollsim.scenario.text.faults import Finding

ALIGNED = radians(1e-9)
"""Heading off the bow or the beam that is none, as the sea takes it; that room is heavy to read."""


def idle_waves(parts: Parts) -> str | None:
    """The key of a [sea] with waves by which they do nothing to her, None where they act.

    They act by their slope across her, or by levers that feel the elevation along her.
    """
    heading = radians(parts("sea.heading_deg"))
    across, along = (abs(share) >= ALIGNED for share in (sin(heading), cos(heading)))
    in_waves = parts("ship.levers_in_waves")
    if along and in_waves is not None and in_waves.gm_per_m != 0.0:
        return None
    if not across:
        return "heading_deg"
    return "slope_coefficient" if parts("sea.slope_coefficient") == 0.0 else None


def absolute_excitation(parts: Parts) -> Findings:
    """The absolute wave moment W·GM·α has no meaning without GM > 0."""
    if parts("sea.excitation") != "absolute":
        return
    gm = metacentric_height(parts)
    if isinstance(parts("sea"), WhiteSlopeSea):
        if gm == 0.0:
            problem = "pushes by GM times the slope, and GM is 0"
            hint = "give her a GM, of either sign"
            yield Finding(split("sea"), problem, hint, (split("ship.gravity"),))
    elif gm <= 0.0:
        problem = f'"absolute" needs a GM above 0, got {gm:.4g} m'
        hint = '"relative" holds for any GM'
        causes = (split("ship.gravity"), split("ship.levers"))
        yield Finding(split("sea.excitation"), problem, hint, causes)


def spectrum(parts: Parts) -> Findings:
    """One period, none for pierson-moskowitz; a peak enhancement for jonswap alone."""
    sea = parts("sea")
    if not isinstance(sea, IrregularSea):
        return
    periods = ("peak_period_s", "zero_crossing_period_s")
    given = [key for key in periods if getattr(sea, key) is not None]
    form = (split("sea.spectrum"),)
    if sea.spectrum == "pierson-moskowitz":
        for key in given:
            problem = "does not belong to pierson-moskowitz"
            hint = "its height alone sets it; bretschneider takes a height and a period"
            yield Finding(split(f"sea.{key}"), problem, hint, form)
    elif len(given) != 1:
        got = "both are given" if given else "neither is given"
        problem = f"must hold exactly one of peak_period_s and zero_crossing_period_s; {got}"
        yield Finding(split("sea"), problem, "in seconds", form)
    if sea.peak_enhancement is not None and sea.spectrum != "jonswap":
        problem = f"does not belong to {sea.spectrum}"
        yield Finding(split("sea.peak_enhancement"), problem, "it belongs to jonswap", form)


def windage(parts: Parts) -> Findings:
    """A wind needs something to press on."""
    if parts.given("wind") and not parts.given("ship.windage"):
        hint = "add the table [ship.windage] with area_m2 and lever_m"
        yield Finding(split("wind"), "needs [ship.windage]", hint, (split("ship.windage"),))


def white_slope(parts: Parts) -> Findings:
    """White pushes come from no direction, and feel no hull."""
    sea = parts("sea")
    if not isinstance(sea, WhiteSlopeSea):
        return
    for key in ("heading_deg", "ship_speed_mps", "slope_coefficient", "shortest_wave_m"):
        if key in sea.model_fields_set:
            problem, hint = "does not belong to a white slope", "it belongs to waves: leave it out"
            yield Finding(split(f"sea.{key}"), problem, hint, (split("sea.kind"),))


WEATHER_CHECKS: tuple[Check, ...] = (absolute_excitation, spectrum, windage, white_slope)
