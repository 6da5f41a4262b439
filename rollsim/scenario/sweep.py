"""From a file to its cases: conditions outermost, then the axes as written, the last fastest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from pydantic import ValidationError

from rollsim.scenario import checks
from rollsim.scenario.faults import Finding, explained
from rollsim.scenario.overrides import Override, applied, dropped
from rollsim.scenario.parts import Parts
from rollsim.scenario.plan import Plan
from rollsim.scenario.positions import KeyPath
from rollsim.scenario.schema import Scenario

BASE = "base"
"""The name of the condition where a file has none."""

MOST_FAULTY = 1000
"""Faulty cases after which the rest is left: enough to say what is wrong."""


@dataclass(frozen=True)
class CaseSpec:
    """One case: its number, its condition, its value on each axis, and its whole scenario."""

    index: int
    condition: str
    coordinates: dict[str, float | str]
    scenario: Scenario


@dataclass(frozen=True)
class Variant:
    """What makes a case differ from the base file."""

    condition: str
    coordinates: dict[str, float | str]
    overrides: tuple[Override, ...]

    @property
    def label(self) -> str:
        """The case as a person calls it: condition = "light", kg = 5.3."""
        named = {"condition": self.condition} if self.condition != BASE else {}
        values: dict[str, float | str] = {**named, **self.coordinates}
        return ", ".join(
            f'{name} = "{value}"' if isinstance(value, str) else f"{name} = {value:.12g}"
            for name, value in values.items()
        )

    def blamed(self, finding: Finding) -> Finding:
        """The finding, placed at the axis or condition that its key or a cause of it comes from."""
        for path in (finding.path, *finding.causes):
            for override in reversed(self.overrides):
                depth = len(override.path)
                if override.path == path[:depth]:
                    return replace(finding, at=(*override.source, *path[depth:]))
                if path == override.path[: len(path)]:
                    return replace(finding, at=override.source)
        return finding


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


def variants(plan: Plan) -> Iterator[Variant]:
    """The cases of a plan in their order."""
    for condition, overrides in plan.conditions or ((BASE, ()),):
        for chosen in product(*(range(len(axis.values)) for axis in plan.axes)):
            values = zip(plan.axes, chosen, strict=True)
            own = (plan.overrides[axis][value] for axis, value in enumerate(chosen))
            yield Variant(
                condition, {axis.name: axis.values[i] for axis, i in values}, (*overrides, *own)
            )


def expanded(plan: Plan, base: Parts) -> tuple[list[CaseSpec], Found, Found]:
    """All cases of a plan over a sound base, with the faults and the warnings of the cases."""
    bare, gm = _bare(base), checks.gm_known(base)
    cases: list[CaseSpec] = []
    faults, warnings = Found(), Found()
    faulty = 0
    for variant in variants(plan):
        parts, findings = _examined_case(applied(bare, variant.overrides), gm)
        for finding in findings:
            faults.add(variant.blamed(finding), variant.label)
        if parts.whole is None or findings:
            faulty += 1
            if faulty == MOST_FAULTY:
                break
            continue
        for finding in checks.warnings(parts):
            warnings.add(variant.blamed(finding), variant.label)
        cases.append(CaseSpec(len(cases), variant.condition, variant.coordinates, parts.whole))
    for condition, overrides in plan.conditions:
        for lost in filter(None, (dropped(bare, override) for override in overrides)):
            warnings.add(lost, Variant(condition, {}, ()).label)
    return cases, faults, warnings


def alone(plan: Plan, base: Parts) -> Found:
    """Faults that single values of a plan add to those of a faulty base, each tried alone."""
    bare, gm = _bare(base), checks.gm_known(base)
    known = {(finding.path, finding.problem) for finding in _examined_case(bare, gm)[1]}
    tries = [Variant(condition, {}, overrides) for condition, overrides in plan.conditions]
    for axis, own in zip(plan.axes, plan.overrides, strict=True):
        values = zip(axis.values, own, strict=True)
        tries += [Variant(BASE, {axis.name: value}, (override,)) for value, override in values]
    found = Found()
    for variant in tries[:MOST_FAULTY]:
        for finding in _examined_case(applied(bare, variant.overrides), gm)[1]:
            if (finding.path, finding.problem) not in known:
                found.add(variant.blamed(finding), variant.label)
    return found


def _bare(base: Parts) -> dict[str, Any]:
    """The base file without what makes the cases: the form of a case."""
    return {key: value for key, value in base.raw.items() if key not in ("sweep", "conditions")}


def examined(raw: dict[str, Any]) -> tuple[Parts, list[Finding]]:
    """The base file validated: what of it did parse, and all its faults."""
    parts, findings = _validated(raw)
    return parts, findings + checks.conversion_faults(parts, checks.gm_known(parts))


def _examined_case(raw: dict[str, Any], base_gm: float | None) -> tuple[Parts, list[Finding]]:
    """A case validated whole, with the base file's GM [m] for its conversions."""
    parts, findings = _validated(raw)
    return parts, findings + checks.conversion_faults(parts, base_gm)


def _validated(raw: dict[str, Any]) -> tuple[Parts, list[Finding]]:
    try:
        parts, findings = Parts(Scenario.model_validate(raw), raw), []
    except ValidationError as error:
        findings = explained(error, raw)
        parts = Parts(None, raw, tuple(finding.path for finding in findings))
    return parts, findings + checks.faults(parts)
