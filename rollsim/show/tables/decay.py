"""What a decay record tells, as tables for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION
from rollsim.errors import printable
from rollsim.show.tables.cells import number
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    from rich.console import RenderableType

UNITS = {"linear_per_s": "b1 [1/s]", "quadratic": "b2 [1/rad]", "cubic_s": "b3 [s/rad²]"}
MEANING = (
    "Per unit inertia, b1 p + b2 |p| p + b3 p³. By the record: the program's own equation fitted "
    "to every point. By energy: what each swing loses from peak to peak. Intervals are 95 %."
)


def decay_table(title: str, values: dict[str, Any]) -> RenderableType:
    """Period, mean line, damping by both ways, the choice of terms, GM, the lines to paste."""
    from rich.console import Group
    from rich.text import Text

    parts: list[Any] = [Text(printable(title), style="bold"), Text("\n".join(_head(values)))]
    parts += [Text(), Split(*_damping(values)), Text(), Text(MEANING)]
    parts += [Text(), Text(str(values["rule"])), Text(), Split(*_sets(values))]
    parts += [Text(), *(Text(line) for line in _further(values))]
    if values["metacentric"]:
        parts += [Text(), Text("From the period to GM, and back", style="bold")]
        parts.append(Split(*_metacentric(values)))
    parts += [Text(), Text("To paste into a scenario:"), Text(), Text(str(values["toml"]))]
    return Group(*parts, Text(CAUTION))


def _interval(estimate: dict[str, float], digits: int = 4) -> str:
    value, lower, upper = (f"{estimate[key]:.{digits}g}" for key in ("value", "lower", "upper"))
    return f"{value} [{lower}, {upper}]"


def _head(values: dict[str, Any]) -> Iterator[str]:
    swings, mean = values["swings"], values["mean"]
    first, last = (swings[i]["amplitude_deg"] for i in (0, -1))
    yield (
        f"{len(swings)} peaks from {values['from_s']:.4g} s to {values['to_s']:.4g} s, "
        f"{first:.3g}° to {last:.3g}°"
    )
    for note in values["notes"]:
        yield f"  {note}"
    yield f"period of small rolls {_interval(values['period_s'], 5)} s"
    yield (
        f"mean line {mean['offset_deg']:+.3g}°, drift {60.0 * mean['drift_deg_per_s']:+.3g}° a "
        f"minute; residual {values['residual_deg']:.3g}°"
    )
    if values["gyradius_m"]:
        yield f"radius of gyration by the scenario's lever {_interval(values['gyradius_m'])} m"


def _damping(values: dict[str, Any]) -> tuple[list[Column], list[list[Column]]]:
    keys = list(values["damping"])
    key = [Column("coefficient", [UNITS[each] for each in keys], words=True)]
    ways = (("by the record", "damping"), ("by energy", "damping_by_energy"))
    columns = [
        [Column(name, [_interval(values[where][each]) for each in keys])] for name, where in ways
    ]
    return key, columns


def _sets(values: dict[str, Any]) -> tuple[list[Column], list[list[Column]]]:
    sets = values["sets"]
    marks = ["*" if each["terms"] == values["terms"] else "" for each in sets]
    key = [
        Column("", marks, words=True),
        Column("terms", [each["terms"] for each in sets], words=True),
    ]
    return key, [
        [Column("AICc", [number(each["aicc"], 1) for each in sets])],
        [Column("all above 0", ["yes" if each["all_above_0"] else "no" for each in sets])],
        [Column("residual [°]", [number(each["residual_deg"], 3) for each in sets])],
    ]


def _further(values: dict[str, Any]) -> Iterator[str]:
    each = values["extinction"]
    yield (
        f"extinction, to first order: δφ = {each['a']:.4g} φm + {each['b_per_deg']:.4g} φm² + "
        f"{each['c_per_deg2']:.4g} φm³ (degrees)"
    )
    shares = ", ".join(
        f"{100.0 * share:.2g} % at {angle.removesuffix('_deg')}°"
        for angle, share in values["critical_fraction"].items()
    )
    yield f"equivalent share of critical damping: {shares}"


def _metacentric(values: dict[str, Any]) -> tuple[list[Column], list[list[Column]]]:
    rows = values["metacentric"]
    key = [Column("way", [row["way"] for row in rows], words=True)]
    spans = [
        number(row["gm_m"], 3)
        if row["gm_lower_m"] is None
        else f"{row['gm_m']:.3f} [{row['gm_lower_m']:.3f}, {row['gm_upper_m']:.3f}]"
        for row in rows
    ]
    columns = [[Column("GM [m]", spans)]]
    if any(row["period_s"] is not None for row in rows):
        columns.append([Column("period at her GM [s]", [number(r["period_s"], 2) for r in rows])])
    columns.append([Column("source", [row["source"] for row in rows], words=True)])
    return key, columns
