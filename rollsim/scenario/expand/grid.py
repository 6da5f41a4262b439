"""The [sweep] and [[conditions]] of a file: axes and named overrides, checked in themselves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import prod
from typing import Any

from rollsim.scenario.checks.explain import MOST_EXPLAINED
from rollsim.scenario.checks.parts import Parts, UnparsedError
from rollsim.scenario.expand.axes import (
    Axis,
    axis_fault,
    axis_of,
    coordinate_names,
    item_at,
    spaced,
)
from rollsim.scenario.expand.overrides import Override, applied, beyond_list, of_condition
from rollsim.scenario.expand.searched import searched_key
from rollsim.scenario.schema.catalogue import entry_at, resolve
from rollsim.scenario.schema.study import Offsets, Range
from rollsim.scenario.text.beside import TABLE, named
from rollsim.scenario.text.faults import Finding, shown
from rollsim.scenario.text.positions import KeyPath

MOST_CASES = 100_000

BASE = "base"
"""The name of the condition where a file has none."""

Overrides = tuple[Override, ...]


@dataclass(frozen=True)
class NamedOverrides:
    """A condition of the file: its name, its overrides and its position in the list."""

    name: str
    overrides: Overrides
    index: int = 0


@dataclass(frozen=True)
class Grid:
    """What a file makes cases of: axes with an override for each value, and conditions."""

    axes: tuple[Axis, ...]
    overrides: tuple[Overrides, ...]
    conditions: tuple[NamedOverrides, ...]

    @property
    def count(self) -> int:
        """The number of cases."""
        return prod(len(axis.values) for axis in self.axes) * max(1, len(self.conditions))

    @property
    def outer(self) -> tuple[NamedOverrides, ...]:
        """The conditions, or the base file as the only one."""
        return self.conditions or (NamedOverrides(BASE, ()),)

    def overrides_on(self, raw: dict[str, Any]) -> tuple[Overrides, ...]:
        """The overrides of every axis over `raw`, offsets added to what stands there."""
        return tuple(
            tuple(_added(override, raw) for override in own) if axis.offset else own
            for axis, own in zip(self.axes, self.overrides, strict=True)
        )


def planned(parts: Parts) -> tuple[Grid, list[Finding]]:
    """The axes and conditions of a file, and what is wrong with them themselves."""
    axes, overrides, findings = _axes(parts)
    conditions, more = _conditions(parts)
    grid = Grid(axes, overrides, conditions)
    findings += more + _in_both(grid) + _nothing_to_add_to(grid, parts.raw)
    findings += searched_key(parts, "critical") + searched_key(parts, "equilibria")
    if grid.count > MOST_CASES:
        problem = f"makes {grid.count} cases, more than {MOST_CASES}"
        findings.append(Finding(("sweep",), problem, "take fewer values on some axis"))
    return grid, findings


def _axes(parts: Parts) -> tuple[tuple[Axis, ...], tuple[Overrides, ...], list[Finding]]:
    swept = parts.raw.get("sweep", {})
    findings: list[Finding] = []
    parsed: list[tuple[str, Any]] = []
    for key in swept if isinstance(swept, dict) else ():
        near = len(findings) < MOST_EXPLAINED
        fault = axis_fault(key, swept[key], near=near) or beyond_list(
            parts.raw, Override(resolve(key) or (), None, ("sweep", key))
        )
        if fault:
            findings.append(fault)
            continue
        try:
            parsed.append((key, parts.at(("sweep", key))))
        except UnparsedError:
            continue
    names = coordinate_names([key for key, _ in parsed])
    made = [
        _axis(parts.raw, key, name, given) for (key, given), name in zip(parsed, names, strict=True)
    ]
    return tuple(axis for axis, _ in made), tuple(own for _, own in made), findings


def _axis(raw: dict[str, Any], key: str, name: str, given: Any) -> tuple[Axis, Overrides]:
    """The axis of a key with its overrides, each with its source in the file."""
    source: KeyPath = ("sweep", key)
    files = raw.get(TABLE, {})
    is_range = isinstance(given, Range)
    if is_range:
        values = spaced(given.from_, given.to, given.steps)
    elif isinstance(given, Offsets):
        values, source = given.add, (*source, "add")
    else:
        values = given
    path = resolve(key) or ()
    overrides = tuple(
        Override(path, named(key, value, files), source if is_range else (*source, index))
        for index, value in enumerate(values)
    )
    item = item_at(raw, path)
    return axis_of(key, name, values, offset=isinstance(given, Offsets), item=item), overrides


def _conditions(parts: Parts) -> tuple[tuple[NamedOverrides, ...], list[Finding]]:
    findings: list[Finding] = []
    conditions: dict[str, NamedOverrides] = {}
    tables = parts.raw.get("conditions", [])
    for index, table in enumerate(tables if isinstance(tables, list) else ()):
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
        conditions.setdefault(name, NamedOverrides(name, tuple(overrides), index))
    return tuple(conditions.values()), findings


def _in_both(grid: Grid) -> list[Finding]:
    """Keys that stand both in a condition and in the sweep, other than as an offset."""
    findings = []
    for axis, own in zip(grid.axes, grid.overrides, strict=True):
        path = own[0].path
        for condition in grid.conditions if not axis.offset else ():
            if any(_gives(override, path) for override in condition.overrides):
                problem = f'stands both in the sweep and in the condition "{condition.name}"'
                hint = "leave it in one of the two, or sweep offsets: { add = [-0.1, 0.1] }"
                findings.append(Finding(("sweep", axis.key), problem, hint, at_key=True))
    return findings


def _gives(override: Override, path: KeyPath) -> bool:
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


def _nothing_to_add_to(grid: Grid, raw: dict[str, Any]) -> list[Finding]:
    """Offsets need a number to be added to, in every condition."""
    findings = []
    for axis, own in zip(grid.axes, grid.overrides, strict=True):
        for condition in grid.outer if axis.offset else ():
            value = value_at(applied(raw, condition.overrides), own[0].path)
            if not _is_number(value):
                where = f'condition "{condition.name}"' if grid.conditions else "the base file"
                got = "none" if value is None else shown(value)
                problem = f"adds to a number, and {where} gives {got}"
                hint = f"give {axis.key} a number there, or a list of values here"
                findings.append(Finding(("sweep", axis.key), problem, hint, at_key=True))
    return findings


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def value_at(raw: dict[str, Any], path: KeyPath) -> Any:
    """The value that stands at `path`, its default where its table leaves it out, None if none."""
    here: Any = raw
    for depth, part in enumerate(path):
        if isinstance(part, int):
            here = here[part] if isinstance(here, list | tuple) and part < len(here) else None
        elif isinstance(here, dict) and part in here:
            here = here[part]
        else:
            entry = entry_at(path)
            last = isinstance(here, dict) and depth == len(path) - 1
            return entry.field.get_default() if entry and last else None
    return here


def _added(override: Override, raw: dict[str, Any]) -> Override:
    """An offset added to what stands in `raw`, without the noise of the 13th digit."""
    value = value_at(raw, override.path)
    if not _is_number(value):
        return override
    return replace(override, value=float(f"{value + override.value:.12g}"))


def names_nearly_alike(grid: Grid) -> list[Finding]:
    """The warnings of names that differ by spaces or capitals alone: one was likely mistyped."""
    findings = []
    first: dict[str, str] = {}
    for condition in grid.conditions:
        plain = "".join(condition.name.split()).casefold()
        if plain in first:
            problem = (
                f'"{condition.name}" differs from "{first[plain]}" by spaces or capitals alone'
            )
            hint = (
                "usually a typing error (common practice): the two are easily taken for each other"
            )
            findings.append(Finding(("conditions", condition.index, "name"), problem, hint))
        first.setdefault(plain, condition.name)
    return findings
