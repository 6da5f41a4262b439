"""Cross-checks of the ship: her levers, sizes, inertia, damping and limits."""

from __future__ import annotations

from rollsim.constants import SEA_WATER_DENSITY
from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.curves import file_of_curves, heels_of_table, rows_of_curves
from rollsim.scenario.checks.hull import file_of_hull
from rollsim.scenario.checks.parts import Parts, UnparsedError, split
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.levers import CrossCurveLevers, LeverKind, SingleKind, levers_at
from rollsim.scenario.schema.loading import along_of
from rollsim.scenario.schema.ship import gm_of
from rollsim.scenario.schema.units import with_unit
from rollsim.scenario.text.faults import Finding, listed
from rollsim.ship.hull.form import UnfloatableError

CONVERTED = ("ship.inertia.period_s", "ship.damping.critical_fraction", "ship.damping.extinction")
"""Keys that are converted once, at the base file's gravity."""


def sound_levers(parts: Parts) -> SingleKind:
    """The levers at her displacement; UnparsedError where they have faults."""
    levers: LeverKind = parts("ship.levers")
    if next(table_of_levers(parts), None):
        raise UnparsedError
    if isinstance(levers, CrossCurveLevers | HullLevers):
        displacement = parts("ship.displacement_t")
        if isinstance(levers, CrossCurveLevers) and not levers.covers(displacement):
            raise UnparsedError
        try:
            along = along_of(parts("ship.loading"), parts("ship.length_m"))
            return levers_at(levers, displacement, along)
        except UnfloatableError:
            raise UnparsedError from None
    return levers


def metacentric_height(parts: Parts) -> float:
    """GM [m]; UnparsedError where levers or gravity have faults."""
    gravity = parts("ship.gravity")
    return gm_of(sound_levers(parts), gravity)


def conversions(parts: Parts) -> Findings:
    """Keys that are converted at the base file's GM need it above 0."""
    gm = parts.base_gm
    for key in CONVERTED if gm is not None and gm <= 0.0 else ():
        try:
            given = parts(key) is not None
        except UnparsedError:
            continue
        if given:
            problem = f"needs a GM above 0 in the base file, got {gm:.4g} m"
            hint = "give gyradius_m, linear_per_s and quadratic instead: they need no GM"
            causes = (split("ship.levers"), split("ship.gravity"))
            yield Finding(split(key), problem, hint, causes)


def table_of_levers(parts: Parts) -> Findings:
    """A table increases from 0 with lever 0, or lies over both sides with heel 0 in it."""
    kind = parts("ship.levers.kind")
    if kind == "cross-curves":
        of_file = [*file_of_curves(parts)]
        yield from of_file or [*heels_of_table(parts), *rows_of_curves(parts)]
    if kind == "hull":
        yield from file_of_hull(parts)
    levers = {"kn": "kn_m", "gz": "gz_m"}.get(kind)
    if levers is None:
        return
    yield from heels_of_table(parts)
    path = split("ship.levers.heel_deg")
    heel = parts("ship.levers.heel_deg")
    values = parts(f"ship.levers.{levers}")
    if len(values) != len(heel):
        problem = f"must be as long as heel_deg: {len(values)} values for {len(heel)} heels"
        yield Finding(split(f"ship.levers.{levers}"), problem, "each heel needs one lever", (path,))
    if heel and values and heel[0] == 0 and values[0] != 0:
        problem = f"must start with 0, got {values[0]:g}"
        hint = "upright the lever is 0; an off-centre G goes to ship.gravity.off_centre_m"
        yield Finding(split(f"ship.levers.{levers}.0"), problem, hint, (path,))


RELATIVE = (
    ("ship.beam_m", 1.0, "ship.length_m", "the length"),
    ("ship.draught_m", 1.0, "ship.depth_m", "the depth"),
    ("ship.gravity.kg_m", 2.0, "ship.beam_m", "twice the beam"),
    ("ship.gravity.off_centre_m", 0.5, "ship.beam_m", "half the beam"),
    ("ship.inertia.gyradius_m", 1.0, "ship.beam_m", "the beam"),
    ("run.settle_s", 1.0, "run.duration_s", "duration_s"),
)
"""Key, factor, other key: |value| must be below factor · other."""


def relative_bound(key: str, factor: float, other: str, words: str) -> Check:
    """The check that a size stays below `factor` times another of her sizes."""

    def check(parts: Parts) -> Findings:
        value, reference = parts(key), parts(other)
        if value is None or reference is None or abs(value) < factor * reference:
            return
        bound = with_unit(factor * reference, other)
        sign = "lie within ±" if value < 0 else "be below "
        problem = f"must {sign}{bound} ({words}), got {value:g}"
        yield Finding(split(key), problem, _size_hint(parts, key), (split(other),))

    return check


