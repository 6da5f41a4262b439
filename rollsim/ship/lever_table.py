"""KN tabulated: the one form in which compiled code and engines read the levers of any kind.

Value, slope and curvature on a uniform grid of heels; between two rows the quintic through both
ends. A second axis carries the effective wave elevation where the levers change with it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.levers import Levers
from rollsim.ship.liquid import FillingLevers
from rollsim.ship.wave_levers import WaveLevers

Floats = NDArray[np.float64]

WIDEST_STEP = math.radians(0.1)
MOST_ROWS = 1 << 18
LEVER_ERROR = 1e-10
"""How far a lever from the table may be off [m]: nothing that any roll could show."""
LIQUID_ERROR = 1e-7
"""The same with liquid in tanks, whose lever bends where a surface comes to a corner."""
KINK = 1.4e-3
"""The quintic over a cell misses a jump J of the third derivative in it by at most KINK J step³."""


class LeverTable(NamedTuple):
    """KN over elevation and heel.

    `kn` (levels, rows, 3): value [m], slope [m/rad] and curvature [m/rad²]; row `upright` lies at
    heel 0 exactly, rows are `step` [rad] apart. Level j holds for the elevation first_level + j
    level_step [m]; levels differ where the levers change with the wave. Two levels are a straight
    line that goes on; of more the first and the last hold beyond them.
    """

    kn: Floats
    step: float
    upright: int
    first_level: float = 0.0
    level_step: float = 1.0

    @property
    def still(self) -> int:
        """The level of still water."""
        return round(-self.first_level / self.level_step)

    @property
    def heel(self) -> Floats:
        """Heels of the rows [rad]; the last of a side may lie past its levers."""
        return np.asarray(self.step * (np.arange(self.kn.shape[1]) - self.upright))


def even_rows(levers: Levers, longest: float) -> tuple[int, int, float]:
    """Rows to port and to starboard of upright, and their distance [rad], at most `longest`.

    On a curve that is the same to both sides the last rows stand at its ends exactly.
    """
    sides = -levers.heel_min, levers.heel_max
    port, starboard = (max(1, math.ceil(side / longest - 1e-9)) for side in sides)
    return port, starboard, max(sides[0] / port, sides[1] / starboard)


def tabulated(
    levers: Levers,
    longest: float | None = None,
    gm_per_m: float = 0.0,
    waves: WaveLevers | None = None,
) -> LeverTable:
    """The table of `levers`, rows at most `longest` [rad] apart, by default as fine as they need.

    `gm_per_m`: KN(φ, ζ) = KN(φ) + gm_per_m ζ sin φ, linear in the elevation ζ, hence two levels;
    `waves` has levels of its own instead.
    """
    port, starboard, step = even_rows(levers, longest or fine_step(levers))
    heel: Floats = np.asarray(step * np.arange(-port, starboard + 1), dtype=np.float64)
    if waves is not None:
        levels = (replace(level, liquid=levers.liquid) for level in waves.levels)
        rows = np.stack([_rows(level, heel) for level in levels])
        return LeverTable(rows, step, port, waves.first, waves.step)
    calm = _rows(levers, heel)
    if gm_per_m == 0.0:
        return LeverTable(calm[None], step, port)
    sine = np.stack([np.sin(heel), np.cos(heel), -np.sin(heel)], axis=1)
    return LeverTable(np.stack([calm, calm + gm_per_m * sine]), step, port)


def _rows(levers: Levers, heel: Floats) -> Floats:
    """Value, slope and curvature at the heels of the rows (n, 3).

    Past an end the lever goes on straight for the part of a step that is left.
    """
    known = np.clip(heel, levers.heel_min, levers.heel_max)
    beyond = heel - known
    slope = levers.slope(known)
    rows = [
        levers.kn(known) + slope * beyond,
        slope,
        np.where(beyond == 0.0, levers.curvature(known), 0.0),
    ]
    return _mirrored(np.stack(rows, axis=1))


def filled_rows(filling: FillingLevers, table: LeverTable, last: str = "curvature") -> Floats:
    """What tanks that fill add, in the rows of `table`: (states, rows, 3).

    Value [m], slope [m/rad] and, as `last`, curvature or "integral".
    """
    columns = [0, 1, 3 if last == "integral" else 2]
    heel = table.heel
    rows = np.array([np.stack(filling.state(i).numbers(heel), -1) for i in range(filling.states)])
    if filling.start:
        rows -= np.stack(filling.start.numbers(heel), -1)
    return np.ascontiguousarray(rows[:, :, columns])


def _mirrored(rows: Floats) -> Floats:
    """The rows of a hull that is alike on both sides, alike to the last bit: else as they are.

    KN and its curvature are odd, its slope is even; what rounding made of that would let a ship
    roll otherwise to port than to starboard.
    """
    other = rows[::-1] * np.array([-1.0, 1.0, -1.0])
    scale = np.maximum(1.0, np.abs(rows).max(axis=0))
    alike = rows.shape[0] % 2 == 1 and bool(np.all(np.abs(rows - other) <= 1e-9 * scale))
    return np.asarray(0.5 * (rows + other)) if alike else rows


def fine_step(levers: Levers) -> float:
    """Distance of rows [rad] from which the levers come back within LEVER_ERROR.

    Knots of a spline that fall on rows cost nothing; others are kinks of the curvature. The smooth
    kinds are asked between the rows.
    """
    step = WIDEST_STEP
    while not _good(levers, step) and (levers.heel_max - levers.heel_min) / step < MOST_ROWS:
        step *= 0.5
    return step


def _good(levers: Levers, longest: float) -> bool:
    step = even_rows(levers, longest)[2]
    knots = levers.knots[1:-1] / step
    off_rows = np.abs(knots - np.round(knots)) > 1e-7
    jump = 6.0 * np.abs(np.diff(levers.coefficients[0])) if knots.size else np.zeros(0)
    if np.any(KINK * jump[off_rows] * step**3 > LEVER_ERROR):
        return False
    first, last = math.ceil(levers.heel_min / step), math.floor(levers.heel_max / step)
    heel: Floats = np.asarray(step * np.arange(first, last), dtype=np.float64)
    if levers.liquid is not None:
        return _good_with_liquid(levers, heel, step)
    between = _quintic_middle(levers, heel, step)
    miss = np.abs(between - levers.kn(heel + 0.5 * step))
    has_knot = np.zeros(heel.size, dtype=bool)
    cells = np.floor(levers.knots / step - heel[0] / step).astype(int) if knots.size else []
    has_knot[[cell for cell in cells if 0 <= cell < heel.size]] = True
    return bool(np.all(miss[~has_knot] <= LEVER_ERROR))


def _good_with_liquid(levers: Levers, heel: Floats, step: float) -> bool:
    """Whether cells hold within LIQUID_ERROR, those in which a surface comes to a corner too."""
    miss = np.abs(_quintic_middle(levers, heel, step) - levers.kn(heel + 0.5 * step))
    return bool(np.all(miss <= LIQUID_ERROR))


def _quintic_middle(levers: Levers, heel: Floats, step: float) -> Floats:
    """What the table gives in the middle between rows at `heel` and `heel` + `step`."""
    left, right = heel, np.minimum(heel + step, levers.heel_max)
    # One end after the other: moving liquid gives all its numbers of some heels at once.
    ends = [[each(heel) for each in (levers.kn, levers.slope, levers.curvature)]
            for heel in (left, right)]  # fmt: skip
    value, slope = 0.5 * (ends[0][0] + ends[1][0]), ends[0][1] - ends[1][1]
    curvature = ends[0][2] + ends[1][2]
    return np.asarray(value + 5.0 / 32.0 * step * slope + step * step / 64.0 * curvature)
