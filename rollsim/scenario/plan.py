"""The [sweep] and [[conditions]] of a file: axes and named overrides, checked in themselves."""

from __future__ import annotations

from dataclasses import dataclass
from math import prod

from rollsim.scenario.axes import Axis, axis_fault, axis_of, coordinate_names, spaced
from rollsim.scenario.catalogue import resolve
from rollsim.scenario.faults import Finding
from rollsim.scenario.overrides import Override, beyond_list, of_condition
from rollsim.scenario.parts import Parts, UnparsedError
from rollsim.scenario.positions import KeyPath
from rollsim.scenario.schema import Range

MOST_CASES = 100_000


@dataclass(frozen=True)
class Plan:
    """What a file asks for before the cases are made: axes with their overrides, conditions."""

    axes: tuple[Axis, ...]
    overrides: tuple[tuple[Override, ...], ...]
    conditions: tuple[tuple[str, tuple[Override, ...]], ...]


def planned(parts: Parts) -> tuple[Plan, list[Finding]]:
    """The axes and conditions of a file, and what is wrong with them themselves."""
    axes, overrides, findings = _axes(parts)
    conditions, more = _conditions(parts)
    findings += more
    plan = Plan(axes, overrides, conditions)
    findings += _in_both(plan)
    count = case_count(plan)
    if count > MOST_CASES:
        problem = f"asks for {count} cases, more than {MOST_CASES}"
        findings.append(Finding(("sweep",), problem, "take fewer values on some axis"))
    return plan, findings


def case_count(plan: Plan) -> int:
    """The number of cases of a plan."""
    return prod(len(axis.values) for axis in plan.axes) * max(1, len(plan.conditions))


def _axes(
    parts: Parts,
) -> tuple[tuple[Axis, ...], tuple[tuple[Override, ...], ...], list[Finding]]:
    swept = parts.raw.get("sweep", {})
    findings, sound = [], []
    for key in swept if isinstance(swept, dict) else ():
        fault = axis_fault(key, swept[key])
        if fault:
            findings.append(fault)
            continue
        beyond = beyond_list(parts.raw, Override(resolve(key) or (), None, ("sweep", key)))
        if beyond:
            findings.append(beyond)
            continue
        try:
            sound.append((key, parts.at(("sweep", key))))
        except UnparsedError:
            continue
    axes, overrides = [], []
    for (key, given), name in zip(sound, coordinate_names([k for k, _ in sound]), strict=True):
        is_range = isinstance(given, Range)
        values = spaced(given.from_, given.to, given.steps) if is_range else given
        axes.append(axis_of(key, name, values))
        path = resolve(key) or ()
        overrides.append(
            tuple(
                Override(path, value, ("sweep", key) if is_range else ("sweep", key, i))
                for i, value in enumerate(values)
            )
        )
    return tuple(axes), tuple(overrides), findings


def _conditions(
    parts: Parts,
) -> tuple[tuple[tuple[str, tuple[Override, ...]], ...], list[Finding]]:
    findings: list[Finding] = []
    conditions: dict[str, tuple[Override, ...]] = {}
    given = parts.raw.get("conditions", [])
    for index, table in enumerate(given if isinstance(given, list) else ()):
        if not isinstance(table, dict):
            continue
        overrides, faults = of_condition(index, table, parts.raw)
        findings += faults
        name = table.get("name")
        if not isinstance(name, str):
            continue
        if name in conditions:
            at: KeyPath = ("conditions", index, "name")
            hint = "each condition needs a name of its own"
            findings.append(Finding(at, f'the name "{name}" is already taken', hint))
        conditions.setdefault(name, tuple(overrides))
    return tuple(conditions.items()), findings


def _in_both(plan: Plan) -> list[Finding]:
    """Keys that stand both in a condition and in the sweep."""
    findings = []
    for axis, own in zip(plan.axes, plan.overrides, strict=True):
        path = own[0].path
        for name, overrides in plan.conditions:
            if any(_holds(override, path) for override in overrides):
                problem = f'stands both in the sweep and in the condition "{name}"'
                hint = "leave it in one of the two"
                findings.append(Finding(("sweep", axis.key), problem, hint, at_key=True))
    return findings


def _holds(override: Override, path: KeyPath) -> bool:
    """Whether an override gives a value at `path`: itself, or within its table or list."""
    if override.path != path[: len(override.path)]:
        return path == override.path[: len(path)]
    value = override.value
    for part in path[len(override.path) :]:
        if isinstance(value, list):
            return True
        if not isinstance(value, dict) or part not in value:
            return False
        value = value[part]
    return True
