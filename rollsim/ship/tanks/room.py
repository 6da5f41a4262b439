"""Whether a tank has room: what of it sticks out of the hull, or lies within another tank.

Between two stations an outline is taken to change evenly, at equal shares of its height.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.hull.form import Box, Station

Floats = NDArray[np.float64]

LEAST = 0.005
"""How far [m] a tank may stick out, or two overlap, without a word: the rounding of drawings."""
ROUNDING = 1e-9


class Outside(NamedTuple):
    """Where a tank sticks out of the hull most: by how much, `along`, `across`, `height` [m]."""

    by: float
    along: float
    across: float
    height: float


class _Slice(NamedTuple):
    """An outline between two stations: the share of the way from one to the other."""

    aft: Floats
    fore: Floats
    part: float

    @property
    def heights(self) -> tuple[float, float]:
        """Its lowest and its highest point [m]."""
        low, high = (
            (1.0 - self.part) * limit(self.aft[:, 1]) + self.part * limit(self.fore[:, 1])
            for limit in (np.min, np.max)
        )
        return float(low), float(high)

    def reach(self, height: Floats) -> Floats:
        """Its outermost points to port and to starboard at heights (n) [m]: (2, n)."""
        low, high = self.heights
        share = (height - low) / (high - low) if high > low else np.zeros(height.size)
        aft, fore = (_reach(each, share) for each in (self.aft, self.fore))
        return (1.0 - self.part) * aft + self.part * fore


def _reach(outline: Floats, share: Floats) -> Floats:
    """Outermost points of an outline at shares of its height."""
    y, z = outline.T
    low, high = z.min(), z.max()
    height = np.clip(low + share * (high - low), low, high)[:, None]
    ends = np.roll(y, -1), np.roll(z, -1)
    crosses = (np.minimum(z, ends[1]) <= height) & (height <= np.maximum(z, ends[1]))
    rise = ends[1] - z
    level = rise == 0.0
    part = np.where(level, 0.0, (height - z) / np.where(level, 1.0, rise))
    across = y + part * (ends[0] - y)
    port = np.where(crosses, across, np.inf).min(axis=1)
    starboard = np.where(crosses, across, -np.inf).max(axis=1)
    return np.stack((port, starboard))


def _slice(stations: Sequence[Station], along: float) -> _Slice:
    """The outline at a place between the first and the last of the stations."""
    places = [station.along for station in stations]
    after = int(np.clip(np.searchsorted(places, along), 1, len(places) - 1))
    if places[after] == places[after - 1]:  # a step: its fore side
        after = min(after + 1, len(places) - 1)
    aft, fore = stations[after - 1], stations[after]
    gap = fore.along - aft.along
    part = (along - aft.along) / gap if gap > 0.0 else 0.0
    return _Slice(aft.outline, fore.outline, min(max(part, 0.0), 1.0))


def outside(
    tank: Sequence[Station], hull: Sequence[Station], boxes: Sequence[Box] = ()
) -> Outside | None:
    """Where a tank sticks out of a hull and the buoyant boxes on it most; None where it does not.

    Looked for at the stations of both, at the height of every corner.
    """
    first, last = hull[0].along, hull[-1].along
    ends = tank[0].along, tank[-1].along
    worst = Outside(0.0, 0.0, 0.0, 0.0)
    for beyond, end in ((first - ends[0], ends[0]), (ends[1] - last, ends[1])):
        if beyond > worst.by:
            low, high = _slice(tank, end).heights
            worst = Outside(beyond, end, 0.0, 0.5 * (low + high))
    inner = [station.along for station in hull if ends[0] < station.along < ends[1]]
    for along in sorted({station.along for station in tank} | set(inner)):
        if first <= along <= last:
            here = _outside_at(along, tank, hull, boxes)
            worst = here if here.by > worst.by + ROUNDING else worst
    return worst if worst.by > LEAST else None


def _outside_at(
    along: float, tank: Sequence[Station], hull: Sequence[Station], boxes: Sequence[Box]
) -> Outside:
    own, around = _slice(tank, along), _slice(hull, along)
    heights, ports, starboards = _outline(own, around)
    corners = np.stack((np.append(ports, starboards), np.tile(heights, 2)), axis=1)
    levels, port, starboard = _outline(around, own, whole=True)
    y, z = corners.T
    out = (y < np.interp(z, levels, port)) | (y > np.interp(z, levels, starboard))
    out |= (z < levels[0]) | (z > levels[-1])
    ring = np.concatenate((np.stack((starboard, levels), 1), np.stack((port, levels), 1)[::-1]))
    miss = np.where(out, _distances(corners, ring), 0.0)
    for box in boxes:
        if box.aft <= along <= box.fore:
            within = np.all((corners >= box.corners[0]) & (corners <= box.corners[2]), axis=1)
            miss[within] = 0.0
    which = int(np.argmax(miss))
    return Outside(float(miss[which]), along, *map(float, corners[which]))


def _outline(at: _Slice, other: _Slice, *, whole: bool = False) -> tuple[Floats, Floats, Floats]:
    """Heights of the corners of two outlines, and the one's outermost points there."""
    low, high = at.heights
    corners = np.concatenate([at.aft, at.fore, other.aft, other.fore])[:, 1]
    inner = corners[(corners > low) & (corners < high)]
    if whole:  # corners of its own, however high it stands between its stations
        own = [each[:, 1] for each in (at.aft, at.fore)]
        shares = [(z - z.min()) / np.ptp(z) for z in own if np.ptp(z) > 0.0]
        inner = np.concatenate([inner, *(low + share * (high - low) for share in shares)])
    height = np.unique(np.append(inner, (low, high)))
    return height, *at.reach(height)


