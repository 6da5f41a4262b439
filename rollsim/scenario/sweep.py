"""From a file to its cases: conditions outermost, then the axes as written, the last fastest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import product
from math import prod
from typing import Any

from pydantic import ValidationError

from rollsim.scenario import checks
from rollsim.scenario.axes import Axis, axis_fault, axis_of, coordinate_names, spaced
from rollsim.scenario.catalogue import resolve
from rollsim.scenario.faults import Finding, explained
from rollsim.scenario.overrides import (
    Override,
    applied,
    beyond_list,
    dropped,
    of_condition,
)
from rollsim.scenario.parts import Parts, UnparsedError
from rollsim.scenario.positions import KeyPath
from rollsim.scenario.schema import Range, Scenario

MOST_CASES = 100_000

MOST_TRIES = 1000
"""Sweep values and conditions that are tried one by one where the base has faults already."""

BASE = "base"
"""The name of the condition where a file has none."""


@dataclass(frozen=True)
class CaseSpec:
    """One case: its number, its condition, its value on each axis, and its whole scenario."""

    index: int
    condition: str
    coordinates: dict[str, float | str]
    scenario: Scenario


@dataclass(frozen=True)
class Plan:
    """What a file asks for before the cases are made: axes with their overrides, conditions."""

    axes: tuple[Axis, ...]
    axis_overrides: tuple[tuple[Override, ...], ...]
    conditions: tuple[tuple[str, tuple[Override, ...]], ...]


@dataclass
class Found:
    """Faults or warnings of cases: one for each place, key and rule, with how many share it."""

    first: dict[tuple[KeyPath, KeyPath, str], tuple[Finding, str]] = field(default_factory=dict)
    counts: Counter[tuple[KeyPath, KeyPath, str]] = field(default_factory=Counter)

    def add(self, finding: Finding, case: str) -> None:
        """Note a finding of the case that is called `case`."""
        rule = finding.problem.partition(", got ")[0]
        key = (finding.place, finding.path, rule)
        self.first.setdefault(key, (finding, case))
        self.counts[key] += 1

    def told(self) -> list[Finding]:
        """The findings, each with the case or the number of cases in its hint."""
        told = []
        for key, (finding, case) in self.first.items():
            count = self.counts[key]
            where = f"for {case}" if count == 1 else f"in {count} cases, the first {case}"
            told.append(replace(finding, hint=f"{where}; {finding.hint}"))
        return told


def planned(parts: Parts) -> tuple[Plan, list[Finding]]:
    """The axes and conditions of a file, and what is wrong with them themselves."""
    axes, axis_overrides, findings = _axes(parts)
    conditions, more = _conditions(parts)
    findings += more
    plan = Plan(axes, axis_overrides, conditions)
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
    for axis, own in zip(plan.axes, plan.axis_overrides, strict=True):
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


def expanded(plan: Plan, base: Parts) -> tuple[list[CaseSpec], Found, Found]:
    """All cases of a plan over a sound base, with the faults and the warnings of the cases."""
    bare = {k: v for k, v in base.raw.items() if k not in ("sweep", "conditions")}
    cases: list[CaseSpec] = []
    faults, warnings = Found(), Found()
    for condition, overrides, raw in _conditioned(plan, bare, warnings):
        for chosen in product(*(range(len(axis.values)) for axis in plan.axes)):
            own = [plan.axis_overrides[a][i] for a, i in enumerate(chosen)]
            coordinates = {
                axis.name: axis.values[i] for axis, i in zip(plan.axes, chosen, strict=True)
            }
            everything = (*overrides, *own)
            parts, findings = examined(applied(raw, own), base)
            label = _label(condition if plan.conditions else None, coordinates)
            for finding in findings:
                faults.add(_blamed(finding, everything), label)
            if parts.whole is None or findings:
                continue
            for finding in checks.warnings(parts):
                warnings.add(_blamed(finding, everything), label)
            cases.append(CaseSpec(len(cases), condition, coordinates, parts.whole))
    return cases, faults, warnings


def _conditioned(
    plan: Plan, bare: dict[str, Any], warnings: Found
) -> Iterator[tuple[str, tuple[Override, ...], dict[str, Any]]]:
    for name, overrides in plan.conditions or ((BASE, ()),):
        for override in overrides:
            lost = dropped(bare, override)
            if lost:
                warnings.add(lost, f'condition = "{name}"')
        yield name, overrides, applied(bare, overrides)


def alone(plan: Plan, base: Parts) -> Found:
    """Faults that single values of a plan add to those of a faulty base, each tried alone."""
    known = {(finding.path, finding.problem) for finding in examined(base.raw)[1]}
    bare = {k: v for k, v in base.raw.items() if k not in ("sweep", "conditions")}
    tries = [(f'condition = "{name}"', overrides) for name, overrides in plan.conditions]
    for axis, own in zip(plan.axes, plan.axis_overrides, strict=True):
        tries += [
            (_label(None, {axis.name: value}), (override,))
            for value, override in zip(axis.values, own, strict=True)
        ]
    found = Found()
    for label, overrides in tries[:MOST_TRIES]:
        for finding in examined(applied(bare, overrides), base)[1]:
            if (finding.path, finding.problem) not in known:
                found.add(_blamed(finding, overrides), label)
    return found


def examined(raw: dict[str, Any]) -> tuple[Parts, list[Finding]]:
    """The base file validated: what of it did parse, and all its faults."""
    parts, findings = _validated(raw)
    return parts, findings + checks.conversion_faults(parts, checks.gm_known(parts))


def _examined_case(
    raw: dict[str, Any], base_gm: float | None
) -> tuple[Scenario | None, list[Finding]]:
    """A case validated whole, with the base file's GM [m] for its conversions."""
    parts, findings = _validated(raw)
    return parts.whole, findings + checks.conversion_faults(parts, base_gm)


def _validated(raw: dict[str, Any]) -> tuple[Parts, list[Finding]]:
    try:
        parts, findings = Parts(Scenario.model_validate(raw), raw), []
    except ValidationError as error:
        findings = explained(error, raw)
        parts = Parts(None, raw, tuple(finding.path for finding in findings))
    return parts, findings + checks.faults(parts)


def _label(condition: str | None, coordinates: dict[str, float | str]) -> str:
    named = {} if condition is None else {"condition": condition}
    values: dict[str, float | str] = {**named, **coordinates}
    return ", ".join(
        f'{k} = "{v}"' if isinstance(v, str) else f"{k} = {v:.12g}" for k, v in values.items()
    )


def _blamed(finding: Finding, overrides: Sequence[Override]) -> Finding:
    """The finding, placed at the axis or condition that its key, or a cause of it, comes from."""
    for path in (finding.path, *finding.causes):
        for override in reversed(overrides):
            depth = len(override.path)
            if override.path == path[:depth]:
                return replace(finding, at=(*override.source, *path[depth:]))
            if path == override.path[: len(path)]:
                return replace(finding, at=override.source)
    return finding
