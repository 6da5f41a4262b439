"""Doubtful entries of [ship.form]."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.text.faults import Finding

SAME_FORM = 0.1
"""Difference of a given block coefficient from that of the displacement that is told."""
WATERLINE = (0.8, 1.2)
"""Usual waterline length over length_m."""
KEELS = 0.04
"""Share of length times beam at which the table of bilge keels ends."""


def block_coefficient(parts: Parts) -> Findings:
    """A given block coefficient is that of the displacement."""
    form, ship = parts("ship.form"), parts("ship")
    if form is None or form.block_coefficient is None:
        return
    length = form.waterline_length_m or ship.length_m
    own = ship.block_coefficient * ship.length_m / length
    if abs(form.block_coefficient - own) > SAME_FORM:
        problem = (
            f"differs from that of displacement, length, beam and draught by more than "
            f"{SAME_FORM:g}: {own:.3f}, got {form.block_coefficient:g}"
        )
        hint = "leave it out: the displacement gives it; or look at displacement and draught"
        yield Finding(split("ship.form.block_coefficient"), problem, hint)


def waterline_length(parts: Parts) -> Findings:
    """The waterline is about as long as the ship."""
    form, length = parts("ship.form"), parts("ship.length_m")
    if form is None or form.waterline_length_m is None:
        return
    low, high = WATERLINE
    if not low * length <= form.waterline_length_m <= high * length:
        problem = f"lies outside the usual {low:g} to {high:g} of length_m, got "
        problem += f"{form.waterline_length_m:g}"
        hint = "in metres; left out it is length_m"
        yield Finding(split("ship.form.waterline_length_m"), problem, hint)


def bilge_keels(parts: Parts) -> Findings:
    """Bilge keels are a few per cent of length times beam; sharp bilges need none."""
    form, ship = parts("ship.form"), parts("ship")
    if form is None or form.bilge_keel_area_m2 == 0.0:
        return
    path = split("ship.form.bilge_keel_area_m2")
    area = form.bilge_keel_area_m2
    if form.bilge == "sharp":
        hint = 'the weather criterion takes 0.7 for sharp bilges; with keels counted: "round"'
        yield Finding(path, f"is not read with sharp bilges, got {area:g}", hint)
    most = KEELS * ship.length_m * ship.beam_m
    if area > most:
        problem = f"is more than 4 % of length times beam ({most:.3g} m²), got {area:g}"
        hint = "total of both sides, in square metres; 1 to 4 % is usual (the criterion's table)"
        yield Finding(path, problem, hint)


FORM_DOUBTS: tuple[Check, ...] = (block_coefficient, waterline_length, bilge_keels)