def _distances(points: Floats, ring: Floats) -> Floats:
    """Of points (n, 2) from the sides of a closed outline [m]."""
    side = np.roll(ring, -1, axis=0) - ring
    square = np.maximum(np.sum(side**2, axis=1), 1e-300)
    to = points[:, None] - ring
    part = np.clip(np.sum(to * side, axis=2) / square, 0.0, 1.0)
    return np.asarray(np.linalg.norm(to - part[..., None] * side, axis=2).min(axis=1))


def overlap(one: Sequence[Station], other: Sequence[Station]) -> bool:
    """Whether two tanks share a place: looked for between the corners of both."""
    both = one, other
    aft, fore = max(each[0].along for each in both), min(each[-1].along for each in both)
    stations = {station.along for each in both for station in each}
    places = sorted({aft, fore, *(along for along in stations if aft < along < fore)})
    middles = [0.5 * (a + b) for a, b in pairwise(places)]
    return fore - aft > LEAST and any(_overlap_at(along, one, other) for along in middles)


def _overlap_at(along: float, one: Sequence[Station], other: Sequence[Station]) -> bool:
    slices = [_slice(each, along) for each in (one, other)]
    low = max(each.heights[0] for each in slices)
    high = min(each.heights[1] for each in slices)
    if high - low <= LEAST:
        return False
    corners = np.concatenate([part for each in slices for part in (each.aft, each.fore)])[:, 1]
    heights = np.unique(np.append(corners[(corners > low) & (corners < high)], (low, high)))
    middles = 0.5 * (heights[1:] + heights[:-1])
    spans = [_spans(each, height) for each in slices for height in middles]
    return any(
        min(a[1], b[1]) - max(a[0], b[0]) > LEAST
        for first, second in zip(spans[: middles.size], spans[middles.size :], strict=True)
        for a in first
        for b in second
    )


def _spans(at: _Slice, height: float) -> Floats:
    """From where to where an outline holds something at a height (n, 2) [m].

    Where its two stations do not agree in their number, from side to side.
    """
    low, high = at.heights
    share = (height - low) / (high - low)
    crossings = [_crossings(each, share) for each in (at.aft, at.fore)]
    if crossings[0].size != crossings[1].size or crossings[0].size % 2:
        return at.reach(np.array([height])).T
    across = (1.0 - at.part) * crossings[0] + at.part * crossings[1]
    return across.reshape(-1, 2)


def _crossings(outline: Floats, share: float) -> Floats:
    y, z = outline.T
    height = z.min() + share * np.ptp(z)
    y1, z1 = np.roll(y, -1), np.roll(z, -1)
    crosses = (z <= height) != (z1 <= height)
    part = (height - z[crosses]) / (z1 - z)[crosses]
    return np.asarray(np.sort(y[crosses] + part * (y1 - y)[crosses]))
