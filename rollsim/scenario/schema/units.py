"""The unit that a key's suffix stands for."""

from __future__ import annotations

from rollsim.names import unit_text

SUFFIXES = {
    "_m_per_rad": "m rad-1",
    "_rad_per_s": "rad s-1",
    "_rad2_s": "rad2 s",
    "_deg_per_s": "degree s-1",
    "_t_per_m3": "t m-3",
    "_per_deg": "degree-1",
    "_per_m": "1",
    "_per_s": "s-1",
    "_mps": "m s-1",
    "_percent": "percent",
    "_deg": "degree",
    "_m2": "m2",
    "_m": "m",
    "_s": "s",
    "_t": "t",
}
"""Suffix to CF unit, the longer before the shorter that it ends with."""


def split_unit(key: str) -> tuple[str, str]:
    """A key without its unit suffix, and its CF unit ("1" without a suffix)."""
    for suffix, units in SUFFIXES.items():
        if key.endswith(suffix):
            return key.removesuffix(suffix), units
    return key, "1"


WRITTEN = {"m rad-1": "m/rad", "degree-1": "per degree", "s-1": "per s"}


def with_unit(value: float, key: str) -> str:
    """A value in the unit of `key` as a person writes it: 20 m, 180°."""
    units = split_unit(key)[1]
    unit = WRITTEN.get(units) or unit_text(units)
    number = str(value) if isinstance(value, int) else f"{value:.12g}"
    return f"{number}°" if unit == "°" else f"{number} {unit}".rstrip()
