"""Doubtful sizes of the ship, her inertia, damping, windage and weights."""

from __future__ import annotations

from functools import lru_cache
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.checks.plausible.sheet import of_loading
from rollsim.scenario.checks.ship import sound_levers
from rollsim.scenario.schema.events import AddWeight, MoveWeight, RemoveWeight
from rollsim.scenario.schema.levers import SingleKind, levers_of
from rollsim.scenario.schema.ship import Gravity
from rollsim.scenario.schema.units import with_unit
from rollsim.scenario.text.faults import Finding

GYRADIUS = (0.25, 0.55)
"""Usual gyradius over beam, added inertia included; most ships have 0.35 to 0.45."""

BLOCK = (0.3, 0.95)
"""Block coefficients from a slender yacht to a barge."""

HIGHEST_G = 1.2
"""Height of G over the depth beyond which it is doubted."""

SAME_DRAUGHT = 0.1
"""Change of the block coefficient at one draught beyond which the draught was likely forgotten."""


def gyradius(parts: Parts) -> Findings:
    """The gyradius is a usual share of the beam."""
    beam, inertia = parts("ship.beam_m"), parts("ship.inertia")
    known = _gyradius_over_beam(parts)
    if known is None:
        return
    share, key = known
    low, high = GYRADIUS
    if low <= share <= high:
        return
    got = "the masses" if key == "from_masses" else with_unit(getattr(inertia, key), key)
    problem = f"gives a gyradius outside the usual {low:g} to {high:g} of the beam, got {share:.3g}"
    hint = f"{got} with a beam of {beam:g} m; 0.35 to 0.45 with added inertia is common practice"
    if key == "gyradius_m" and low <= inertia.gyradius_m <= high:
        hint += f"; a share of the beam is given as beam_fraction = {inertia.gyradius_m:g}"
    yield Finding(split(f"ship.inertia.{key}"), problem, hint, (split("ship.beam_m"),))


def _gyradius_over_beam(parts: Parts) -> tuple[float, str] | None:
    """The gyradius as a share of the beam and the key that gives it; None where it is not known."""
    beam, inertia, gm = parts("ship.beam_m"), parts("ship.inertia"), parts.base_gm
    if inertia.period_s is not None and gm is not None and gm > 0.0:
        return inertia.period_s * sqrt(GRAVITY * gm) / (2.0 * pi * beam), "period_s"
    if inertia.beam_fraction is not None:
        return inertia.beam_fraction, "beam_fraction"
    if inertia.gyradius_m is not None:
        return inertia.gyradius_m / beam, "gyradius_m"
    if inertia.from_masses is not None and (own := parts("ship").gyradius):
        return own / beam, "from_masses"
    return None


def more_than_critical(parts: Parts) -> Findings:
    """A ship is damped by far less than critical, however her damping is given."""
    damping, gm = parts("ship.damping"), parts.base_gm
    known, words = _gyradius_over_beam(parts), ""
    if damping.critical_fraction is not None:
        key, fraction, got = "critical_fraction", damping.critical_fraction, ""
    elif damping.linear_per_s > 0.0 and known and gm is not None and gm > 0.0:
        gyradius = known[0] * parts("ship.beam_m")
        key, fraction = "linear_per_s", 0.5 * damping.linear_per_s * gyradius / sqrt(GRAVITY * gm)
        got, words = f"{damping.linear_per_s:g}", f" ({fraction:.3g} times it)"
    else:
        return
    if fraction > 1.0:
        problem = f"is more than critical damping{words}: she would creep back, not roll, got "
        hint = "usually 0.01 to 0.2 of it (common practice); a fraction, not per cent"
        problem += got or f"{fraction:g}"
        yield Finding(split(f"ship.damping.{key}"), problem, hint, (split("ship.inertia"),))


def no_damping(parts: Parts) -> Findings:
    """Every ship has some damping."""
    damping = parts("ship.damping")
    given = [damping.linear_per_s, damping.critical_fraction, damping.quadratic, damping.cubic_s]
    if damping.extinction is not None:
        given += [damping.extinction.a, damping.extinction.b_per_deg]
    if not any(given):
        problem = "holds no damping at all: no roll ever dies out, and resonance has no bound"
        hint = "critical_fraction is usually 0.02 to 0.1 (common practice)"
        yield Finding(split("ship.damping"), problem, hint)


def block_coefficient(parts: Parts) -> Findings:
    """Her displacement fills a usual share of the block around her."""
    value = parts("ship").block_coefficient
    low, high = BLOCK
    if not low <= value <= high:
        problem = (
            f"gives a block coefficient outside the usual {low:g} to {high:g}, got {value:.2f}"
        )
        hint = (
            "displacement over length times beam times draught of sea water; most ships have 0.4 "
            "to 0.85 (common practice)"
        )
        causes = tuple(split(f"ship.{key}") for key in ("length_m", "beam_m", "draught_m"))
        yield of_loading(parts, "ship.displacement_t", problem, hint, causes)


