"""Doubtful lever tables: other units, another lever, another KG, a bend that no row shows.

Doubts are looked for once no check has found a fault: the tables are sound.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import wraps
from math import hypot, radians, sin, tan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.hull import OTHER_DRAUGHT
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.checks.plausible.bends import (
    extra_bend,
    gm_uncertainty,
    slope_resolution,
    table_resolution,
)
from rollsim.scenario.checks.plausible.sheet import of_loading
from rollsim.scenario.checks.ship import RADIANS
from rollsim.scenario.schema.levers import (
    CrossCurveLevers,
    GzLevers,
    KnLevers,
    PolynomialLevers,
)
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath

LEVERS = ("ship", "levers")

SLOPE_SHARE = 0.02
"""Share of KM by which the first row of a table may differ from the slope at 0."""

OTHER_KG = 0.2
"""Share of KG by which a GZ table may serve another KG without a word."""


class Drawn(NamedTuple):
    """A curve that the file gives row by row; of cross-curves the one of a displacement."""

    levers: KnLevers | GzLevers
    number: int | None = None
    words: str = ""

    def place(self, key: str, *rest: int) -> KeyPath:
        """The path of one of its values."""
        own = () if self.number is None else (self.number,)
        return (*LEVERS, key, *own, *rest)


def drawn(parts: Parts) -> Iterator[Drawn]:
    """The curves that the file gives row by row."""
    levers = parts("ship.levers")
    if isinstance(levers, KnLevers | GzLevers):
        yield Drawn(levers)
    elif isinstance(levers, CrossCurveLevers):
        for index, displacement in enumerate(levers.displacement_t):
            yield Drawn(levers.row(index), index, f" (row {index + 1}, {displacement:g} t)")


def told_once(judge: Callable[[Parts, Drawn], Finding | None]) -> Check:
    """The check that tells the first curve of the file that `judge` doubts."""

    @wraps(judge)
    def check(parts: Parts) -> Findings:
        findings = [finding for each in drawn(parts) if (finding := judge(parts, each))]
        if findings:
            more = len(findings) - 1
            others = f"; likewise in {more} more of the curves" if more else ""
            yield replace(findings[0], problem=findings[0].problem + others)

    return check


def heel_in_radians(parts: Parts) -> Findings:
    """Heels are degrees."""
    levers = parts("ship.levers")
    key, last = "heel_max_deg", getattr(levers, "heel_max_deg", None)
    if isinstance(levers, KnLevers | GzLevers | CrossCurveLevers):
        key, last = "heel_deg", levers.heel_deg[-1]
    if last is not None and last < RADIANS:
        problem = f"ends at a heel that looks like radians, got {last:g}"
        hint = "in degrees; tables usually go to 60 or 90 (common practice)"
        yield Finding((*LEVERS, key), problem, hint)


@told_once
def kn_beyond_the_hull(parts: Parts, curve: Drawn) -> Finding | None:
    """B lies within the hull, so KN is never longer than from the keel to the deck's edge."""
    levers = curve.levers
    beam, depth = parts("ship.beam_m"), parts("ship.depth_m")
    reach = hypot(0.5 * beam, depth or max(beam, 2.0 * parts("ship.draught_m")))
    if isinstance(levers, KnLevers):
        key, given, kn, words = "kn_m", levers.kn_m, levers.kn_m, ""
    else:
        key, given, words = "gz_m", levers.gz_m, "with KG sin φ "
        kn = tuple(
            gz + levers.kg_m * sin(radians(heel))
            for gz, heel in zip(given, levers.heel_deg, strict=True)
        )
    row = max(range(len(kn)), key=lambda index: abs(kn[index]))
    if abs(kn[row]) <= reach:
        return None
    problem = f"is {words}longer than from the keel to the deck's edge ({reach:.3g} m), got "
    problem += f"{given[row]:g}{curve.words}"
    hint = "B lies within the hull, so KN is usually far less (geometry); a lever in centimetres "
    hint += "is 100 times that in metres"
    causes = (split("ship.beam_m"), split("ship.depth_m"))
    return Finding(curve.place(key, row), problem, hint, causes)


@told_once
def kn_that_is_gz(parts: Parts, curve: Drawn) -> Finding | None:
    """The first row of a KN table gives about KM, which is of the size of KG."""
    levers = curve.levers
    if not isinstance(levers, KnLevers):
        return None
    row, heel = _first_row(levers.heel_deg)
    height = levers.kn_m[row] / sin(heel)
    kg = parts("ship.gravity.kg_m")
    depth = parts("ship.depth_m") or 2.0 * parts("ship.draught_m")
    if height >= 0.5 * min(kg, depth):  # a G above the deck is doubted for itself
        return None
    problem = f"puts the metacentre below half of KG ({kg:.4g} m), got KM {height:.3g} m"
    hint = "KN over the sine of heel is about KM (geometry), usually near KG or above it; "
    hint += 'a table of GZ is of kind "gz", with its kg_m'
    if curve.number is not None:
        hint = "KN over the sine of heel is about KM (geometry), usually near KG or above it; "
        hint += "GZ is no KN: add KG sin φ, with its own KG"
    causes = (split("ship.gravity.kg_m"),)
    return Finding(curve.place("kn_m", row), problem + curve.words, hint, causes)


