"""Cross-checks: what two or more values of a scenario make wrong together.

They run over whatever did parse (a check that needs a faulty part is left out), for the base file
and for every case. Each yields findings; `causes` are the other keys that it looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from rollsim.constants import SEA_WATER_DENSITY
from rollsim.scenario.checks_time import TIME_CHECKS, TIME_WARNINGS
from rollsim.scenario.faults import Finding, listed
from rollsim.scenario.levers_of import gm_of, known_heel_deg
from rollsim.scenario.parts import Parts, UnparsedError, split
from rollsim.scenario.schema_weather import IrregularSea
from rollsim.scenario.units import with_unit

Found = Iterator[Finding]
Check = Callable[[Parts], Found]

CONVERTED = ("ship.inertia.period_s", "ship.damping.critical_fraction", "ship.damping.extinction")
"""Keys that are converted once, at the base file's gravity."""


def faults(parts: Parts) -> list[Finding]:
    """All faults that concern more than one value."""
    return _run(CHECKS, parts)


def warnings(parts: Parts) -> list[Finding]:
    """What is allowed and yet likely not meant."""
    return _run(TIME_WARNINGS, parts)


def gm_known(parts: Parts) -> float | None:
    """GM [m], None where levers or gravity have faults."""
    try:
        return _gm(parts)
    except UnparsedError:
        return None


def conversion_faults(parts: Parts, gm: float | None) -> list[Finding]:
    """Keys that are converted at the base file's GM, where that is not above 0."""
    found = []
    for key in CONVERTED if gm is not None and gm <= 0.0 else ():
        try:
            given = parts(key) is not None
        except UnparsedError:
            continue
        if given:
            problem = f"needs a GM above 0 in the base file, got {gm:.4g} m"
            hint = "give gyradius_m, linear_per_s and quadratic instead: they need no GM"
            causes = (split("ship.levers"), split("ship.gravity"))
            found.append(Finding(split(key), problem, hint, causes))
    return found


def _run(checks: tuple[Check, ...], parts: Parts) -> list[Finding]:
    found: list[Finding] = []
    for check in checks:
        try:
            found.extend(check(parts))
        except UnparsedError:
            continue
    return found


def _gm(parts: Parts) -> float:
    """GM [m]; UnparsedError where the levers have faults."""
    levers, gravity = parts("ship.levers"), parts("ship.gravity")
    if next(table_of_levers(parts), None):
        raise UnparsedError
    return gm_of(levers, gravity)


def _known_heel(parts: Parts) -> float:
    levers = parts("ship.levers")
    if next(table_of_levers(parts), None):
        raise UnparsedError
    return known_heel_deg(levers)


def table_of_levers(parts: Parts) -> Found:
    """A table increases from 0 with lever 0, or lies over both sides with heel 0 in it."""
    levers = {"kn": "kn_m", "gz": "gz_m"}.get(parts("ship.levers.kind"))
    if levers is None:
        return
    path = split("ship.levers.heel_deg")
    heel = parts("ship.levers.heel_deg")
    if len(heel) < 3:
        yield Finding(path, f"must hold at least 3 angles, got {len(heel)}")
    for index, (before, after) in enumerate(pairwise(heel)):
        if after <= before:
            problem = f"must increase, got {after:g} after {before:g}"
            yield Finding((*path, index + 1), problem, "each heel must be larger than the last")
    if heel and heel[0] > 0:
        hint = "a table starts at heel 0 with lever 0, or lists both sides with heel 0 among them"
        yield Finding((*path, 0), f"must start at 0, got {heel[0]:g}", hint)
    elif heel and heel[0] < 0 and (0 not in heel or heel[-1] <= 0):
        hint = "a table over both sides lists heel 0 and goes on to starboard"
        yield Finding(path, "must list heel 0 and heels beyond it", hint)
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


def relative_bounds(parts: Parts) -> Found:
    """Sizes that no ship has, seen against another of her sizes."""
    for key, factor, other, words in RELATIVE:
        try:
            value, reference = parts(key), parts(other)
        except UnparsedError:
            continue
        if value is None or reference is None or abs(value) < factor * reference:
            continue
        bound = with_unit(factor * reference, other)
        sign = "lie within ±" if value < 0 else "be below "
        problem = f"must {sign}{bound} ({words}), got {value:g}"
        yield Finding(split(key), problem, _size_hint(parts, key), (split(other),))


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


