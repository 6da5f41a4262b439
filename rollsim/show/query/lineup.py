"""What is compared with what: the cases of one or several results, as loadings in common storms."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from rollsim.measures.comparison import Comparison, compare, holm
from rollsim.measures.outcome import Event, tally, worst_first
from rollsim.measures.probability import Pair, pairs
from rollsim.show.query import cases, runs

if TYPE_CHECKING:
    import xarray as xr

SHOWN = 0.05
"""A difference is called shown where its p-value, raised for all comparisons, is below this."""
SHIP = "ship."
"""Axes whose key begins like this make a loading; all others make the circumstances."""


@dataclass(frozen=True, eq=False)
class Source:
    """A result, the name of its file, "" for one in memory, and the SHA-256 of that file."""

    ds: xr.Dataset
    name: str = ""
    digest: str = ""


@dataclass(frozen=True, eq=False)
class Loading:
    """One case of a source, and the name of the loading that it stands for."""

    ds: xr.Dataset
    case: int
    name: str

    @property
    def random(self) -> bool:
        """Whether anything differs between its runs; not denied where none of them is solved."""
        chance = cases.number(self.ds, "failure_probability", case=self.case)
        unknown = not runs.solved(self.ds, self.case).any() and cases.random(self.ds)
        return bool(np.isfinite(chance)) or unknown

    @property
    def early(self) -> float:
        """The share of its solved runs that passed a limit before settle_s."""
        return float(cases.early_shares(self.ds)[self.case])


@dataclass(frozen=True, eq=False)
class Group:
    """Loadings under the same circumstances; where these are random, in the same storms."""

    circumstances: str
    loadings: tuple[Loading, ...]

    @property
    def random(self) -> bool:
        """Whether its runs can be counted as chances."""
        return all(loading.random for loading in self.loadings)


class Duel(NamedTuple):
    """Loadings `a` and `b` of a group compared; `p_value` raised for all duels of the group."""

    a: int
    b: int
    pair: Pair
    comparison: Comparison
    p_value: float


def line_up(sources: Sequence[Source]) -> list[Group]:
    """All cases by their circumstances, in the order in which they come.

    Cases of one group met the same weather, by the digest that the result holds of it.
    """
    groups: dict[tuple[str, str], list[tuple[str, Loading]]] = {}
    for source, name in zip(sources, _names(sources), strict=True):
        for case in range(source.ds.sizes["case"]):
            loading, words = _labels(source.ds, case)
            one = Loading(source.ds, case, _loading(name, loading))
            groups.setdefault((storms(source.ds, case), words), []).append((name, one))
    alike = Counter(words for _, words in groups)
    return [
        Group(
            _circumstances(words, members if alike[words] > 1 else []),
            tuple(loading for _, loading in members),
        )
        for (_, words), members in groups.items()
    ]


def _loading(name: str, loading: str) -> str:
    """What a loading is called: by its own name, by its file, or by both."""
    if name and loading:
        return f"{loading} ({name})"
    return loading or name or "base"


def _circumstances(words: str, members: Sequence[tuple[str, Loading]]) -> str:
    """What a group is called; where others are called so too, with whose storms these are."""
    name = words or "as in the scenario"
    if not members:
        return name
    whose = dict.fromkeys(file or loading.name for file, loading in members)
    return f"{name}, storms of {' and '.join(whose)}"


def _names(sources: Sequence[Source]) -> list[str]:
    """What tells the sources apart: nothing where there is one, else the stems of their files."""
    if len(sources) == 1:
        return [""]
    stems = [Path(source.name).stem or "result" for source in sources]
    twice = {stem for stem, count in Counter(stems).items() if count > 1}
    return [f"{stem} {i + 1}" if stem in twice else stem for i, stem in enumerate(stems)]


def _labels(ds: xr.Dataset, case: int) -> tuple[str, str]:
    """The loading of a case, "" for the base alone, and its circumstances."""
    condition = cases.conditions(ds)[case]
    loading = [] if set(cases.conditions(ds)) == {cases.NO_CONDITION} else [condition]
    circumstances: list[str] = []
    for axis in cases.sweep_axes(ds):
        ours = str(ds[axis].attrs.get("scenario_key", "")).startswith(SHIP)
        (loading if ours else circumstances).append(cases.position_text(ds, axis, case))
    return ", ".join(loading), ", ".join(circumstances)


def storms(ds: xr.Dataset, case: int) -> str:
    """What must be the same in two cases for their storms to be the same ones, as text."""
    if "weather_digest" in ds.variables:
        seed, end = ds.attrs.get("seed"), ds["t"].values[-1]
        return f"{ds['weather_digest'].values[case]} {seed} {end}"
    # A result without it: the same storms where the whole scenario is the same, word for word.
    return str(ds.attrs.get("scenario_text", ""))


def duels(group: Group, event: Event) -> list[Duel]:
    """Every loading of a group against every other, over the storms that both have met."""
    outcomes = [cases.values(each.ds, "outcome", case=each.case) for each in group.loadings]
    compared = []
    for a, b in combinations(range(len(outcomes)), 2):
        common = min(outcomes[a].size, outcomes[b].size)
        pair = pairs(outcomes[a][:common], outcomes[b][:common], event)
        compared.append((a, b, pair, compare(pair)))
    raised = holm([comparison.p_value for *_, comparison in compared])
    return [Duel(*numbers, float(p)) for numbers, p in zip(compared, raised, strict=True)]


def ranking(group: Group, event: Event) -> list[int]:
    """The loadings from the safest on: by the event's probability, equal ones as they come.

    One that was lost before anything counts comes after all that are not, and one of which no run
    is solved, which has no probability, last.
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
    return duel.p_value < SHOWN


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
    return f"no difference shown, {safer} safer in {count} of {among}"


class Storm(NamedTuple):
    """A realisation under the circumstances of one group, and how many loadings it was bad for."""

    group: int
    realisation: int
    capsized: int
    failed: int
    roll: float


def worst_storms(groups: Sequence[Group], most: int) -> list[Storm]:
    """The storms from the worst on: most capsizes, then most failures, then greatest |roll|."""
    every = [storm for i, group in enumerate(groups) for storm in _worst(group, i, most)]
    return sorted(every, key=lambda storm: (-storm.capsized, -storm.failed, -storm.roll))[:most]


def _worst(group: Group, position: int, most: int) -> list[Storm]:
    """The worst storms of one group, which is the `position`-th of all."""
    outcomes = [cases.values(each.ds, "outcome", case=each.case) for each in group.loadings]
    common = min(outcome.size for outcome in outcomes) if group.random else 1
    roll = [runs.worst_roll(each.ds, each.case)[:common] for each in group.loadings]
    sums = tally(np.array([outcome[:common] for outcome in outcomes]), np.array(roll), axis=0)
    return [
        Storm(
            position,
            int(run),
            int(sums.capsized[run]),
            int(sums.failed[run]),
            float(sums.roll[run]),
        )
        for run in worst_first(sums)[:most]
    ]
