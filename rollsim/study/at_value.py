"""A case of a study with some of its keys set to other values: what searches and maps ask for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.scenario.checks.whole import examined_case
from rollsim.scenario.expand.cases import raw_case
from rollsim.scenario.expand.grid import value_at
from rollsim.scenario.expand.overrides import Override, applied
from rollsim.scenario.expand.varied import Step, sound
from rollsim.scenario.load import Study, base_and_grid
from rollsim.scenario.schema.catalogue import resolve
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.faults import Finding, dotted, located
from rollsim.study.build import Builder


class VariedCase:
    """Case `number` of `study` over the scenario keys `keys`, each value validated as a case is.

    Conversions that need a GM keep the base file's, as in a sweep.
    """

    def __init__(self, study: Study, number: int, keys: Sequence[str]) -> None:
        """Check the case once; KeyError for a key that the schema does not have."""
        paths = [resolve(key) for key in keys]
        if unknown := [key for key, path in zip(keys, paths, strict=True) if path is None]:
            raise KeyError(unknown[0])
        self.paths = [path for path in paths if path is not None]
        self._study, self._spec = study, study.cases[number]
        base, grid = base_and_grid(study)
        self._raw, self._base_gm = raw_case(grid, base, number), base.base_gm
        start = sound(examined_case(self._raw, self._base_gm).parts)
        assert start is not None
        self._step = Step(start, self.paths)

    def at(self, *values: float) -> Case:
        """The physics of the case at these values; InputError where it is no sound case."""
        builder = Builder(self._study.base, self._study.file)
        builder.add(replace(self._spec, scenario=self.scenario(*values)))
        builder.finish()
        return builder.cases[0]

    def scenario(self, *values: float) -> Scenario:
        """The scenario of the case at these values; InputError where it is not sound."""
        overrides = [
            Override(path, value, path) for path, value in zip(self.paths, values, strict=True)
        ]
        parts = self._step.to(overrides)
        if parts is not None and parts.whole is not None:
            return parts.whole
        examined = examined_case(applied(self._raw, overrides), self._base_gm)
        if examined.parts.whole is None or examined.faults:
            raise InputError(self._study.file, self._faults(examined.faults, overrides))
        return examined.parts.whole

    def _faults(self, findings: Iterable[Finding], overrides: Sequence[Override]) -> list[Fault]:
        """The faults of a case at other values, each with these: the file itself has others."""
        values = ", ".join(f"{dotted(each.path)} = {each.value:g}" for each in overrides)
        return [
            replace(fault, problem=f"{fault.problem}, with {values}")
            for fault in located(findings, self._study.text)
        ]


def case_with(study: Study, number: int, values: Mapping[str, float]) -> Case:
    """Case `number` of `study` with some keys at other values; for many values: `VariedCase`."""
    return VariedCase(study, number, list(values)).at(*values.values())


def own_value(study: Study, number: int, key: str) -> float:
    """What case `number` of `study` itself gives a key that holds a number; NaN where none."""
    path = resolve(key)
    assert path is not None
    value = value_at(study.cases[number].scenario.model_dump(by_alias=True), path)
    return float(value) if isinstance(value, int | float) else math.nan