def displacement(parts: Parts) -> Found:
    """She displaces between a twentieth and the whole of the block round her."""
    sizes = [parts(f"ship.{key}") for key in ("length_m", "beam_m", "draught_m")]
    block = sizes[0] * sizes[1] * sizes[2] * SEA_WATER_DENSITY / 1000.0
    value = parts("ship.displacement_t")
    if not 0.05 * block <= value <= block:
        problem = f"must lie between {0.05 * block:.4g} and {block:.4g} t, got {value:g}"
        hint = "length times beam times draught of sea water is the most; in tonnes"
        causes = tuple(split(f"ship.{key}") for key in ("length_m", "beam_m", "draught_m"))
        yield Finding(split("ship.displacement_t"), problem, hint, causes)


def inertia(parts: Parts) -> Found:
    """Exactly one of gyradius_m and period_s."""
    table = parts("ship.inertia")
    given = [key for key in ("gyradius_m", "period_s") if getattr(table, key) is not None]
    if len(given) != 1:
        got = "both are given" if given else "neither is given"
        problem = f"must hold exactly one of gyradius_m and period_s; {got}"
        hint = "gyradius_m, added inertia included, or the natural roll period"
        yield Finding(split("ship.inertia"), problem, hint)


def damping(parts: Parts) -> Found:
    """linear_per_s or critical_fraction, or extinction alone."""
    given = parts("ship.damping").model_fields_set
    path = split("ship.damping")
    if {"linear_per_s", "critical_fraction"} <= given:
        problem = "cannot stand beside linear_per_s"
        yield Finding((*path, "critical_fraction"), problem, "both set b1: keep one of the two")
    if "extinction" in given and len(given) > 1:
        others = listed(sorted(given - {"extinction"}))
        hint = "extinction sets b1 and b2: keep it alone, or leave it out"
        yield Finding((*path, "extinction"), f"must stand alone, found beside {others}", hint)


LIMITS = {
    "limits.roll_deg": "she would count as capsized before",
    "limits.flooding_deg": "she would count as capsized before",
    "limits.capsize_deg": "nothing is extrapolated; left out, it is the end of the levers",
}


def limits_within_levers(parts: Parts) -> Found:
    """No limit lies past the heel up to which the levers are known."""
    known = _known_heel(parts)
    for key, hint in LIMITS.items():
        value = parts(key)
        if value is not None and value > known:
            problem = f"must not lie past the end of the levers at {known:g}°, got {value:g}"
            yield Finding(split(key), problem, hint, (split("ship.levers"),))


def start_within_capsize(parts: Parts) -> Found:
    """She does not start capsized."""
    roll = parts("start.roll_deg")
    capsize = parts("limits.capsize_deg")
    if capsize is None:
        capsize = _known_heel(parts)
    if not isinstance(roll, str) and abs(roll) >= capsize:
        problem = f"must lie within ±{capsize:g}°, got {roll:g}"
        hint = "from capsize_deg (without it the end of the levers) on she has capsized"
        causes = (split("limits.capsize_deg"), split("ship.levers"))
        yield Finding(split("start.roll_deg"), problem, hint, causes)


def absolute_excitation(parts: Parts) -> Found:
    """The absolute wave moment W·GM·α has no meaning without GM > 0."""
    if parts("sea.excitation") != "absolute":
        return
    gm = _gm(parts)
    if gm <= 0.0:
        problem = f'"absolute" needs a GM above 0, got {gm:.4g} m'
        hint = '"relative" holds for any GM'
        causes = (split("ship.gravity"), split("ship.levers"))
        yield Finding(split("sea.excitation"), problem, hint, causes)


def spectrum(parts: Parts) -> Found:
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


def windage(parts: Parts) -> Found:
    """A wind needs something to press on."""
    ship = parts.raw.get("ship")
    if "wind" in parts.raw and isinstance(ship, dict) and "windage" not in ship:
        hint = "add the table [ship.windage] with area_m2 and lever_m"
        yield Finding(split("wind"), "needs [ship.windage]", hint, (split("ship.windage"),))


CHECKS: tuple[Check, ...] = (
    table_of_levers,
    relative_bounds,
    displacement,
    inertia,
    damping,
    limits_within_levers,
    start_within_capsize,
    absolute_excitation,
    spectrum,
    windage,
    *TIME_CHECKS,
)