@told_once
def slope_against_table(_: Parts, curve: Drawn) -> Finding | None:
    """The slope at 0 that is given is that of the first row, within rounding and form."""
    levers = curve.levers
    if isinstance(levers, KnLevers):
        key, values, given, kg = "km_m", levers.kn_m, levers.km_m, 0.0
        other = "KM"
    else:
        key, values, given, kg = "gm_m", levers.gz_m, levers.gm_m, levers.kg_m
        other = "GM"
    if given is None:
        return None
    row, heel = _first_row(levers.heel_deg)
    by_table = values[row] / sin(heel)
    rounding = 0.5 * (table_resolution(values) / sin(heel) + slope_resolution(given))
    usual = rounding + abs(given + kg) * (SLOPE_SHARE + 0.5 * tan(heel) ** 2)
    if abs(by_table - given) <= usual:
        return None
    own = f"{by_table:.4g} m by its row at {levers.heel_deg[row]:g}°"
    problem = f"differs from the table's own {other}, {own}, got {given:g}{curve.words}"
    hint = f"lever over the sine of heel tends to {other} (geometry); here within {usual:.2g} m "
    hint += "usually"
    hint += "; is the table drawn for another KG?" if other == "GM" else ""
    return Finding(curve.place(key), problem, hint, (LEVERS,))


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
        yield of_loading(parts, "ship.gravity.kg_m", problem, hint, ((*LEVERS, "kg_m"),))


@told_once
def bend_without_a_row(parts: Parts, curve: Drawn) -> Finding | None:
    """The curve bends where its table does not: a typing error, or rows too far apart."""
    levers = curve.levers
    bend = None if swapped_columns(parts) else extra_bend(levers)
    if bend is None:
        return None
    key, slope = ("kn_m", "km_m") if isinstance(levers, KnLevers) else ("gz_m", "gm_m")
    heel = f"heel {levers.heel_deg[bend.row]:g}°"
    where = f"row {bend.row + 1}, {heel}"
    if curve.number is not None:
        where = f"{curve.words[2:-1]}, column {bend.row + 1}, {heel}"
    problem = f"the curve bends at {bend.heel_deg:.3g}° where the table does not ({where})"
    hint = f"look for a typing error in that row or in {slope}, or give rows nearer together"
    return Finding(curve.place(key, bend.row), problem, hint, (LEVERS,))


SMOOTHER = 10.0
"""How many times smoother the curves must become for two columns to be called swapped."""


def swapped_columns(parts: Parts) -> int | None:
    """The first of two neighbouring columns that look swapped in all rows of cross-curves.

    By the squares of the third divided differences along heel, in every row.
    """
    levers = parts("ship.levers")
    if not isinstance(levers, CrossCurveLevers) or len(levers.heel_deg) < 5:
        return None
    kn = np.array(levers.kn_m)
    rough = _roughness(levers.heel_deg, kn)
    for column in range(1, kn.shape[1] - 1):
        order = np.arange(kn.shape[1])
        order[[column, column + 1]] = column + 1, column
        if np.all(SMOOTHER * _roughness(levers.heel_deg, kn[:, order]) < rough):
            return column
    return None


def _roughness(heel_deg: tuple[float, ...], kn: NDArray[np.float64]) -> NDArray[np.float64]:
    heel, differences = np.radians(heel_deg), kn
    for order in (1, 2, 3):
        differences = np.diff(differences, axis=1) / (heel[order:] - heel[:-order])
    return np.asarray(np.sum(differences**2, axis=1))


def columns_swapped(parts: Parts) -> Findings:
    """Two columns of cross-curves that have changed places make every curve jump."""
    column = swapped_columns(parts)
    if column is not None:
        heel = parts("ship.levers.heel_deg")
        first, second = heel[column], heel[column + 1]
        problem = f"the columns of {first:g}° and {second:g}° look swapped: every curve jumps there"
        hint = f"the curves are smooth with columns {column + 1} and {column + 2} exchanged"
        yield Finding((*LEVERS, "kn_m"), problem, hint, (LEVERS,))


@told_once
def gm_by_rounded_rows(_: Parts, curve: Drawn) -> Finding | None:
    """Without a slope at 0 the rounding of the table moves GM."""
    levers = curve.levers
    if isinstance(levers, KnLevers):
        key, slope, fixed = "kn_m", "km_m", levers.km_m
    else:
        key, slope, fixed = "gz_m", "gm_m", levers.gm_m
    if fixed is not None:
        return None
    resolution, moved = gm_uncertainty(levers)
    problem = f"is rounded to {resolution:g} m, which can move GM by {moved:.3f} m{curve.words}"
    return Finding(curve.place(key), problem, f"give {slope} to fix it", (LEVERS,))


def draught_of_the_curves(parts: Parts) -> Findings:
    """A draught that is given is that of the cross-curves at her displacement."""
    levers, displacement = parts("ship.levers"), parts("ship.displacement_t")
    if not isinstance(levers, CrossCurveLevers) or not levers.covers(displacement):
        return
    draught, own = parts("ship.draught_m"), levers.height("draught_m", displacement)
    if own is not None and abs(draught - own) > OTHER_DRAUGHT * own:
        problem = f"is not the curves' at {displacement:g} t, {own:.3g} m, got {draught:g}"
        causes = (split("ship.displacement_t"), LEVERS)
        yield Finding(split("ship.draught_m"), problem, "left out, the draught follows", causes)


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
    columns_swapped,
    bend_without_a_row,
    gm_by_rounded_rows,
    draught_of_the_curves,
)
