"""What every panel of an animation is: artists that move, and how they go to a frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from matplotlib.artist import Artist

from rollsim.show.query.section import to_earth
from rollsim.show.query.track import Track

HEADROOM = 1.12
DWARFED = 3.0
"""An axis reaches no further than so many times what the run takes of it."""
NEAR = 25.0
"""Heel [degree] up to which M stays in the detail: beyond it M may be far from G."""
SHOWN_BEYOND = 12.0
"""How much heel [degree] is shown past the angle of vanishing stability."""


class Panel(Protocol):
    """A part of the picture; `artists` move, in this order one over the other."""

    artists: list[Artist]

    def update(self, frame: int) -> None:
        """Put the artists where they belong at a frame."""


Extent = tuple[float, float, float]
"""What a panel shows at least [m]: to either side, from its lowest point, to its highest."""


@dataclass(frozen=True)
class Scale:
    """The limits that all cases of one picture share, so that they can be compared."""

    section: Extent
    """Of the section panel."""
    detail: Extent
    """Of the detail around G."""
    heel: float
    """Greatest heel of the curves [degree]."""
    lever: tuple[float, float]
    roll: float
    rate: float
    """Greatest roll [degree] and its rate relative to the water [degree/s] in the picture."""
    start: float
    end: float
    """Time [s] shown."""


def scale(
    tracks: Sequence[Track], vanishing: float, end: float, near: Sequence[float], escape: float
) -> Scale:
    """The limits for all tracks.

    `vanishing` is the greatest such angle [degree], `near` are limits of the roll, `escape` is the
    greatest rate [degree/s] on an escape line.
    """
    heel = 1.15 * max(float(np.abs(t.heel).max()) for t in tracks)
    whole = max(float(np.abs(t.grid).max()) for t in tracks)
    reach = min(whole, max(heel, vanishing + SHOWN_BEYOND, 30.0))
    roll = max(float(np.abs(t.roll).max()) for t in tracks)
    most = max([roll, 1.0, *(angle for angle in near if angle < 2.0 * roll)])
    across, up = np.max([_reach(t) for t in tracks], axis=0)
    around = max(_detail(t) for t in tracks)
    return Scale(
        (across, -up, up),
        (around, -0.8 * around, 1.9 * around),
        reach,
        _levers(tracks, min(whole, max(heel, vanishing, 15.0))),
        HEADROOM * most,
        HEADROOM * reaching(max(1.0, *(float(np.abs(t.heel_rate).max()) for t in tracks)), escape),
        min(float(t.times[0]) for t in tracks),
        end,
    )


def reaching(run: float, escape: float) -> float:
    """What an axis reaches to: the run, and the escape if the run is not lost beside it."""
    return max(run, min(escape, DWARFED * run))


def _reach(run: Track) -> tuple[float, float]:
    """How far [m] across and up the hull and G come in the run."""
    scene = run.scene
    some = np.unique(np.linspace(0, run.times.size - 1, 200).astype(int))
    points = [
        to_earth(run.ship.outline, scene.roll[i], scene.rise[i], run.ship.draught) for i in some
    ]
    reached = np.abs(np.concatenate([*points, scene.gravity], axis=1))
    across, up = np.fmax.reduce(reached, axis=1)
    return 1.25 * float(across), 1.15 * float(up)


def _detail(run: Track) -> float:
    """Half the width [m] of the detail: nearly all levers of the run, and M, upright and heeled."""
    lever = np.abs(run.scene.lever[np.isfinite(run.scene.lever)])
    most = float(np.quantile(lever, 0.98)) if lever.size else 0.0
    lift = run.ship.free_surface / 0.65
    up = (run.scene.metacentre - run.scene.virtual)[1, np.abs(run.heel) <= NEAR]
    high = float(np.fmax.reduce(up, initial=0.0)) / 1.6
    return max(0.15, 1.4 * most, float(run.gm.max()) / 1.5, float(-run.gm.min()) / 0.6, lift, high)


def _levers(tracks: Sequence[Track], reach: float) -> tuple[float, float]:
    """Least and greatest lever [m] within a heel, of the curves at some moments and heeling."""
    levers = [
        np.concatenate([run.curve(frame)[np.abs(run.grid) <= reach], run.heeling_lever])
        for run in tracks
        for frame in (0, run.times.size // 2, run.times.size - 1)
    ]
    low, high = (float(f.reduce(np.concatenate(levers), initial=0.0)) for f in (np.fmin, np.fmax))
    room = 0.1 * max(high - low, 0.05)
    return low - room, high + room
