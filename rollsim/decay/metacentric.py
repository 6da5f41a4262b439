"""From the roll period to GM and back, by a known radius of gyration or by published factors."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rollsim.constants import GRAVITY

SOURCE_FACTORS = "rolling period test, text after IMO A.167, annex (Fiji law); ±0.05"
SOURCE_CLASS = "class rules, ship motions, design values; T = 2.3 π k/√(g GM)"

FACTORS: tuple[tuple[str, float], ...] = (
    ("empty or in ballast", 0.88),
    ("full load, liquids 20 % of the load", 0.78),
    ("full load, liquids 10 %", 0.75),
    ("full load, liquids 5 %", 0.73),
)
"""f in GM = (f B/T)² [m, s]."""
TOLERANCE = 0.05
"""Stated accuracy of f."""
CLASS_GYRADIUS: tuple[tuple[str, float], ...] = (("full load", 0.35), ("ballast", 0.45))
"""Radius of gyration over beam, the water's inertia not in it."""
CLASS_FACTOR = 2.3 / 2.0
"""What the class rule's period has more than 2π: added inertia."""


@dataclass(frozen=True)
class Row:
    """One way from period to GM [m] and, where GM is known, from that to the period [s]."""

    way: str
    source: str
    gm: float
    gm_lower: float | None = None
    gm_upper: float | None = None
    period: float | None = None


def gm_from_period(period: float, gyradius: float) -> float:
    """GM = (2π k/T)²/g [m] of the radius of gyration k [m], added inertia included."""
    return (2.0 * math.pi * gyradius / period) ** 2 / GRAVITY


def period_from_gm(gm: float, gyradius: float) -> float:
    """T = 2π k/√(g GM) [s]."""
    return 2.0 * math.pi * gyradius / math.sqrt(GRAVITY * gm)


def rows(period: float, beam: float | None, gm: float | None, gyradius: float | None) -> list[Row]:
    """Every way that what is known allows; `gm` above 0 or None."""
    ways = []
    if gyradius is not None:
        back = None if gm is None else period_from_gm(gm, gyradius)
        ways.append(
            Row("given radius of gyration", "T = 2π k/√(g GM)", gm_from_period(period, gyradius),
                period=back)
        )  # fmt: skip
    if beam is None:
        return ways
    for words, factor in FACTORS:
        low, middle, high = (
            ((factor + d) * beam / period) ** 2 for d in (-TOLERANCE, 0.0, TOLERANCE)
        )
        back = None if gm is None else factor * beam / math.sqrt(gm)
        ways.append(Row(f"f {factor:g}, {words}", SOURCE_FACTORS, middle, low, high, back))
    for words, share in CLASS_GYRADIUS:
        k = CLASS_FACTOR * share * beam
        back = None if gm is None else period_from_gm(gm, k)
        name = f"k {share:g} B, {words}"
        ways.append(Row(name, SOURCE_CLASS, gm_from_period(period, k), period=back))
    return ways
