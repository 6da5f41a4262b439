"""What is compared with what: the cases of one or several results, as loadings in common storms."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.measures.comparison import Comparison, compare, holm
from rollsim.measures.probability import Pair, pairs
from rollsim.names import Outcome
from rollsim.show.query import cases, inputs
from rollsim.show.tables.summary import counted

if TYPE_CHECKING:
    import xarray as xr

SHOWN = 0.05
"""A difference is called shown where its p-value, raised for all comparisons, is below this."""
SHIP = "ship."
"""Axes whose key begins like this make a loading; all others make the circumstances."""
STORM_KEYS = ("duration_s", "settle_s", "seed")


@dataclass(frozen=True, eq=False)
class Source:
    """A result, the name of its file, "" for one in memory, and the SHA-256 of that file."""

    ds: xr.Dataset
    name: str = ""
    digest: str = ""


@dataclass(frozen=True, eq=False)
class Entry:
    """One case of a source: the loading that it stands for."""

    ds: xr.Dataset
    case: int
    loading: str

    @property
    def random(self) -> bool:
        """Whether anything differs between its runs."""
        return bool(np.isfinite(cases.number(self.ds, "failure_probability", case=self.case)))


@dataclass(frozen=True, eq=False)
class Group:
    """Loadings under the same circumstances; where these are random, in the same storms."""

    circumstances: str
    entries: tuple[Entry, ...]

    @property
    def random(self) -> bool:
        """Whether its runs can be counted as chances."""
        return all(entry.random for entry in self.entries)


class Duel(NamedTuple):
    """Entries `a` and `b` of a group compared; `p_value` raised for all duels of the group."""

    a: int
    b: int
    pair: Pair
    comparison: Comparison
    p_value: float


def line_up(sources: Sequence[Source]) -> list[Group]:
    """All cases by their circumstances, in the order in which they come."""
    names = _names(sources)
    groups: dict[tuple[str, str], list[Entry]] = {}
    met: dict[str, list[str]] = {}
    for source, name in zip(sources, names, strict=True):
        storms = _storms(source.ds)
        met.setdefault(storms, []).append(name)
        for case in range(source.ds.sizes["case"]):
            loading, circumstances = _labels(source.ds, case)
            entry = Entry(source.ds, case, _loading(name, loading))
            groups.setdefault((storms, circumstances), []).append(entry)
    return [
        Group(_circumstances(words, met[storms] if len(met) > 1 else []), tuple(entries))
        for (storms, words), entries in groups.items()
    ]


def _loading(name: str, loading: str) -> str:
    """What an entry is called: by its loading, by its file, or by both."""
    if name and loading:
        return f"{loading} ({name})"
    return loading or name or "base"


def _circumstances(words: str, files: Sequence[str]) -> str:
    """What a group is called; where files met different storms, with the files that met these."""
    said = words or "as in the scenario"
    return f"{said}, storms of {' and '.join(files)}" if files else said


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
    loading = [] if set(cases.conditions(ds)) == {"base"} else [condition]
    circumstances: list[str] = []
    for axis in cases.sweep_axes(ds):
        ours = str(ds[axis].attrs.get("scenario_key", "")).startswith(SHIP)
        (loading if ours else circumstances).append(cases.place_text(ds, axis, case))
    return ", ".join(loading), ", ".join(circumstances)


def _storms(ds: xr.Dataset) -> str:
    """What must be the same in two results for their storms to be the same ones, as text."""
    held = inputs.scenario(ds)
    run: Any = held.get("run", {})
    clock = {key: run.get(key) for key in STORM_KEYS} if isinstance(run, dict) else {}
    return json.dumps([held.get("sea"), held.get("wind"), clock], sort_keys=True, default=str)


def duels(group: Group) -> list[Duel]:
    """Every entry of a group against every other, over the storms that both have met."""
    outcomes = [counted(entry.ds, entry.case) for entry in group.entries]
    found = []
    for a, b in combinations(range(len(outcomes)), 2):
        storms = min(outcomes[a].size, outcomes[b].size)
        pair = pairs(outcomes[a][:storms], outcomes[b][:storms])
        found.append((a, b, pair, compare(pair)))
    raised = holm([comparison.p_value for *_, comparison in found])
    return [Duel(*held, float(p)) for held, p in zip(found, raised, strict=True)]


def ranking(group: Group) -> list[int]:
    """The entries from the safest on: by failure probability, equal ones as they come."""
    chance = [cases.number(e.ds, "failure_probability", case=e.case) for e in group.entries]
    return sorted(range(len(chance)), key=lambda i: (not np.isfinite(chance[i]), chance[i]))


def shown(duel: Duel) -> bool:
    """Whether a difference of the two is more than chance makes."""
    return duel.p_value < SHOWN


def verdict(duel: Duel, a: str, b: str) -> str:
    """Which of two loadings is safer and in how many storms, or that no difference is shown."""
    pair = duel.pair
    discordant = pair.only_a + pair.only_b
    safer, other = (a, b) if pair.only_a <= pair.only_b else (b, a)
    storms = f"{discordant} discordant storm" + "s" * (discordant != 1)
    count = max(pair.only_a, pair.only_b)
    if shown(duel):
        return f"{safer} safer than {other} in {count} of {storms}"
    if discordant == 0:
        return "no difference shown, no discordant storm"
    return f"no difference shown, {safer} safer in {count} of {storms}"


class Storm(NamedTuple):
    """A realisation under the circumstances of one group, and how many loadings it was bad for."""

    group: int
    realisation: int
    capsized: int
    failed: int
    roll: float


def worst_storms(groups: Sequence[Group], most: int) -> list[Storm]:
    """The storms from the worst on: most capsizes, then most failures, then greatest |roll|."""
    found = [storm for place in range(len(groups)) for storm in _worst(groups[place], place, most)]
    return sorted(found, key=lambda storm: (-storm.capsized, -storm.failed, -storm.roll))[:most]


def _worst(group: Group, place: int, most: int) -> list[Storm]:
    held = [_severity(entry) for entry in group.entries]
    runs = min(roll.size for *_, roll in held) if group.random else 1
    capsized, failed, roll = (
        np.array([each[i][:runs] for each in held], dtype=np.float64) for i in range(3)
    )
    counts = capsized.sum(axis=0), failed.sum(axis=0), roll.max(axis=0)
    order = np.lexsort([-count for count in reversed(counts)])[:most]
    return [
        Storm(place, int(run), int(counts[0][run]), int(counts[1][run]), float(counts[2][run]))
        for run in order
    ]


def _severity(entry: Entry) -> tuple[NDArray[Any], NDArray[Any], NDArray[np.float64]]:
    """Of every run of an entry whether it capsized, whether it failed, and its greatest |roll|."""
    solved = cases.solved(entry.ds, entry.case)
    outcome = cases.values(entry.ds, "outcome", case=entry.case)
    roll = np.nan_to_num(np.abs(cases.worst_roll(entry.ds, entry.case)))
    return (
        solved & (outcome == Outcome.CAPSIZED),
        solved & (outcome >= Outcome.ROLL_LIMIT),
        np.where(solved, roll, 0.0),
    )
