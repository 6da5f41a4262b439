"""Cross-checks of tables of levers: their heels, and the rows of cross-curves."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.curve_file import curves_in
from rollsim.scenario.schema.levers import CrossCurveLevers
from rollsim.scenario.text.faults import Finding

LEVERS = ("ship", "levers")


def of_levers(parts: Parts, key: str) -> Any:
    """A list of the levers' table, in the scenario or in the file that the table names."""
    if parts("ship.levers.kind") == "cross-curves" and parts("ship.levers.file") is not None:
        return getattr(parts("ship.levers"), key)
    return parts(f"ship.levers.{key}")


def heels_of_table(parts: Parts) -> Findings:
    """The heels of a table increase from 0, or lie over both sides with 0 among them."""
    path = split("ship.levers.heel_deg")
    heel = of_levers(parts, "heel_deg")
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


BY_DISPLACEMENT = ("kn_m", "km_m", "kb_m", "draught_m")
"""Lists of cross-curves that go with their displacements."""


def file_of_curves(parts: Parts) -> Findings:
    """The file of cross-curves is sound, and no list stands beside it."""
    levers = parts("ship.levers")
    if not isinstance(levers, CrossCurveLevers) or levers.file is None:
        return
    for problem, hint in curves_in(levers.file.text).faults:
        yield Finding((*LEVERS, "file"), f'"{levers.file.name}" {problem}', hint)
    for key in levers.model_fields_set & {"heel_deg", "displacement_t", *BY_DISPLACEMENT}:
        yield Finding((*LEVERS, key), "cannot stand beside file", "the file holds all curves")


def rows_of_curves(parts: Parts) -> Findings:
    """Cross-curves have a row for each displacement, in it a value for each heel, 0 at heel 0."""
    displacement = of_levers(parts, "displacement_t")
    path = (*LEVERS, "displacement_t")
    if len(displacement) < 2:
        problem = f"must hold at least 2 displacements, got {len(displacement)}"
        yield Finding(path, problem, 'the curve of one displacement alone is of kind "kn"')
    for index, (before, after) in enumerate(pairwise(displacement)):
        if after <= before:
            problem = f"must increase, got {after:g} after {before:g}"
            hint = "each displacement must be larger than the last, its rows beside it"
            yield Finding((*path, index + 1), problem, hint)
    for key in BY_DISPLACEMENT:
        values = of_levers(parts, key)
        if values is not None and len(values) != len(displacement):
            problem = f"must be as long as displacement_t: {len(values)} for {len(displacement)}"
            yield Finding((*LEVERS, key), problem, "each displacement needs one", (path,))
    heel, rows = (of_levers(parts, key) for key in ("heel_deg", "kn_m"))
    for index, row in enumerate(rows):
        at = f"row {index + 1}"
        at += f", {displacement[index]:g} t" if index < len(displacement) else ""
        if len(row) != len(heel):
            problem = f"must be as long as heel_deg: {len(row)} values for {len(heel)} heels ({at})"
            yield Finding((*LEVERS, "kn_m", index), problem, "each heel needs one lever")
        elif heel and heel[0] == 0 and row[0] != 0:
            problem = f"must start with 0, got {row[0]:g} ({at})"
            yield Finding((*LEVERS, "kn_m", index, 0), problem, "upright KN is 0")


def within_curves(parts: Parts) -> Findings:
    """Her displacement lies within the curves."""
    levers = parts("ship.levers")
    if not isinstance(levers, CrossCurveLevers) or not levers.regular:
        return
    displacement = parts("ship.displacement_t")
    if not levers.covers(displacement):
        low, high = levers.displacement_t[0], levers.displacement_t[-1]
        problem = f"must lie within the cross-curves, {low:g} to {high:g} t, got {displacement:g}"
        hint = "nothing is extrapolated: give curves that reach there"
        yield Finding(split("ship.displacement_t"), problem, hint, (LEVERS,))


CURVE_CHECKS: tuple[Check, ...] = (within_curves,)
