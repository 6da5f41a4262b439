"""Faults or warnings of many cases, each told once with the cases that share it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from rollsim.scenario.expand.grid import BASE, Overrides
from rollsim.scenario.text.faults import Finding, listed
from rollsim.scenario.text.positions import KeyPath

MOST_NAMED = 5
"""Conditions that a warning names."""


@dataclass(frozen=True)
class Variant:
    """What makes a case differ from the base file."""

    condition: str
    coordinates: dict[str, float | str]
    overrides: Overrides

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
class SharedFinding:
    """Cases of one finding: the first of them, how many, and in which conditions."""

    finding: Finding
    first: Variant
    count: int
    conditions: list[str]


@dataclass
class FindingCounts:
    """Findings of cases: one for each place, key and rule, with how many cases share it.

    With `by_condition` findings whose figures differ between conditions are told for each, and the
    values of an axis are told together.
    """

    by_condition: bool = False
    groups: dict[tuple[KeyPath, KeyPath, str, str], SharedFinding] = field(default_factory=dict)

    def add(self, finding: Finding, case: Variant, count: int = 1) -> None:
        """Note a finding of a case, or of `count` cases of its condition from it on."""
        blamed = case.blamed(finding)
        rule = blamed.problem.partition(", got ")[0]
        pointer, condition = blamed.pointer, ""
        if self.by_condition:
            condition = case.condition
            pointer = pointer[:2] if pointer[:1] == ("sweep",) else pointer
        key = (pointer, blamed.path, rule, condition)
        group = self.groups.get(key)
        if group is None:
            self.groups[key] = SharedFinding(blamed, case, count, [case.condition])
        else:
            group.count += count

    def findings(self) -> list[Finding]:
        """The findings, each with the case, or the number of cases, in its hint."""
        alike: dict[tuple[KeyPath, KeyPath, str], SharedFinding] = {}
        for group in self.groups.values():
            key = (group.finding.pointer, group.finding.path, group.finding.problem)
            if key in alike:
                alike[key].count += group.count
                alike[key].conditions += group.conditions
            else:
                alike[key] = replace(group, conditions=list(group.conditions))
        return [_with_cases(group) for group in alike.values()]


def _with_cases(group: SharedFinding) -> Finding:
    label, finding = group.first.label, group.finding
    if not label:
        return finding
    if group.count == 1:
        where = f"for {label}"
    elif len(group.conditions) > 1:
        names = [f'"{name}"' for name in group.conditions[:MOST_NAMED]]
        more = len(group.conditions) - len(names)
        names += [f"{more} more"] if more else []
        where = f"in {group.count} cases, of the conditions {listed(names)}"
    else:
        where = f"in {group.count} cases, the first {label}"
    return replace(finding, hint=f"{where}; {finding.hint}" if finding.hint else where)
