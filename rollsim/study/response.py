"""Steady responses of all cases over the period or height of a regular sea."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.map_names import MAPS
from rollsim.scenario.schema import Response
from rollsim.scenario.schema.units import split_unit
from rollsim.scenario.text.faults import Finding, located
from rollsim.steady.backbone import backbones, wave_periods
from rollsim.steady.branch import Branch, Special
from rollsim.steady.family import PERIOD, Family
from rollsim.steady.islands import attractors
from rollsim.steady.rest import free_period
from rollsim.steady.search import Search
from rollsim.steady.sweep import Sweep, up_and_down
from rollsim.store.maps import write_map
from rollsim.study.at_rest import of_cases
from rollsim.study.pieces import Arrays, Pieces, works_to_file
from rollsim.study.plan import Plan
from rollsim.study.run import NOBODY, Listener, attributes, axes
from rollsim.study.workers import ALL_CORES, Where

Floats = NDArray[np.float64]

RESPONSE = "response"
SWEPT = 61
"""Values of the key in a sweep."""
GRIDS = 9
"""Values of the key, evenly within the range, at which a grid of starts is run."""
SPECIALS = ("fold", "flip", "branching")
EXAMPLE = (
    'add the table [response] with key = "sea.period_s", from = 7.0, to = 18.0; '
    "`rollsim keys response` lists its keys"
)
SMALL_FREQUENCY = 1e-3
"""Encounter frequency [rad/s] below which no wave comes past her."""


def response_to_file(
    plan: Plan,
    path: Path,
    *,
    replace: bool = False,
    where: Where = ALL_CORES,
    listener: Listener = NOBODY,
) -> bool:
    """Follow the responses of all cases and write them to `path`; False if interrupted."""
    table = response_of(plan)
    works = [_work(case, table) for case in plan.cases]

    def write(made: list[Arrays]) -> None:
        _require_any(plan, made)
        arrays = made_whole(made, table) | of_cases(plan, range(len(plan.cases)))
        says = attributes(plan) | {
            "history": f"rollsim response {Path(plan.study.file).name}",
            "response_key": table.key,
        }
        says.pop("histories")
        known = {"case", "condition", *MAPS[RESPONSE]}
        kept = {name: values for name, values in arrays.items() if name in known}
        unit = split_unit(table.key)[1]
        units = {name: unit for name, variable in MAPS[RESPONSE].items() if variable.units == ""}
        write_map(path, RESPONSE, kept, axes(plan), says, plan.study.text, units)

    return works_to_file(
        plan.study.text, path, RESPONSE, works, write,
        replace=replace, where=where, listener=listener,
    )  # fmt: skip


def response_of(plan: Plan) -> Response:
    """The table of the file; InputError without one, or where no wave comes past or acts."""
    table, study = plan.study.base.response, plan.study
    if table is None:
        raise InputError(study.file, [Fault("response", "is missing", EXAMPLE)])
    findings = [finding for case in plan.cases for finding in _unmoved(case, table)]
    if table.key in [axis.key for axis in study.axes]:
        problem = f'stands in the sweep as well, got "{table.key}"'
        hint = "the response runs over it by itself: leave that axis out of [sweep]"
        findings.append(Finding(("response", "key"), problem, hint))
    if findings:
        raise InputError(study.file, located(findings, study.text))
    return table


def _unmoved(case: Case, table: Response) -> list[Finding]:
    """What keeps the sea from rolling her at all."""
    at = ("response",)
    if case.storm.calm_water:
        problem = (
            "nothing rolls her: these waves have no slope across her, and her levers feel none"
        )
        hint = "turn sea.heading_deg, or give [ship.levers_in_waves] for waves from ahead"
        return [Finding(at, problem, hint)]
    family = Family(case, table.key)
    low, high = table.from_, table.to
    met = [family.wave(float(v)).frequency for v in np.linspace(low, high, 200)]
    if min(met) * max(met) <= 0.0 or min(np.abs(met)) < SMALL_FREQUENCY:
        problem = "the ship keeps up with the waves somewhere in this range: none comes past her"
        hint = "take a range on one side of that period, or another sea.ship_speed_mps"
        return [Finding(at, problem, hint)]
    return []


def _require_any(plan: Plan, made: Sequence[Arrays]) -> None:
    """InputError where no case has any response."""
    if any(each["period_ratio"].any() for each in made):
        return
    table = response_of(plan)
    problem = f"has no steady response from {table.from_:g} to {table.to:g}: she capsizes"
    hint = "lower sea.height_m" if table.key == PERIOD else "lower the heights of the range"
    findings = [Finding(("response",), problem, hint)]
    raise InputError(plan.study.file, located(findings, plan.study.text))


def _work(case: Case, table: Response) -> Callable[[Pieces], Arrays]:
    def work(pieces: Pieces) -> Arrays:
        name, stop = f"response {case.index}", pieces.stop_if_asked
        grids = {
            f"{name} starts at {value:.12g}": partial(_starts, case, table, float(value))
            for value in grid_values(table)
        }
        sweeps, bones, *come_to = pieces.all(
            {
                f"{name} sweeps": lambda: _sweeps(case, table, stop),
                f"{name} backbones": lambda: _bones(case, table),
            }
            | grids
        )
        branches = pieces(f"{name} branches", lambda: _branches(case, table, sweeps, come_to, stop))
        return branches | sweeps | bones

    return work


def grid_values(table: Response) -> Floats:
    """At which values of the key a whole grid of starts is run."""
    return table.from_ + (table.to - table.from_) * (np.arange(GRIDS) + 0.5) / GRIDS


def _starts(case: Case, table: Response, value: float) -> Arrays:
    """What a grid of starts comes to at one value."""
    states, ratios = attractors(Family(case, table.key), value)
    return {"states": states, "ratios": ratios}


def _sweeps(case: Case, table: Response, stop_if_asked: Callable[[], None]) -> Arrays:
    values = np.linspace(table.from_, table.to, SWEPT)
    up, down = up_and_down(case, table.key, values, stop_if_asked)
    return {
        "sweep_value": values,
        "sweep_up": np.degrees(up.amplitude),
        "sweep_down": np.degrees(down.amplitude),
        "states": np.concatenate((up.state, down.state)),
        "ratios": np.concatenate((up.ratio, down.ratio)),
    }


def _branches(
    case: Case,
    table: Response,
    sweeps: Arrays,
    grids: Sequence[Arrays],
    stop_if_asked: Callable[[], None],
) -> Arrays:
    search = Search(case, table.key, table.from_, table.to, stop_if_asked)
    search.run(_beside(case, table))
    amplitudes = np.radians(np.concatenate((sweeps["sweep_up"], sweeps["sweep_down"])))
    both = Sweep(amplitudes, sweeps["states"], sweeps["ratios"])
    search.from_attractors(np.tile(sweeps["sweep_value"], 2), both)
    for value, grid in zip(grid_values(table), grids, strict=True):
        search.from_grid(float(value), grid["states"], grid["ratios"])
    counted = {"not_followed": np.array(search.not_followed, dtype=np.int32)}
    return _filled(search.branches) | _specials(search) | counted


def _beside(case: Case, table: Response) -> list[float]:
    """Where else to look from calm water: at the wave period of her small free rolls."""
    if table.key != PERIOD:
        return []
    period = np.array([free_period(case)])
    near = wave_periods(Family(case, PERIOD), period, table.from_, table.to)
    return [float(v) for v in near if math.isfinite(v)]


def _filled(branches: Sequence[Branch]) -> Arrays:
    """The branches as arrays (branch, point), in degrees, padded with NaN."""
    shape = max(1, len(branches)), max([1, *(len(b.points) for b in branches)])
    arrays: dict[str, NDArray[Any]] = {
        name: np.full(shape, math.nan) for name in ("value", "roll_amplitude", "roll_mean")
    }
    arrays["stable"] = np.zeros(shape, dtype=np.int8)
    multiplier = np.full((*shape, 2), complex(math.nan, math.nan))
    arrays["period_ratio"] = np.zeros(shape[0], dtype=np.int32)
    arrays["branch_end"] = np.zeros((shape[0], 2), dtype=np.int8)
    arrays["found_by"], arrays["island"] = np.zeros((2, shape[0]), dtype=np.int8)
    for i, branch in enumerate(branches):
        arrays["period_ratio"][i] = branch.ratio
        arrays["branch_end"][i] = branch.ends
        arrays["found_by"][i], arrays["island"][i] = branch.found_by, branch.island
        for k, point in enumerate(branch.points):
            arrays["value"][i, k] = point.value
            arrays["roll_amplitude"][i, k] = math.degrees(point.course.amplitude)
            arrays["roll_mean"][i, k] = math.degrees(point.course.mean)
            arrays["stable"][i, k] = point.stable
            multiplier[i, k] = point.multipliers
    return arrays | {"multiplier_real": multiplier.real, "multiplier_imag": multiplier.imag}


def _specials(search: Search) -> Arrays:
    """Folds, flips and crossings in order of the key, at least one place each, NaN for none."""
    arrays: Arrays = {}
    for kind in SPECIALS:
        points: list[Special] = search.specials(kind)
        rows = [(s.point.value, math.degrees(s.point.course.amplitude)) for s in points]
        table = np.array(rows or [(math.nan, math.nan)])
        arrays[f"{kind}_value"], arrays[f"{kind}_amplitude"] = table.T
    return arrays


def _bones(case: Case, table: Response) -> Arrays:
    """The backbones in wave periods, for free rolls in time with the wave and with every second."""
    if table.key != PERIOD:
        return {}
    family, rows = Family(case, PERIOD), []
    for bone in backbones(case):
        for ratio in (1, 2):
            value = wave_periods(family, bone.period / ratio, table.from_, table.to)
            rows.append((ratio, value, np.degrees(bone.amplitude)))
    if not rows:
        return {}
    longest = max(row[1].size for row in rows)
    value, amplitude = np.full((2, len(rows), longest), math.nan)
    for i, row in enumerate(rows):
        value[i, : row[1].size], amplitude[i, : row[1].size] = row[1], row[2]
    return {
        "backbone_value": value,
        "backbone_amplitude": amplitude,
        "backbone_ratio": np.array([row[0] for row in rows], dtype=np.int32),
    }


def made_whole(made: list[Arrays], table: Response) -> Arrays:
    """All cases as one: every array padded to the longest."""
    names = [name for name in MAPS[RESPONSE] if any(name in each for each in made)]
    shared = {"sweep_value": made[0]["sweep_value"], "grid_value": grid_values(table)}
    stacked = {name: _stacked([each.get(name) for each in made]) for name in names}
    return stacked | shared


def _stacked(parts: Sequence[NDArray[Any] | None]) -> NDArray[Any]:
    """Arrays of one kind, one a case, padded with NaN or 0 to the longest along every axis."""
    known = [part for part in parts if part is not None]
    shape = tuple(max(sizes) for sizes in zip(*(part.shape for part in known), strict=True))
    fill = math.nan if known[0].dtype.kind == "f" else 0
    whole = np.full((len(parts), *shape), fill, dtype=known[0].dtype)
    for i, part in enumerate(parts):
        if part is not None:
            place: tuple[int | slice, ...] = (i, *(slice(n) for n in part.shape))
            whole[place] = part
    return whole
