"""Every heel of rest of all cases over one key, and a slow change of that key there and back."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.map_names import AT_REST, MAPS
from rollsim.scenario.schema import Equilibria
from rollsim.scenario.schema.units import split_unit
from rollsim.scenario.text.faults import Finding, located
from rollsim.ship.rests import Loadings, rests, static_heels
from rollsim.steady.resting import Bounds, Branch, Follower
from rollsim.store.maps import write_map
from rollsim.study.at_rest import of_cases
from rollsim.study.at_value import own_value
from rollsim.study.pieces import Arrays, Pieces, works_to_file
from rollsim.study.plan import Plan
from rollsim.study.rest_family import Family
from rollsim.study.run import NOBODY, Listener, attributes, axes
from rollsim.study.slow_change import slow_changes
from rollsim.study.workers import ALL_CORES, Where

Floats = NDArray[np.float64]

EQUILIBRIA = "equilibria"
STARTS = 17
"""Values at which heels of rest are looked for, to begin branches at: the ends and some between,
for branches that reach neither end."""
EXAMPLE = (
    'add the table [equilibria] with key = "ship.gravity.kg_m", from = 5.2, to = 6.4; '
    "`rollsim keys equilibria` lists its keys"
)


def equilibria_to_file(
    plan: Plan,
    path: Path,
    *,
    replace: bool = False,
    where: Where = ALL_CORES,
    listener: Listener = NOBODY,
) -> bool:
    """Follow the heels of rest of all cases and write them to `path`; False if interrupted."""
    table = equilibria_of(plan)
    works = [_work(plan, case, table) for case in range(len(plan.cases))]

    def write(made: list[Arrays]) -> None:
        _require_any(plan, table, made)
        at_rest = of_cases(plan, range(len(plan.cases)))
        arrays = _whole(made) | {name: at_rest[name] for name in ("condition", *AT_REST)}
        says = attributes(plan) | {
            "history": f"rollsim equilibria {Path(plan.study.file).name}",
            "equilibria_key": table.key,
        }
        says.pop("histories")
        unit = split_unit(table.key.rpartition(".")[2])[1]
        units = {name: unit for name in MAPS[EQUILIBRIA] if name.endswith("value")}
        write_map(path, EQUILIBRIA, arrays, axes(plan), says, plan.study.text, units)

    return works_to_file(
        plan.study.text, path, EQUILIBRIA, works, write,
        replace=replace, where=where, listener=listener,
    )  # fmt: skip


def equilibria_of(plan: Plan) -> Equilibria:
    """The table of the file; InputError without one."""
    table = plan.study.base.equilibria
    if table is None:
        fault = Fault(EQUILIBRIA, "is missing", EXAMPLE)
        raise InputError(plan.study.file, [fault])
    return table


def _work(plan: Plan, case: int, table: Equilibria) -> Callable[[Pieces], Arrays]:
    return lambda pieces: pieces(
        f"{EQUILIBRIA} {case}", lambda: equilibria_arrays(plan, case, table)
    )


def equilibria_arrays(plan: Plan, number: int, table: Equilibria) -> Arrays:
    """Branches, meetings, the present state and the slow change of one case."""
    case, family = plan.cases[number], Family(plan, number, table)
    if not family.moves:
        raise InputError(plan.study.file, located([_unmoved(table)], plan.study.text))
    branches = _followed(family)
    while not family.holds([point for branch in branches for point in branch.points]):
        branches = _followed(family)
    arrays = _arrays(branches)
    arrays["present_value"] = np.array(own_value(plan.study, number, table.key))
    arrays["present_heel"] = np.array(math.degrees(_static(case)))
    arrays["track_value"], arrays["track_heel"] = slow_changes(
        plan, number, table, family.loadings([table.to])[0]
    )
    return arrays


def _followed(family: Family) -> list[Branch]:
    """All branches of a family."""
    edge, (port, starboard) = 1e-9, family.heels
    bounds = Bounds(family.low, family.high, port + edge, starboard - edge)
    return Follower(family.residual, bounds).branches(family.starts(STARTS))


def _arrays(branches: Sequence[Branch]) -> Arrays:
    """Branches as arrays of one length, and the meetings of all, each once."""
    longest = max((len(branch.points) for branch in branches), default=1)
    shape = (max(len(branches), 1), longest)
    value, heel = np.full(shape, math.nan), np.full(shape, math.nan)
    stable = np.zeros(shape, dtype=np.int8)
    ends = np.zeros((shape[0], 2), dtype=np.int8)
    for i, branch in enumerate(branches):
        count = len(branch.points)
        value[i, :count] = [point.value for point in branch.points]
        heel[i, :count] = np.degrees([point.heel for point in branch.points])
        stable[i, :count] = [point.stable for point in branch.points]
        ends[i] = branch.ends
    arrays = {"value": value, "heel": heel, "stable": stable, "branch_end": ends}
    for kind in ("fold", "branching"):
        met = {
            (round(m.value, 9), round(math.degrees(m.heel), 6)): m
            for branch in branches
            for m in branch.meetings
            if m.kind == kind
        }
        arrays[f"{kind}_value"] = np.array([m.value for m in met.values()])
        arrays[f"{kind}_heel"] = np.array([math.degrees(m.heel) for m in met.values()])
    return arrays


def _whole(made: Sequence[Arrays]) -> Arrays:
    """The arrays of all cases as one, the shorter ones filled up as missing."""
    return {name: _stacked([each[name] for each in made]) for name in made[0]}


def _stacked(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
    shape = tuple(max(1, *sizes) for sizes in zip(*(part.shape for part in parts), strict=True))
    missing = math.nan if parts[0].dtype.kind == "f" else 0
    whole = np.full((len(parts), *shape), missing, dtype=parts[0].dtype)
    for i, part in enumerate(parts):
        place: tuple[int | slice, ...] = (i, *(slice(size) for size in part.shape))
        whole[place] = part
    return whole


def _static(case: Case) -> float:
    """Her static heel at t = 0 [rad], downhill from the start where that is known."""
    loading = Loadings.single(case.curve)
    start = np.array([case.start[0] if math.isfinite(case.start[0]) else 0.0])
    return float(static_heels(loading, rests(loading), np.zeros(1, dtype=np.intp), start)[0])


def _unmoved(table: Equilibria) -> Finding:
    problem = f"{table.key} moves no equilibrium between {table.from_:g} and {table.to:g}"
    hint = "take a key of the loading, of the wind or of an event, such as ship.gravity.kg_m"
    return Finding(("equilibria", "key"), problem, hint)


def _require_any(plan: Plan, table: Equilibria, made: Sequence[Arrays]) -> None:
    """InputError where no case rests anywhere."""
    if any(np.isfinite(each["heel"]).any() for each in made):
        return
    problem = f"nothing is at rest from {table.from_:g} to {table.to:g}: no lever is zero there"
    hint = "lessen the wind or the heeling levers, or take another range"
    findings = [Finding(("equilibria",), problem, hint)]
    raise InputError(plan.study.file, located(findings, plan.study.text))
