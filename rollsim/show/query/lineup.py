"""What is compared with what: the cases of one or several results, as loadings in common storms."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from rollsim.measures.outcome import early_share, tally, worst_first
from rollsim.show.query import cases, runs

if TYPE_CHECKING:
    import xarray as xr

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
    """One case of a source, and the name of the loading that it stands for.

    `kind` is its condition, and its file where there are several; `place` its position on each
    axis of the ship's.
    """

    ds: xr.Dataset
    case: int
    name: str
    kind: str = ""
    place: tuple[tuple[str, float | str], ...] = ()

    @cached_property
    def random(self) -> bool:
        """Whether anything differs between its runs; not denied where none of them is solved."""
        return runs.random(self.ds, self.case)

    @property
    def early(self) -> float:
        """The share of its solved runs that passed a limit before settle_s."""
        early = cases.values(self.ds, "failed_before_settle", case=self.case)
        return float(early_share(cases.values(self.ds, "outcome", case=self.case), early))


@dataclass(frozen=True, eq=False)
class Group:
    """Loadings under the same circumstances; where these are random, in the same storms."""

    circumstances: str
    loadings: tuple[Loading, ...]

    @property
    def random(self) -> bool:
        """Whether the runs of any of its loadings can be counted as chances."""
        return any(loading.random for loading in self.loadings)


def line_up(sources: Sequence[Source]) -> list[Group]:
    """All cases by their circumstances, in the order in which they come.

    Cases of one group met the same weather, by the digest that the result holds of it.
    """
    groups: dict[tuple[str, str], list[tuple[str, Loading]]] = {}
    for source, name in zip(sources, _names(sources), strict=True):
        alone = set(cases.conditions(source.ds)) == {cases.NO_CONDITION}
        axes = cases.sweep_axes(source.ds)
        for case, named in enumerate(cases.conditions(source.ds)):
            condition = "" if alone else named
            place, words = _labels(source.ds, axes, case)
            texts = [condition, *(cases.position_text(source.ds, axis, case) for axis, _ in place)]
            called = _loading(name, ", ".join(text for text in texts if text))
            one = Loading(source.ds, case, called, _loading(name, condition), place)
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


def _labels(
    ds: xr.Dataset, axes: Sequence[str], case: int
) -> tuple[tuple[tuple[str, float | str], ...], str]:
    """The place of a case on the ship's axes, and its circumstances."""
    place: list[tuple[str, float | str]] = []
    circumstances: list[str] = []
    for axis in axes:
        column = ds.variables[axis]
        if str(column.attrs.get("scenario_key", "")).startswith(SHIP):
            place.append((axis, column.values[[case]].tolist()[0]))
        else:
            circumstances.append(cases.position_text(ds, axis, case))
    return tuple(place), ", ".join(circumstances)


def storms(ds: xr.Dataset, case: int) -> str:
    """What must be the same in two cases for their storms to be the same ones, as text."""
    if "weather_digest" in ds.variables:
        seed, end = ds.attrs.get("seed"), ds.variables["t"].values[-1]
        return f"{ds.variables['weather_digest'].values[case]} {seed} {end}"
    # A result without it: the same storms where the whole scenario is the same, word for word.
    return str(ds.attrs.get("scenario_text", ""))


class Storm(NamedTuple):
    """A realisation under the circumstances of one group, and how many loadings it was bad for."""

    group: int
    realisation: int
    capsized: int
    flooded: int
    failed: int
    roll: float


def worst_storms(groups: Sequence[Group], most: int) -> list[Storm]:
    """The storms from the worst on: most capsizes, floodings, failures, then greatest |roll|."""
    every = [storm for i, group in enumerate(groups) for storm in _worst(group, i, most)]
    return sorted(every, key=lambda storm: tuple(-number for number in storm[2:]))[:most]


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
            int(sums.flooded[run]),
            int(sums.failed[run]),
            float(sums.roll[run]),
        )
        for run in worst_first(sums)[:most]
    ]
