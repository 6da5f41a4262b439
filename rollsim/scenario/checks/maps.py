"""Cross-checks of the tables of maps: [basin] and [response]."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.weather import RegularSea
from rollsim.scenario.text.faults import Finding


def basin_ranges(parts: Parts) -> Findings:
    """Both ranges of the starts go upwards."""
    basin = parts("basin")
    if basin is None:
        return
    for key in ("roll_deg", "roll_rate_deg_per_s"):
        first, last = getattr(basin, key).from_, getattr(basin, key).to
        if first >= last:
            problem = f"must be above from, {first:g}, got {last:g}"
            yield Finding(split(f"basin.{key}.to"), problem, "starts go from the least upwards")


def equilibria_range(parts: Parts) -> Findings:
    """The range of a map of equilibria goes upwards."""
    equilibria = parts("equilibria")
    if equilibria is None:
        return
    first, last = equilibria.from_, equilibria.to
    if first >= last:
        problem = f"must be above from, {first:g}, got {last:g}"
        yield Finding(
            split("equilibria.to"), problem, "the range goes from the least value upwards"
        )


def response_range(parts: Parts) -> Findings:
    """The range of a response goes upwards."""
    response = parts("response")
    if response is None:
        return
    first, last = response.from_, response.to
    if first >= last:
        problem = f"must be above from, {first:g}, got {last:g}"
        yield Finding(split("response.to"), problem, "the range goes from the least value upwards")


def response_sea(parts: Parts) -> Findings:
    """A steady response needs a sea, and a wind, that repeat."""
    if parts("response") is None:
        return
    sea = parts("sea")
    if not isinstance(sea, RegularSea):
        problem = f'needs a regular sea, got kind = "{sea.kind}"'
        hint = (
            'a steady response repeats with the wave: sea.kind = "regular", or leave [response] out'
        )
        yield Finding(split("response"), problem, hint, (split("sea.kind"),))
    wind = parts("wind")
    if wind is not None and wind.turbulence is not None:
        problem = "needs a wind that does not vary"
        hint = "a steady response repeats with the wave: leave out [wind.turbulence] or [response]"
        yield Finding(split("response"), problem, hint, (split("wind.turbulence"),))


def observed_period(parts: Parts) -> Findings:
    """A period that was timed comes with its standard deviation."""
    observed = parts("observed")
    if observed is None or (observed.roll_period_s is None) == (observed.roll_period_sd_s is None):
        return
    given, missing = "roll_period_s", "roll_period_sd_s"
    if observed.roll_period_s is None:
        given, missing = missing, given
    problem = f"is missing beside {given}"
    yield Finding(split(f"observed.{missing}"), problem, "give both, or neither")


def observed_heel(parts: Parts) -> Findings:
    """The heel lies within the levers."""
    observed = parts("observed")
    if observed is None:
        return
    known = parts("ship.levers").known_deg
    if abs(observed.heel_deg) >= known:
        problem = f"must lie within the levers, up to {known:g} deg, got {observed.heel_deg:g}"
        yield Finding(split("observed.heel_deg"), problem, "levers are known there alone")


MAP_CHECKS: tuple[Check, ...] = (
    equilibria_range,
    basin_ranges,
    response_range,
    response_sea,
    observed_period,
    observed_heel,
)
