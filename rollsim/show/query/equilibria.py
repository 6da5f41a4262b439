"""What tables and pictures ask of the file of `rollsim equilibria`."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd
from rollsim.names import unit_text
from rollsim.show.query.cases import name_words

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

EARLY = (BranchEnd.LEVERS, BranchEnd.STEP_TOO_SMALL, BranchEnd.TOO_MANY_POINTS)
"""Ends that no range of the key explains."""
MEETINGS = ("fold", "branching")
NEAR = 12.0
"""Heels [degree] of two folds at neighbouring values of a second key up to which they are one."""


class Rests(NamedTuple):
    """A branch without its padding: value of the key, heel [degree], whether she stays there; why
    it goes no further at either end."""

    value: Floats
    heel: Floats
    stable: NDArray[np.bool_]
    ends: tuple[BranchEnd, BranchEnd]

    @property
    def early_ends(self) -> list[tuple[float, float, BranchEnd]]:
        """Value, heel [degree] and reason of ends within the range; a closed branch has none."""
        places = zip(self.value[[0, -1]], self.heel[[0, -1]], self.ends, strict=True)
        return [(float(v), float(h), why) for v, h, why in places if why in EARLY]

    @property
    def pieces(self) -> list[tuple[slice, bool]]:
        """Runs of points of one stability; neighbours share the point between them."""
        turns = np.flatnonzero(np.diff(self.stable.astype(int))) + 1
        borders = [0, *turns.tolist(), self.stable.size]
        return [
            (slice(a, min(b + 1, self.stable.size)), bool(self.stable[a]))
            for a, b in pairwise(borders)
        ]


def key(ds: xr.Dataset) -> str:
    """The key that the equilibria are followed over."""
    return str(ds.attrs["equilibria_key"])


def unit(ds: xr.Dataset) -> str:
    """The unit of the key as people write it."""
    return unit_text(str(ds["value"].attrs["units"]))


def key_label(ds: xr.Dataset) -> str:
    """The key in words with its unit, for an axis."""
    words = {"ship.gravity.kg_m": "KG", "ship.gravity.off_centre_m": "G off the centreline"}
    word = key(ds).rpartition(".")[2].removesuffix(f"_{ds['value'].attrs['units']}")
    return f"{words.get(key(ds), name_words(word))} [{unit(ds)}]"


def branches(ds: xr.Dataset, case: int) -> list[Rests]:
    """The branches of a case."""
    made = []
    names = ("value", "heel", "stable", "branch_end")
    for value, heel, stable, ends in zip(*(ds[name].values[case] for name in names), strict=True):
        known = np.isfinite(value) & np.isfinite(heel)
        if known.any():
            first, last = (BranchEnd(end) for end in ends)
            made.append(Rests(value[known], heel[known], stable[known] == 1, (first, last)))
    return made


def meetings(ds: xr.Dataset, case: int, kind: str) -> list[tuple[float, float]]:
    """Value and heel [degree] of the folds or branchings of a case."""
    rows = zip(ds[f"{kind}_value"].values[case], ds[f"{kind}_heel"].values[case], strict=True)
    return [(float(value), float(heel)) for value, heel in rows if np.isfinite(value)]


def fold_lines(ds: xr.Dataset, chosen: list[int], axis: str) -> list[tuple[Floats, Floats]]:
    """The lines of folds over a second key `axis`: its values, and those of the key.

    Folds of neighbouring values are one line where their heels are the nearest to each other and
    within NEAR; a crossing of branches is the point in which two such lines meet.
    """
    lines: list[list[tuple[float, float, float]]] = []
    open_lines: list[list[tuple[float, float, float]]] = []
    for case in sorted(chosen, key=lambda case: float(ds[axis].values[case])):
        here = float(ds[axis].values[case])
        met = [(here, *each) for kind in MEETINGS for each in meetings(ds, case, kind)]
        pairs = sorted(
            (abs(line[-1][2] - point[2]), i, j)
            for i, line in enumerate(open_lines)
            for j, point in enumerate(met)
        )
        joined: dict[int, int] = {}
        for apart, i, j in pairs:
            if apart < NEAR and i not in joined and j not in joined.values():
                joined[i] = j
        for i, j in joined.items():
            open_lines[i].append(met[j])
        begun = [[point] for j, point in enumerate(met) if j not in joined.values()]
        lines += begun
        open_lines = [open_lines[i] for i in joined] + begun
    columns = [np.array(line).T for line in lines]
    return [(x, value) for x, value, _ in columns]


def tracks(ds: xr.Dataset, case: int) -> list[tuple[Floats, Floats]]:
    """Value and heel [degree] of the slow changes, there and back."""
    value = ds["track_value"].values[case]
    return [(value, heel) for heel in ds["track_heel"].values[case] if np.isfinite(heel).any()]


def present(ds: xr.Dataset, case: int) -> tuple[float, float] | None:
    """Value and static heel [degree] of the case as it is; None where it has none."""
    value, heel = float(ds["present_value"].values[case]), float(ds["present_heel"].values[case])
    return (value, heel) if np.isfinite(value) and np.isfinite(heel) else None