def _size_hint(parts: Parts, key: str) -> str:
    hints = {
        "ship.gravity.kg_m": "a height above the keel in metres",
        "ship.gravity.off_centre_m": "a distance from the centreline in metres",
        "ship.inertia.gyradius_m": "commonly 0.35 to 0.45 of the beam, in metres",
        "run.settle_s": "limits and margins count from settle_s to duration_s",
    }
    hint = hints.get(key, "in metres")
    if key == "ship.gravity.kg_m":
        try:
            return f"{hint}; the draught here is {with_unit(parts('ship.draught_m'), key)}"
        except UnparsedError:
            return hint
    return hint


def displacement(parts: Parts) -> Findings:
    """She displaces between a twentieth and the whole of the block round her."""
    sizes = [parts(f"ship.{key}") for key in ("length_m", "beam_m", "draught_m")]
    block = sizes[0] * sizes[1] * sizes[2] * SEA_WATER_DENSITY / 1000.0
    value = parts("ship.displacement_t")
    if not 0.05 * block <= value <= block:
        problem = f"must lie between {0.05 * block:.4g} and {block:.4g} t, got {value:g}"
        hint = "length times beam times draught of sea water is the most; in tonnes"
        causes = tuple(split(f"ship.{key}") for key in ("length_m", "beam_m", "draught_m"))
        yield Finding(split("ship.displacement_t"), problem, hint, causes)


INERTIA = ("gyradius_m", "beam_fraction", "period_s", "from_masses")


def inertia(parts: Parts) -> Findings:
    """Exactly one of gyradius_m, beam_fraction, period_s and from_masses."""
    table = parts("ship.inertia")
    given = [key for key in INERTIA if getattr(table, key) is not None]
    if len(given) != 1:
        got = f"{listed(given)} are given" if given else "none is given"
        problem = f"must hold exactly one of {listed(INERTIA)}; {got}"
        hint = "the gyradius, added inertia included, in metres or over the beam, or the period"
        yield Finding(split("ship.inertia"), problem, hint)
    if table.from_masses is not None and not parts.given("ship.loading"):
        path = split("ship.inertia.from_masses")
        hint = "give gyradius_m or beam_fraction, or the masses"
        yield Finding(path, "needs [ship.loading]", hint, (split("ship.loading"),))


def added_share(parts: Parts) -> Findings:
    """Water's share of the inertia follows the wave slope, which absolute excitation has not."""
    share = parts("ship.inertia.added_share")
    if share > 0.0 and parts("sea.excitation") == "absolute":
        problem = f'belongs to relative excitation alone, got {share:g} with "absolute"'
        hint = 'leave it out, or give sea.excitation = "relative"'
        causes = (split("sea.excitation"),)
        yield Finding(split("ship.inertia.added_share"), problem, hint, causes)


def damping(parts: Parts) -> Findings:
    """linear_per_s or critical_fraction, or extinction alone."""
    given = parts("ship.damping").model_fields_set
    path = split("ship.damping")
    if {"linear_per_s", "critical_fraction"} <= given:
        problem = "cannot stand beside linear_per_s"
        yield Finding((*path, "critical_fraction"), problem, "both set b1: keep one of the two")
    if "extinction" in given and len(given) > 1:
        others = listed(sorted(given - {"extinction"}))
        hint = "extinction sets b1 and b2: keep it alone, or leave it out"
        yield Finding((*path, "extinction"), f"must stand alone, not beside {others}", hint)


RADIANS = 3.2
"""Levers that end before this heel [degree] were likely written in radians."""

LIMITS = {
    "limits.roll_deg": "she would count as capsized before",
    "limits.flooding_deg": "she would count as capsized before",
    "limits.capsize_deg": "nothing is extrapolated; left out, it is the end of the levers",
}


def limits_within_levers(parts: Parts) -> Findings:
    """No limit lies past the heel up to which the levers are known."""
    known = sound_levers(parts).known_deg
    for key, hint in LIMITS.items():
        value = parts(key)
        if value is not None and value > known:
            problem = f"must not lie past the end of the levers at {known:g}°, got {value:g}"
            if known < RADIANS:
                hint = "are the heels of the levers in radians? they are degrees"
            yield Finding(split(key), problem, hint, (split("ship.levers"),))


def start_within_capsize(parts: Parts) -> Findings:
    """She does not start capsized."""
    roll = parts("start.roll_deg")
    capsize = parts("limits.capsize_deg")
    if capsize is None:
        capsize = sound_levers(parts).known_deg
    if not isinstance(roll, str) and abs(roll) >= capsize:
        problem = f"must lie within ±{capsize:g}°, got {roll:g}"
        hint = "from capsize_deg (without it the end of the levers) on she has capsized"
        causes = (split("limits.capsize_deg"), split("ship.levers"))
        yield Finding(split("start.roll_deg"), problem, hint, causes)


SHIP_CHECKS: tuple[Check, ...] = (
    table_of_levers,
    conversions,
    *(relative_bound(*row) for row in RELATIVE),
    displacement,
    inertia,
    added_share,
    damping,
    limits_within_levers,
    start_within_capsize,
)
