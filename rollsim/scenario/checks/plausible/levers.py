"""Doubtful lever tables: other units, another lever, another KG, a bend that no row shows.

Doubts are looked for once no check has found a fault: the tables are sound.
"""

from __future__ import annotations

from math import hypot, radians, sin, tan

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.checks.plausible.bends import (
    extra_bend,
    gm_uncertainty,
    slope_resolution,
    table_resolution,
)
from rollsim.scenario.checks.ship import RADIANS
from rollsim.scenario.schema.levers import (
    GzLevers,
    KnLevers,
    PolynomialLevers,
)
from rollsim.scenario.text.faults import Finding

LEVERS = ("ship", "levers")

SLOPE_SHARE = 0.02
"""Share of KM by which the first row of a table may differ from the slope at 0."""

OTHER_KG = 0.2
"""Share of KG by which a GZ table may serve another KG without a word."""


def heel_in_radians(parts: Parts) -> Findings:
    """Heels are degrees."""
    levers = parts("ship.levers")
    key, last = "heel_max_deg", getattr(levers, "heel_max_deg", None)
    if isinstance(levers, KnLevers | GzLevers):
        key, last = "heel_deg", levers.heel_deg[-1]
    if last is not None and last < RADIANS:
        problem = f"ends at a heel that looks like radians, got {last:g}"
        hint = "in degrees; tables usually go to 60 or 90 (common practice)"
        yield Finding((*LEVERS, key), problem, hint)


def kn_beyond_the_hull(parts: Parts) -> Findings:
    """B lies within the hull, so KN is never longer than from the keel to the deck's edge."""
    levers = parts("ship.levers")
    if not isinstance(levers, KnLevers):
        return
    beam, depth = parts("ship.beam_m"), parts("ship.depth_m")
    reach = hypot(0.5 * beam, depth or max(beam, 2.0 * parts("ship.draught_m")))
    longest = max(levers.kn_m, key=abs)
    if abs(longest) > reach:
        row = levers.kn_m.index(longest)
        problem = (
            f"is longer than from the keel to the deck's edge ({reach:.3g} m), got {longest:g}"
        )
        hint = (
            "B lies within the hull, so KN is less (geometry); KN in centimetres is 100 times that"
        )
        causes = (split("ship.beam_m"), split("ship.depth_m"))
        yield Finding((*LEVERS, "kn_m", row), problem, hint, causes)


def kn_that_is_gz(parts: Parts) -> Findings:
    """The first row of a KN table gives about KM, which is of the size of KG."""
    levers = parts("ship.levers")
    if not isinstance(levers, KnLevers):
        return
    row, heel = _first_row(levers.heel_deg)
    height = levers.kn_m[row] / sin(heel)
    kg = parts("ship.gravity.kg_m")
    if height < 0.5 * kg:
        problem = f"puts the metacentre below half of KG ({kg:g} m), got KM {height:.3g} m"
        hint = 'KN over the sine of heel is about KM; a table of GZ is of kind "gz", with its kg_m'
        causes = (split("ship.gravity.kg_m"),)
        yield Finding((*LEVERS, "kn_m", row), problem, hint, causes)


def slope_against_table(parts: Parts) -> Findings:
    """The slope at 0 that is given is that of the first row, within rounding and form."""
    levers = parts("ship.levers")
    if isinstance(levers, KnLevers):
        key, values, given, kg = "km_m", levers.kn_m, levers.km_m, 0.0
        other = "KM"
    elif isinstance(levers, GzLevers):
        key, values, given, kg = "gm_m", levers.gz_m, levers.gm_m, levers.kg_m
        other = "GM"
    else:
        return
    if given is None:
        return
    row, heel = _first_row(levers.heel_deg)
    by_table = values[row] / sin(heel)
    rounding = 0.5 * (table_resolution(values) / sin(heel) + slope_resolution(given))
    usual = rounding + abs(given + kg) * (SLOPE_SHARE + 0.5 * tan(heel) ** 2)
    if abs(by_table - given) > usual:
        own = f"{by_table:.4g} m by its row at {levers.heel_deg[row]:g}°"
        problem = f"differs from the table's own {other}, {own}, got {given:g}"
        hint = f"lever over the sine of heel tends to {other}; here within {usual:.2g} m usually"
        hint += "; is the table drawn for another KG?" if other == "GM" else ""
        yield Finding((*LEVERS, key), problem, hint, (LEVERS,))


def drawn_for_another_kg(parts: Parts) -> Findings:
    """A GZ curve of one displacement serves KGs near the one that it was drawn for."""
    levers = parts("ship.levers")
    if not isinstance(levers, GzLevers | PolynomialLevers):
        return
    kg = parts("ship.gravity.kg_m")
    usual = OTHER_KG * max(abs(levers.kg_m), parts("ship.draught_m"))
    if abs(kg - levers.kg_m) > usual:
        problem = f"is far from the KG that GZ was drawn for ({levers.kg_m:g} m), got {kg:g}"
        hint = f"usually within {usual:.2g} m (common practice); KN is GZ + kg_m · sin φ"
        yield Finding(split("ship.gravity.kg_m"), problem, hint, ((*LEVERS, "kg_m"),))


def bend_without_a_row(parts: Parts) -> Findings:
    """The curve bends where its table does not: a typing error, or rows too far apart."""
    levers = parts("ship.levers")
    if not isinstance(levers, KnLevers | GzLevers):
        return
    bend = extra_bend(levers)
    if bend is not None:
        key, slope = ("kn_m", "km_m") if isinstance(levers, KnLevers) else ("gz_m", "gm_m")
        row = f"row {bend.row + 1}, heel {levers.heel_deg[bend.row]:g}°"
        problem = f"the curve bends at {bend.heel_deg:.3g}° where the table does not ({row})"
        hint = f"look for a typing error in that row or in {slope}, or give rows nearer together"
        yield Finding((*LEVERS, key, bend.row), problem, hint, (LEVERS,))


def gm_by_rounded_rows(parts: Parts) -> Findings:
    """Without a slope at 0 the rounding of the table moves GM."""
    levers = parts("ship.levers")
    if isinstance(levers, KnLevers):
        key, slope, fixed = "kn_m", "km_m", levers.km_m
    elif isinstance(levers, GzLevers):
        key, slope, fixed = "gz_m", "gm_m", levers.gm_m
    else:
        return
    if fixed is None:
        resolution, moved = gm_uncertainty(levers)
        problem = f"is rounded to {resolution:g} m, which can move GM by {moved:.3f} m"
        yield Finding((*LEVERS, key), problem, f"give {slope} to fix it", (LEVERS,))


def _first_row(heel_deg: tuple[float, ...]) -> tuple[int, float]:
    """The first row to starboard: its position, and its heel [rad]."""
    row = next(index for index, heel in enumerate(heel_deg) if heel > 0.0)
    return row, radians(heel_deg[row])


LEVER_DOUBTS: tuple[Check, ...] = (
    heel_in_radians,
    kn_beyond_the_hull,
    kn_that_is_gz,
    slope_against_table,
    drawn_for_another_kg,
    bend_without_a_row,
    gm_by_rounded_rows,
)
