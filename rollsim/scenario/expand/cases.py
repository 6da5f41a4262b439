"""From a file to its cases: conditions outermost, then the axes as written, the last fastest."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice, product
from math import prod
from typing import Any

from rollsim.scenario.checks.parts import Parts, UnparsedError
from rollsim.scenario.checks.plausible.ship import lighter_at_one_draught
from rollsim.scenario.checks.whole import Examined, examined_case
from rollsim.scenario.expand.counts import FindingCounts, Variant
from rollsim.scenario.expand.grid import BASE, Grid, NamedOverrides, Overrides, names_nearly_alike
from rollsim.scenario.expand.overrides import applied, dropped
from rollsim.scenario.expand.varied import Sound, Step, sound
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.faults import Finding

MOST_FAULTY = 1000
"""Faulty cases after which the rest is left: enough to say what is wrong."""


@dataclass(frozen=True)
class CaseSpec:
    """One case: its number, its condition, its value on each axis, and its whole scenario."""

    index: int
    condition: str
    coordinates: dict[str, float | str]
    scenario: Scenario


class TooManyFaultyError(Exception):
    """More cases are faulty than need be looked at."""


@dataclass
class Expansion:
    """The cases of a grid over a sound base file, with the faults and the warnings of the cases."""

    cases: list[CaseSpec]
    faults: FindingCounts
    warnings: FindingCounts
    faulty: int = 0

    def keep(self, variant: Variant, scenario: Scenario, warnings: Iterable[Finding]) -> None:
        """Take a sound case."""
        spec = CaseSpec(len(self.cases), variant.condition, variant.coordinates, scenario)
        self.cases.append(spec)
        for finding in warnings:
            self.warnings.add(finding, variant)

    def judge(self, variant: Variant, examined: Examined) -> None:
        """Take a case by its whole validation, which has the last word, or note its faults."""
        if examined.parts.whole is not None and not examined.faults:
            self.keep(variant, examined.parts.whole, examined.warnings)
            return
        for finding in examined.faults:
            self.faults.add(finding, variant)
        self.faulty += 1
        if self.faulty == MOST_FAULTY:
            raise TooManyFaultyError


def size(grid: Grid) -> int:
    """Number of all cases of a grid."""
    return len(grid.outer) * prod(len(axis.values) for axis in grid.axes)


def expanded(grid: Grid, base: Parts, most: int | None = None) -> Expansion:
    """All cases of a grid over a sound base; of more than `most` about so many, evenly spread."""
    if not grid.axes and not grid.conditions:
        return _single(base)
    raw = bare(base.raw)
    start = sound(examined_case(raw, base.base_gm).parts)
    assert start is not None
    expansion = Expansion([], FindingCounts(), FindingCounts(by_condition=True))
    for doubt in names_nearly_alike(grid):
        expansion.warnings.add(doubt, Variant(BASE, {}, ()))
    every = max(1, math.ceil(size(grid) / most)) if most else 1
    try:
        for condition in grid.outer:
            _expand_condition(grid, condition, raw, start, expansion, every)
    except TooManyFaultyError:
        pass
    return expansion


def _single(base: Parts) -> Expansion:
    """The base file as the only case."""
    expansion = Expansion([], FindingCounts(), FindingCounts(by_condition=True))
    expansion.judge(Variant(BASE, {}, ()), Examined(base, []))
    return expansion


def _expand_condition(
    grid: Grid,
    condition: NamedOverrides,
    raw: dict[str, Any],
    base: Sound,
    expansion: Expansion,
    every: int,
) -> None:
    """The cases of one condition; from the base file on where it is faulty without the axes.

    Of them each at a multiple of `every`, and the last.
    """
    own = condition.overrides
    raw = applied(raw, own)
    axes = grid.overrides_on(raw)
    paths = [override.path for override in own]
    start = Step(base, paths).sound(own) if own else base
    before = own if start is None else ()
    swept = [overrides[0].path for overrides in axes]
    step = Step(start or base, [*(override.path for override in before), *swept])
    doubts = [lost for override in own if (lost := dropped(base.parts.raw, override))]
    alone = start.parts if start else examined_case(raw, base.parts.base_gm).parts
    with suppress(UnparsedError):  # a fault of the condition itself, told with its cases
        doubts += lighter_at_one_draught(base.parts, alone)
    for finding in doubts:
        expansion.warnings.add(finding, Variant(condition.name, {}, own))
    cases = list(_variants(grid, condition, axes))
    cases = cases[:-1][::every] + cases[-1:]
    for finding in step.untouched:
        expansion.warnings.add(finding, cases[0], len(cases))
    for variant in cases:
        parts = step.to((*before, *variant.overrides[len(own) :]))
        if parts is not None and parts.whole is not None:
            expansion.keep(variant, parts.whole, step.warned(parts))
        else:
            case = applied(raw, variant.overrides[len(own) :])
            expansion.judge(variant, examined_case(case, base.parts.base_gm))


def _variants(
    grid: Grid, condition: NamedOverrides, axes: tuple[Overrides, ...]
) -> Iterator[Variant]:
    """The cases of a condition in their order."""
    for chosen in product(*(range(len(axis.values)) for axis in grid.axes)):
        coordinates = {axis.name: axis.values[i] for axis, i in zip(grid.axes, chosen, strict=True)}
        swept = tuple(axes[axis][value] for axis, value in enumerate(chosen))
        yield Variant(condition.name, coordinates, (*condition.overrides, *swept))


def raw_case(grid: Grid, base: Parts, number: int) -> dict[str, Any]:
    """The tables of case `number` as a file of its own would give them."""
    if not grid.axes and not grid.conditions:
        return base.raw
    each = prod(len(axis.values) for axis in grid.axes)
    condition = grid.outer[number // each]
    raw = applied(bare(base.raw), condition.overrides)
    variants = _variants(grid, condition, grid.overrides_on(raw))
    variant = next(islice(variants, number % each, None))
    return applied(raw, variant.overrides[len(condition.overrides) :])


def alone(grid: Grid, base: Parts) -> FindingCounts:
    """Faults that single values of a grid add to those of a faulty base, each tried alone."""
    raw = bare(base.raw)
    known = {(f.path, f.problem) for f in examined_case(raw, base.base_gm).faults}
    tries = [Variant(each.name, {}, each.overrides) for each in grid.conditions]
    for axis, own in zip(grid.axes, grid.overrides_on(raw), strict=True):
        values = zip(axis.values, own, strict=True)
        tries += [Variant(BASE, {axis.name: value}, (override,)) for value, override in values]
    counts = FindingCounts()
    for variant in tries[:MOST_FAULTY]:
        case = examined_case(applied(raw, variant.overrides), base.base_gm)
        for finding in case.faults:
            if (finding.path, finding.problem) not in known:
                counts.add(finding, variant)
    return counts


def bare(raw: dict[str, Any]) -> dict[str, Any]:
    """The base file without what makes the cases: the form of a case."""
    return {key: value for key, value in raw.items() if key not in ("sweep", "conditions")}
