"""Loadings against each other, storm by storm: which are compared, who is safer, how surely."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise
from typing import NamedTuple

import numpy as np

from rollsim.measures.comparison import Comparison, compare, holm
from rollsim.measures.outcome import Event
from rollsim.measures.probability import Pair, pairs
from rollsim.show.query import cases, runs
from rollsim.show.query.lineup import Group, Loading

SHOWN = 0.05
"""A difference is called shown where its p-value after Holm is below this."""


class Duel(NamedTuple):
    """Loadings `a` and `b` of a group compared; `p_holm` is raised for all duels of the group."""

    a: int
    b: int
    pair: Pair
    comparison: Comparison
    p_holm: float


def compared(group: Group) -> list[tuple[int, int]]:
    """The loadings that are compared: those that differ in one thing.

    In condition or file at the same place on the axes of the ship, or as neighbours along one of
    these. Where nothing is random nothing is compared.
    """
    pairs = [
        (a, b)
        for members in _near(group)
        for a, b in combinations(members, 2)
        if group.loadings[a].kind != group.loadings[b].kind
        and _in_one_place(group.loadings[a], group.loadings[b])
    ]
    return sorted(pairs) + neighbours(group)


def _near(group: Group) -> list[list[int]]:
    """The random loadings in parts, of which each holds all that stand in one place.

    By their places where all have the same axes: a sweep may have more cases than can be tried
    each with each.
    """
    random = [i for i, each in enumerate(group.loadings) if each.random]
    if len({tuple(axis for axis, _ in group.loadings[i].place) for i in random}) > 1:
        return [random]
    at: dict[tuple[tuple[str, float | str], ...], list[int]] = defaultdict(list)
    for i in random:
        at[group.loadings[i].place].append(i)
    return list(at.values())


def _in_one_place(a: Loading, b: Loading) -> bool:
    """Whether two stand at the same values of the axes that both of them have."""
    first, second = dict(a.place), dict(b.place)
    return all(first[axis] == second[axis] for axis in first.keys() & second.keys())


def neighbours(group: Group) -> list[tuple[int, int]]:
    """Loadings of one condition that stand beside each other along one axis of the ship."""
    found = []
    along: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for i, loading in enumerate(group.loadings):
        for axis, _ in loading.place if loading.random else ():
            rest = [str(other) for other in loading.place if other[0] != axis]
            along[(loading.kind, axis, *rest)].append(i)
    for (_, axis, *_), members in along.items():
        values = {i: dict(group.loadings[i].place)[axis] for i in members}
        if not any(isinstance(value, str) for value in values.values()):
            members.sort(key=lambda i: values[i])
        found += list(pairwise(members))
    return found


def differing_axis(group: Group, duel: Duel) -> str:
    """The axis of the ship along which the two are neighbours; empty where they are none."""
    a, b = group.loadings[duel.a], group.loadings[duel.b]
    if a.kind != b.kind:
        return ""
    return next(axis for axis, value in a.place if dict(b.place)[axis] != value)


def duels(group: Group, event: Event) -> list[Duel]:
    """Every comparison of a group, each over the storms that both loadings have met."""
    outcomes = [cases.values(each.ds, "outcome", case=each.case) for each in group.loadings]
    counted = []
    for a, b in compared(group):
        common = min(outcomes[a].size, outcomes[b].size)
        pair = pairs(outcomes[a][:common], outcomes[b][:common], event)
        counted.append((a, b, pair, compare(pair)))
    # A pair without a common storm is no test, and costs the others nothing.
    tested = [i for i, (*_, pair, _) in enumerate(counted) if met(pair)]
    raised = np.full(len(counted), np.nan)
    raised[tested] = holm([counted[i][3].p_value for i in tested])
    return [Duel(*numbers, float(p)) for numbers, p in zip(counted, raised, strict=True)]


def left_out(loading: Loading) -> str:
    """Why a loading cannot be compared, or what stands against it, in words; mostly empty."""
    missing = runs.without_result(loading.ds, loading.case)
    if missing:
        return f"{missing} in any storm"
    if not loading.random:
        return f"nothing is random there, every run {_alike(loading)}"
    return "every run passed a limit before settle_s" if loading.early == 1.0 else ""


def _alike(loading: Loading) -> str:
    """What all runs of a loading without chance came to."""
    return runs.outcome_of(loading.ds, loading.case, 0).label.replace("_", " ")


def ranking(group: Group, event: Event) -> list[int]:
    """The loadings from the safest on: by the event's probability, equal ones as they come.

    One that was lost before anything counts comes after all that are not, and one that has no
    probability, where no run is solved or nothing random, last.
    """
    name = f"{event}_probability"
    chance = [cases.number(each.ds, name, case=each.case) for each in group.loadings]
    early = [each.early for each in group.loadings]
    return sorted(
        range(len(chance)), key=lambda i: (not np.isfinite(chance[i]), early[i] == 1.0, chance[i])
    )


def met(pair: Pair) -> int:
    """The storms in which both of a pair have a result."""
    return pair.only_a + pair.only_b + pair.both + pair.neither


def shown(duel: Duel) -> bool:
    """Whether a difference of the two is more than chance makes."""
    return duel.p_holm < SHOWN


def verdict(duel: Duel, a: str, b: str) -> str:
    """Which of two loadings is safer and in how many storms, or that no difference is shown."""
    pair = duel.pair
    if not met(pair):
        return "not compared, no storm in which both have a result"
    discordant = pair.only_a + pair.only_b
    safer, other = (a, b) if pair.only_a <= pair.only_b else (b, a)
    among = f"{discordant} discordant storm" + "s" * (discordant != 1)
    count = max(pair.only_a, pair.only_b)
    if shown(duel):
        return f"{safer} safer than {other} in {count} of {among}"
    if discordant == 0:
        return "no difference shown, no discordant storm"
    return f"no difference shown, {safer} safer in {count} of {among}{_without_zero(duel)}"


def _without_zero(duel: Duel) -> str:
    """Why no difference is shown where the interval leaves out 0, in words; else nothing."""
    comparison = duel.comparison
    if comparison.lower <= 0.0 <= comparison.upper:
        return ""
    if comparison.p_value < SHOWN:
        return "; shown by this pair alone, not among all comparisons made here"
    return "; the interval, which is approximate, leaves out 0, the exact test does not"
