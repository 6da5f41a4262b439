"""Every heel of rest of all cases over one key, and a slow change of that key there and back."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from rollsim.engines.at_outputs import AtOutputs
from rollsim.engines.base import BLOCK, Case, run_list
from rollsim.errors import Fault, InputError
from rollsim.map_names import AT_REST, MAPS
from rollsim.scenario import schema
from rollsim.scenario.expand.cases import CaseSpec
from rollsim.scenario.schema import Equilibria
from rollsim.scenario.schema.units import split_unit
from rollsim.scenario.text.faults import Finding, located
from rollsim.ship.levers import Levers
from rollsim.ship.rests import STABLE, Loadings, rests, static_heels
from rollsim.steady.resting import Bounds, Branch, Follower, Residual
from rollsim.store.maps import write_map
from rollsim.study.at_rest import of_cases
from rollsim.study.at_value import VariedCase
from rollsim.study.build import Builder
from rollsim.study.physics import SETTINGS
from rollsim.study.pieces import Arrays, Pieces, works_to_file
from rollsim.study.plan import Plan
from rollsim.study.run import NOBODY, Listener, attributes, axes
from rollsim.study.workers import ALL_CORES, Where, make_here

Floats = NDArray[np.float64]

EQUILIBRIA = "equilibria"
NODES = 33
"""Values of the key at which the loading is worked out; in between it is a polynomial."""
EXACT = 1e-9
"""Miss of that polynomial [m] up to which it stands for the loading itself."""
STARTS = 17
"""Values at which heels of rest are looked for, to begin branches at: the ends and some between,
for branches that reach neither end."""
UNMOVED = 1e-12
"""Change of the lever [m] over the range below which a key moves nothing."""
SLOW = 3600.0
"""Time [s] of the slow change either way."""
TRACK = 601
"""Points of the slow change that are kept."""
SIDES = 2
"""Heels that it is begun at."""
NUDGE = 1e-4
"""Heeling lever [m] meanwhile, to the side she comes from: exactly centred she would stay upright
where that is unstable."""
HEIGHT_OF_SEA = "sea.height_m"
EXAMPLE = """add the table, such as
  [equilibria]
  key = "ship.gravity.kg_m"
  from = 5.2
  to = 6.4"""


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


class Family:
    """One case over a key: the residual lever at the end of its events, in mean wind, no waves."""

    def __init__(self, plan: Plan, case: int, table: Equilibria) -> None:
        self.low, self.high = table.from_, table.to
        self._varied = VariedCase(plan.study, case, [table.key])
        nodes = np.cos(math.pi * (np.arange(NODES) + 0.5) / NODES)
        made = [self._made(value) for value in self._values(nodes)]
        self._made_at: dict[float, Loadings] = {}
        self.levers = made[0].levers
        self._law = made[0].law
        columns = np.array([_numbers(each) for each in made])
        self.moves = bool(np.ptp(columns, axis=0).max() > UNMOVED) or not self._one_hull(made)
        series = chebyshev.chebfit(nodes, columns, NODES - 1)
        self._series = series if self._one_hull(made) and self._fits(series) else None
        self._rates = chebyshev.chebder(series) * 2.0 / (self.high - self.low)

    def loadings(self, values: Sequence[float]) -> list[Loadings]:
        """The loading at each of some values, as the scenario makes it."""
        return [self._at(value) for value in values]

    @property
    def residual(self) -> Residual:
        """The lever and its slopes; between the nodes by a polynomial where that is exact."""
        return self._by_series if self._series is not None else self._by_cases

    def _values(self, nodes: Floats) -> Floats:
        return 0.5 * (self.low + self.high) + 0.5 * (self.high - self.low) * nodes

    def _made(self, value: float) -> Loadings:
        case = self._varied.at(float(value))
        at_end = AtOutputs(replace(case, output_step=case.duration))
        return at_end.loadings.at(slice(-1, None))

    def _at(self, value: float) -> Loadings:
        inside = min(max(value, self.low), self.high)
        if inside not in self._made_at:
            self._made_at[inside] = self._made(inside)
        return self._made_at[inside]

    def _one_hull(self, made: Sequence[Loadings]) -> bool:
        return all(each.levers is self.levers and _plain(each) for each in made)

    def _fits(self, series: Floats) -> bool:
        between = np.cos(math.pi * np.arange(1, NODES) / NODES)[::4]
        true = np.array([_numbers(self._made(value)) for value in self._values(between)])
        miss = np.abs(chebyshev.chebval(between, series).T - true)
        return bool(miss.max() < EXACT)

    def _by_series(self, value: float, heel: float) -> tuple[float, float, float]:
        assert self._series is not None
        x = (2.0 * value - self.low - self.high) / (self.high - self.low)
        numbers, rates = (
            np.asarray(chebyshev.chebval(x, each)) for each in (self._series, self._rates)
        )
        here = _loading(self.levers, self._law, numbers).curves
        # The lever is linear in the numbers of the loading: KG, off-centre G, wind, lever.
        along = _loading(self.levers, self._law, rates).curves
        by_value = sum(float(term.value(np.asarray(heel))) for term in along.terms[1:])
        return float(here.value(heel)), by_value, float(here.slope(heel))

    def _by_cases(self, value: float, heel: float) -> tuple[float, float, float]:
        h = 1e-4 * (self.high - self.low)
        before, after = max(value - h, self.low), min(value + h, self.high)
        here = self._at(value).curves
        levers = [float(self._at(v).curves.value(heel)[0]) for v in (before, after)]
        slope = (levers[1] - levers[0]) / (after - before)
        # Past the ends, where a border is looked for, the lever goes on straight.
        past = value - min(max(value, self.low), self.high)
        return float(here.value(heel)[0]) + slope * past, slope, float(here.slope(heel)[0])


def _plain(loading: Loadings) -> bool:
    return getattr(loading, "filled", None) is None


def _numbers(loading: Loadings) -> list[float]:
    return [
        float(each[0])
        for each in (loading.kg, loading.off_centre, loading.wind, loading.lever)
    ]  # fmt: skip


def _loading(levers: Levers, law: str, numbers: Floats) -> Loadings:
    kg, off_centre, wind, lever = numbers
    return Loadings(levers, law, kg, off_centre, wind, lever)


def _work(plan: Plan, case: int, table: Equilibria) -> Callable[[Pieces], Arrays]:
    return lambda pieces: pieces(
        f"{EQUILIBRIA} {case}", lambda: equilibria_arrays(plan, case, table)
    )


def equilibria_arrays(plan: Plan, number: int, table: Equilibria) -> Arrays:
    """Branches, meetings, the present state and the slow change of one case."""
    case, family = plan.cases[number], Family(plan, number, table)
    if not family.moves:
        raise InputError(plan.study.file, located([_unmoved(table)], plan.study.text))
    values = np.linspace(table.from_, table.to, STARTS)
    starts = [
        (float(value), float(heel))
        for value, loading in zip(values, family.loadings(values.tolist()), strict=True)
        for heel in rests(loading).heel
    ]
    edge = 1e-9
    grid = family.levers.grid.heel
    bounds = Bounds(table.from_, table.to, float(grid[0]) + edge, float(grid[-1]) - edge)
    branches = Follower(family.residual, bounds).branches(starts)
    arrays = _arrays(branches)
    arrays["present_value"] = np.array(_present(plan, number, table.key))
    arrays["present_heel"] = np.array(math.degrees(_static(case)))
    arrays["track_value"], arrays["track_heel"] = _slow_changes(plan, number, table, family)
    return arrays


def _arrays(branches: Sequence[Branch]) -> Arrays:
    """Branches as arrays of one length, and the meetings of all, each once."""
    longest = max((len(branch.points) for branch in branches), default=1)
    shape = (max(len(branches), 1), longest)
    value, heel = np.full(shape, math.nan), np.full(shape, math.nan)
    stable = np.zeros(shape, dtype=np.int8)
    for i, branch in enumerate(branches):
        count = len(branch.points)
        value[i, :count] = [point.value for point in branch.points]
        heel[i, :count] = np.degrees([point.heel for point in branch.points])
        stable[i, :count] = [point.stable for point in branch.points]
    arrays = {"value": value, "heel": heel, "stable": stable}
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


def _present(plan: Plan, number: int, key: str) -> float:
    """What the case has for the key now; NaN where it has none."""
    node: object = plan.study.cases[number].scenario
    for part in key.split("."):
        if isinstance(node, tuple):
            node = node[int(part)] if int(part) < len(node) else None
        else:
            node = getattr(node, part, None)
    return float(node) if isinstance(node, int | float) else math.nan


def _slow_changes(
    plan: Plan, number: int, table: Equilibria, family: Family
) -> tuple[Floats, Floats]:
    """Value (TRACK,) and heel [degree] (SIDES, TRACK) while the key goes from its last value to
    its first and back: a correction, and what it was to cure coming again.

    In calm water, by the block engine, from the outermost stable heels at the last value, port
    first; missing where there is none, where events cannot change the key, where the case has
    events of its own, or where nothing damps her.
    """
    spec, c = plan.study.cases[number], plan.cases[number].coefficients
    share = np.abs(np.linspace(-1.0, 1.0, TRACK))
    value = table.from_ + share * (table.to - table.from_)
    heels = np.full((SIDES, TRACK), math.nan)
    at = rests(family.loadings([table.to])[0])
    stable = at.heel[(at.kind == STABLE) & (np.abs(at.heel) < plan.cases[number].limits.capsize)]
    settable = table.key in SETTINGS and table.key != HEIGHT_OF_SEA and not spec.scenario.events
    if settable and stable.size and (c.linear or c.quadratic or c.cubic):
        for side, heel in enumerate(dict.fromkeys((stable.min(), stable.max()))):
            case = _changing(plan, spec, table, math.copysign(NUDGE, heel))
            made = make_here(case, run_list([0], (float(heel), 0.0)), histories=True)
            heels[side] = made.histories[0, 0]
    return value, heels


def _changing(plan: Plan, spec: CaseSpec, table: Equilibria, nudge: float) -> Case:
    """The case in calm water and steady wind, its key going from one end to the other and back."""
    changes = [
        {"kind": "change", "key": table.key, "to": to, "at_s": at, "over_s": SLOW}
        for to, at in ((table.from_, 0.0), (table.to, SLOW))
    ]
    lever = {"kind": "heeling-lever", "at_s": 0.0, "over_s": 0.0, "lever_m": nudge}
    clock = {"duration_s": 2.0 * SLOW, "output_step_s": 2.0 * SLOW / (TRACK - 1), "settle_s": 0.0}
    begun = VariedCase(plan.study, spec.index, [table.key]).scenario(table.to)
    calm: dict[str, Any] = {
        "events": (
            *(schema.ValueChange.model_validate(change) for change in changes),
            schema.HeelingLever.model_validate(lever),
        ),
        "sea": schema.CalmSea(kind="calm"),
        "run": begun.run.model_copy(update=clock | {"method": BLOCK}),
        "start": schema.Start(),
    }
    if begun.wind is not None:
        calm["wind"] = begun.wind.model_copy(update={"gust": (), "turbulence": None})
    builder = Builder(plan.study.base, plan.study.file)
    builder.add(replace(spec, scenario=begun.model_copy(update=calm)))
    builder.finish()
    return builder.cases[0]


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
