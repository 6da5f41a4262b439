"""One case over one key at rest: the residual lever that branches of equilibria are followed by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from rollsim.engines.at_outputs import AtOutputs
from rollsim.scenario import schema
from rollsim.scenario.schema import Equilibria
from rollsim.ship.levers import Levers
from rollsim.ship.rests import Loadings, rests
from rollsim.steady.resting import Point, Residual
from rollsim.study.at_value import VariedCase
from rollsim.study.build import Builder
from rollsim.study.lever_surface import LeverSurface, nodes
from rollsim.study.plan import Plan

Floats = NDArray[np.float64]

NODES = 33
"""Values of the key at which the loading is worked out; in between it is a polynomial."""
EXACT = 1e-9
"""Miss of that polynomial [m] up to which it stands for the loading itself."""
NEAR = 1e-4
"""How far a point of rest may be off by what lies between the nodes [rad, and ranges of the key]:
0.006 degrees."""
LOOKED_AT = 20
"""Points of rest of which that is looked at."""
MOST_NODES = 129
"""Values at which curves are made before every value has its own."""
UNMOVED = 1e-12
"""Change of the lever [m] over the range below which a key moves nothing."""


class Family:
    """One case over a key: the residual lever at the end of its events, in mean wind, no waves."""

    def __init__(self, plan: Plan, case: int, table: Equilibria) -> None:
        self.low, self.high = table.from_, table.to
        self._study, self._spec = plan.study, plan.study.cases[case]
        self._varied = VariedCase(plan.study, case, [table.key])
        made = [self._made(value) for value in self._values(nodes(NODES))]
        self._made_at: dict[float, Loadings] = {}
        self.levers = made[0].levers
        self._law = made[0].law
        columns = np.array([_numbers(each) for each in made])
        grids = [each.levers.grid.heel for each in made]
        self.heels = max(float(g[0]) for g in grids), min(float(g[-1]) for g in grids)
        """Between which heels [rad] the levers are known at every value."""
        heels = np.linspace(*self.heels, 181)
        levers = np.array([each.curves.value(heels) for each in made])
        self.moves = bool(np.ptp(levers, axis=0).max() > UNMOVED)
        series = chebyshev.chebfit(nodes(NODES), columns, NODES - 1)
        one_hull = self._one_hull(made)
        self._series = series if one_hull and self._fits(series) else None
        self._rates = chebyshev.chebder(series) * 2.0 / (self.high - self.low)
        self._surface = None if one_hull else self._through(made)

    def _through(self, made: Sequence[Loadings]) -> LeverSurface:
        self._nodes = len(made)
        ends = self.low, self.high
        return LeverSurface.through(ends, self.heels, [each.curve(0) for each in made])

    def _finer(self) -> LeverSurface | None:
        """A surface through twice the curves; None where these would be too many."""
        count = 2 * self._nodes - 1
        if count > MOST_NODES:
            return None
        return self._through([self._made(value) for value in self._values(nodes(count))])

    def starts(self, count: int) -> list[tuple[float, float]]:
        """Values, both ends and some between, with the heels [rad] at which she rests there."""
        values = np.linspace(self.low, self.high, count).tolist()
        if self._surface is not None:
            return self._surface.rests(values)
        loadings = self.loadings(values)
        return [
            (value, float(heel))
            for value, loading in zip(values, loadings, strict=True)
            for heel in rests(loading).heel
        ]

    def holds(self, points: Sequence[Point]) -> bool:
        """Whether points of rest are those of their own curves, to NEAR.

        Some of them are looked at, evenly along the branches. Where they are not, the lever is that
        of a finer surface from now on, or in the end that of each value's own curve.
        """
        # At an end of the range a tank may be empty or full, and its surface gone at once.
        inner = [point for point in points if self.low < point.value < self.high]
        if self._surface is None or not inner:
            return True
        looked_at = np.linspace(0, len(inner) - 1, min(len(inner), LOOKED_AT)).astype(int)
        near = all(self._off(inner[i]) <= NEAR for i in looked_at)
        if not near:
            self._surface = self._finer()
        return near

    def _off(self, point: Point) -> float:
        """How far a point is from rest by its own curve, in heel [rad] and ranges of the key."""
        lever = float(self._made(point.value).curves.value(point.heel)[0])
        steep = math.hypot(point.by_value * (self.high - self.low), point.by_heel)
        return abs(lever) / steep if steep > 0.0 else 0.0

    def loadings(self, values: Sequence[float]) -> list[Loadings]:
        """The loading at each of some values, as the scenario makes it."""
        return [self._at(value) for value in values]

    @property
    def residual(self) -> Residual:
        """The lever and its slopes; between the nodes by a polynomial where that is exact."""
        if self._series is not None:
            return self._by_series
        return self._surface or self._by_cases

    def _values(self, nodes: Floats) -> Floats:
        return 0.5 * (self.low + self.high) + 0.5 * (self.high - self.low) * nodes

    def _made(self, value: float) -> Loadings:
        # A plain start: where a static heel ends is what is looked for.
        anywhere = {"start": schema.Start()}
        scenario = self._varied.scenario(float(value)).model_copy(update=anywhere)
        builder = Builder(self._study.base, self._study.file)
        builder.add(replace(self._spec, scenario=scenario))
        builder.finish()
        case = builder.cases[0]
        at_end = AtOutputs(replace(case, output_step=case.duration))
        return at_end.loadings.at(slice(-1, None))

    def _at(self, value: float) -> Loadings:
        inside = min(max(value, self.low), self.high)
        if inside not in self._made_at:
            self._made_at[inside] = self._made(inside)
        return self._made_at[inside]

    def _one_hull(self, made: Sequence[Loadings]) -> bool:
        return all(each.levers is self.levers and each.filled is None for each in made)

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


def _numbers(loading: Loadings) -> list[float]:
    return [
        float(each[0])
        for each in (loading.kg, loading.off_centre, loading.wind, loading.lever)
    ]  # fmt: skip


def _loading(levers: Levers, law: str, numbers: Floats) -> Loadings:
    kg, off_centre, wind, lever = numbers
    return Loadings(levers, law, kg, off_centre, wind, lever)
