"""The cases of a study, one by one: what they share is made once, "static" starts are found."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.scenario import schema
from rollsim.scenario.expand.cases import CaseSpec
from rollsim.study.equilibrium import static_heels
from rollsim.study.physics import Once, physics

Floats = NDArray[np.float64]

Made = tuple[int, Case]
"""The number of a kind of case, and its physics without a start."""


class Builder:
    """Turns the cases of a study into physics, one by one; what cases share is made once.

    `kinds` numbers what cases have in common besides their start; `skipped` are the cases without
    a static heel that the scenario wants skipped, not refused.
    """

    def __init__(self, base: schema.Scenario, file: str) -> None:
        self._base, self._file = base, file
        self.cases: list[Case] = []
        self.kinds: list[int] = []
        self.skipped: set[int] = set()
        self._known: dict[tuple[Any, ...], Made] = {}
        self._same: dict[tuple[int, ...], tuple[tuple[Any, ...], Made]] = {}
        self._once = Once()
        self._static: list[tuple[int, CaseSpec]] = []

    def add(self, spec: CaseSpec) -> None:
        """Make one case; a "static" start is found by `finish`."""
        s = spec.scenario
        kind, case = self._shared((s.ship, s.limits, s.wind, s.sea, s.events, s.run), s)
        static, rate = s.start.roll_deg == "static", math.radians(s.start.roll_rate_deg_per_s)
        if static:
            self._static.append((len(self.cases), spec))
        roll = math.nan if static else math.radians(float(s.start.roll_deg))
        self.cases.append(
            replace(
                case,
                index=spec.index,
                condition=spec.condition,
                coordinates=spec.coordinates,
                start=(roll, rate),
            )
        )
        self.kinds.append(kind)

    def _shared(self, parts: tuple[Any, ...], scenario: schema.Scenario) -> Made:
        """What all cases of these parts share: looked for by identity, then by value."""
        key = tuple(id(part) for part in parts)
        if key not in self._same:
            if parts not in self._known:
                case = physics(scenario, self._base, self._once)
                self._known[parts] = len(self._known), case
            # The parts are kept: their identities are not given to others.
            self._same[key] = parts, self._known[parts]
        return self._same[key][1]

    def finish(self) -> None:
        """Find the heels of all "static" starts; InputError where there are none to rest at."""
        faults = []
        asked = [self.cases[i] for i, _ in self._static]
        heels = static_heels(asked)
        for (i, spec), heel in zip(self._static, heels, strict=True):
            case = self.cases[i]
            if abs(heel) < case.limits.capsize:
                self.cases[i] = replace(case, start=(float(heel), case.start[1]))
            elif spec.scenario.start.static_missing == "skip":
                self.skipped.add(i)
            else:
                faults.append(_no_static_heel(case, spec))
        if faults:
            raise InputError(self._file, faults)


def _no_static_heel(case: Case, spec: CaseSpec) -> Fault:
    """What stood against a static start, in numbers."""
    wind = case.heeling.wind
    return Fault(
        "start.roll_deg",
        f'"static", but case {spec.index} ({spec.condition}) has no equilibrium within '
        f"capsize_deg {math.degrees(case.limits.capsize):.4g}: wind lever {wind:.3g} m, "
        f"off-centre G {case.gravity.off_centre:.3g} m, KG {case.gravity.kg:.4g} m",
        'lessen the wind, lower G, give the start angle as a number, or static_missing = "skip"',
    )