def high_g(parts: Parts) -> Findings:
    """G of a ship lies below her deck, or little above it with cargo on deck."""
    kg, depth = parts("ship.gravity.kg_m"), parts("ship.depth_m")
    most = HIGHEST_G * (depth or 2.0 * parts("ship.draught_m"))
    if kg > most:
        words = f"{HIGHEST_G:g} times the depth" if depth else "what two draughts give"
        problem = f"is higher than {words} ({most:.3g} m), got {kg:g}"
        hint = "above the keel, in metres; usually 0.5 to 0.9 of the depth (common practice)"
        yield of_loading(parts, "ship.gravity.kg_m", problem, hint, (split("ship.depth_m"),))


def lighter_at_one_draught(base: Parts, condition: Parts) -> Findings:
    """A condition that changes the displacement changes the draught too."""
    ship, other = base("ship"), condition("ship")
    ratio = other.block_coefficient / ship.block_coefficient
    same = all(
        getattr(ship, key) == getattr(other, key) for key in ("length_m", "beam_m", "draught_m")
    )
    if same and abs(ratio - 1.0) > SAME_DRAUGHT:
        problem = (
            f"changes the displacement by {100.0 * (ratio - 1.0):+.0f} % at the same draught: the "
            f"block coefficient goes from {ship.block_coefficient:.2f} to "
            f"{other.block_coefficient:.2f}"
        )
        hint = "give the condition its draught_m too; below 10 % is usual (common practice)"
        yield of_loading(condition, "ship.displacement_t", problem, hint)


def windage_lever(parts: Parts) -> Findings:
    """The windage lever counts from the centre of lateral resistance, not from the keel."""
    windage, depth = parts("ship.windage"), parts("ship.depth_m")
    if windage is None:
        return
    bound, words = (
        (depth, "the depth") if depth else (2.0 * parts("ship.draught_m"), "two draughts")
    )
    if windage.lever_m > bound:
        problem = f"is more than {words} ({bound:g} m), got {windage.lever_m:g}"
        hint = (
            "it counts from the centre of lateral resistance, about half the draught above the "
            "keel; 0.5 to 1 of the depth is usual (common practice)"
        )
        causes = (split("ship.depth_m"), split("ship.draught_m"))
        yield Finding(split("ship.windage.lever_m"), problem, hint, causes)


def weights_on_board(parts: Parts) -> Findings:
    """Weights stay within the ship's sides."""
    beam = parts("ship.beam_m")
    for index, event in enumerate(parts("events")):
        path = split(f"events.{index}.across_m")
        if isinstance(event, MoveWeight) and abs(event.across_m) > beam:
            problem = f"moves the weight further than the beam ({beam:g} m), got {event.across_m:g}"
            hint = (
                "usually less than the beam, from side to side (geometry); the distance, in metres"
            )
            yield Finding(path, problem, hint, (split("ship.beam_m"),))
        if isinstance(event, AddWeight | RemoveWeight) and abs(event.across_m) > 0.5 * beam:
            problem = f"lies beyond the ship's side ({0.5 * beam:g} m), got {event.across_m:g}"
            hint = (
                "its place off the centreline, in metres; usually within half the beam (geometry)"
            )
            yield Finding(path, problem, hint, (split("ship.beam_m"),))


def start_past_vanishing(parts: Parts) -> Findings:
    """She does not start where nothing rights her any more."""
    roll = parts("start.roll_deg")
    if isinstance(roll, str) or roll == 0.0:
        return
    levers, gravity = sound_levers(parts), parts("ship.gravity")
    vanishing = _vanishing_deg(levers, gravity, 1.0 if roll > 0.0 else -1.0)
    if vanishing is not None and abs(roll) > vanishing:
        problem = f"lies past the vanishing angle on that side ({vanishing:.3g}°), got {roll:g}"
        hint = "usually far inside it (statics): she goes on over from there unless waves, wind or "
        hint += "her rate bring her back"
        causes = (split("ship.gravity"), split("ship.levers"))
        yield Finding(split("start.roll_deg"), problem, hint, causes)


@lru_cache(maxsize=64)
def _kn_by_half_degrees(levers: SingleKind, side: float) -> tuple[NDArray[np.float64], ...]:
    """Heels [rad] of one side, outwards, and KN there [m]; both as distances from upright."""
    curve = levers_of(levers)
    end = curve.heel_max if side > 0.0 else -curve.heel_min
    heel = np.linspace(0.0, end, max(2, round(np.degrees(end) / 0.5) + 1))
    return heel, side * curve.kn(side * heel)


def _vanishing_deg(levers: SingleKind, gravity: Gravity, side: float) -> float | None:
    """Heel [degree] where the righting lever of a side is lost for good, None where it is not."""
    heel, kn = _kn_by_half_degrees(levers, side)
    height = gravity.kg_m + gravity.free_surface_m
    gz = kn - height * np.sin(heel) - side * gravity.off_centre_m * np.cos(heel)
    lost = np.flatnonzero((gz[:-1] > 0.0) & (gz[1:] <= 0.0))
    if lost.size == 0:
        return None
    last = int(lost[-1])
    part = gz[last] / (gz[last] - gz[last + 1])
    return float(np.degrees(heel[last] + part * (heel[last + 1] - heel[last])))


SHIP_DOUBTS: tuple[Check, ...] = (
    gyradius,
    more_than_critical,
    no_damping,
    block_coefficient,
    high_g,
    windage_lever,
    weights_on_board,
    start_past_vanishing,
)
