"""How each case is loaded and what the criteria say of her: displacement, KG, GM, verdicts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rollsim.errors import printable
from rollsim.show.query import cases
from rollsim.show.query.criteria import QUANTITIES, overall, rows_of
from rollsim.show.query.curves import free_surface
from rollsim.show.query.loading import stored
from rollsim.show.tables.cells import MISSING, key, numbers
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.criteria import OF_RULES

if TYPE_CHECKING:
    import xarray as xr

Row = dict[str, Any]
Verdicts = dict[str, str]

PREFIX = "criteria_"
WEIGHT = ("displacement", "centre_of_gravity_z", "metacentre_z")
"""What a result must hold for the numbers of a loading."""


def loaded_row(ds: xr.Dataset, case: int) -> Row:
    """Displacement [t], KG, free surfaces [m] at the start, and the verdict of each rule."""
    row: Row = {}
    if all(name in ds.variables for name in WEIGHT):
        row["displacement_t"] = cases.number(ds, "displacement", case=case)
        row["kg_m"] = cases.number(ds, "centre_of_gravity_z", case=case, t=0)
        row["free_surface_m"] = free_surface(ds, case)
        row = {name: value if math.isfinite(value) else None for name, value in row.items()}
    return row | {f"{PREFIX}{rule}".replace("-", "_"): verdict
                  for rule, verdict in _verdicts(ds, case).items()}  # fmt: skip


def _verdicts(ds: xr.Dataset, case: int) -> Verdicts:
    """The verdict of each rule on a case; of cases alike at rest the result holds one."""
    by_case = {number: list(lines) for number, lines in
               groupby(rows_of(ds), key=lambda row: int(row["case"]))}  # fmt: skip
    alike = [lines for number, lines in by_case.items() if _alike(ds, number, case)]
    own = by_case.get(case) if case in by_case and _alike(ds, case, case) else None
    told = [_of_rules(lines) for lines in ([own] if own else alike)]
    return told[0] if told and all(each == told[0] for each in told) else {}


def _alike(ds: xr.Dataset, judged: int, case: int) -> bool:
    """Whether a case that was judged has the condition, displacement and GM of another."""
    if not 0 <= judged < ds.sizes["case"]:
        return False
    if cases.conditions(ds)[judged] != cases.conditions(ds)[case]:
        return False
    pairs = ((cases.number(ds, name, case=i) for i in (judged, case))
             for name in ("displacement", "gm"))  # fmt: skip
    return all(math.isclose(*pair, rel_tol=1e-9) for pair in pairs)


def _of_rules(lines: Sequence[Row]) -> Verdicts:
    rules = dict.fromkeys(str(row["rule"]) for row in lines)
    return {rule: overall([row for row in lines if row["rule"] == rule]) for rule in rules}


def _lacking(ds: xr.Dataset, shown: Sequence[Row]) -> list[str]:
    """The lines that a case does not fulfil, in words, one text a case."""
    words = []
    for row in shown:
        failing: dict[str, list[str]] = {}
        for line in rows_of(ds):
            if line["case"] == row["case"] and line["fulfilled"] is False:
                name = QUANTITIES[str(line["quantity"])].words
                failing.setdefault(str(line["rule"]), []).append(name)
        lines = "; ".join(f"{rule}: {', '.join(each)}" for rule, each in failing.items())
        if lines:
            words.append(printable(f"{row['case']} {row['condition']}, not fulfilled: {lines}"))
    return words


def loaded_parts(ds: xr.Dataset, rows: Sequence[Row]) -> list[Any]:
    """The loading and the verdicts of each case, cases alike once; none where neither is told."""
    from rich.text import Text

    rules = list(dict.fromkeys(name for row in rows for name in row if name.startswith(PREFIX)))
    if not (rules or stored(ds)):
        return []
    names = ("condition", "displacement_t", "kg_m", "free_surface_m", "gm_m", *rules)
    first: dict[tuple[Any, ...], Row] = {}
    for row in rows:
        first.setdefault(tuple(row.get(name) for name in names), row)
    shown = list(first.values())
    weights = [
        numbers(shown, "displacement [t]", "displacement_t", 1),
        numbers(shown, "KG [m]", "kg_m", 3),
        numbers(shown, "free surfaces [m]", "free_surface_m", 3),
        numbers(shown, "GM fluid [m]", "gm_m", 3),
    ]
    verdicts = [
        Column(
            name.removeprefix(PREFIX).replace("_", "-"),
            [str(row.get(name) or MISSING) for row in shown],
            words=True,
        )
        for name in rules
    ]
    what = " and published criteria" if rules else ""
    head = f"Loading{what}, at rest at the start; cases alike at rest once"
    table = Split(key(ds, shown)[:2], [group for group in (weights, verdicts) if group])
    parts: list[Any] = [Text(), Text(head, style="bold"), Text(), table]
    if lacking := [Text(line) for line in _lacking(ds, shown)]:
        parts += [Text(), *lacking]
    return [*parts, *([Text(), Text(OF_RULES)] if rules else [])]
