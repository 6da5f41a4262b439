"""Where liquid lies in the cells of tanks of any form as the ship heels."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.hull.form import Sections
from rollsim.ship.tanks.base import BoxCell, Cell
from rollsim.ship.tanks.box import settled

Floats = NDArray[np.float64]


class Moved(NamedTuple):
    """How far the centroid has moved from upright [m], arrays (.., cells).

    `across` along the horizontal and `up` along the vertical of the earth, which turn with heel;
    `moving` what the surface adds to d across/dφ [m], `widening` how that changes [m/rad].
    """

    across: Floats
    up: Floats
    moving: Floats
    widening: Floats


@dataclass(frozen=True, eq=False)
class Cells:
    """The cells of some tanks, one after the other."""

    each: tuple[Cell, ...]

    @cached_property
    def boxes(self) -> NDArray[np.intp]:
        """Which are rectangles."""
        return np.flatnonzero([isinstance(cell, BoxCell) for cell in self.each])

    @cached_property
    def box_sizes(self) -> tuple[Floats, Floats]:
        """Breadths and heights of the rectangles [m]."""
        boxes = [cell for cell in self.each if isinstance(cell, BoxCell)]
        breadth, height = (np.array([box[i] for box in boxes]) for i in (0, 1))
        return breadth, height

    @property
    def all_boxes(self) -> bool:
        """Whether none has sections."""
        return self.boxes.size == len(self.each)

    def moved(self, filling: Floats, heel: Floats) -> Moved:
        """Liquid at fillings (.., cells) and heels (.., 1) [rad]."""
        boxes = _in_boxes(*self.box_sizes, filling[..., self.boxes], heel)
        if self.all_boxes:
            return boxes
        shape = (*np.broadcast_shapes(filling.shape[:-1], heel.shape[:-1]), len(self.each))
        whole = Moved(*(np.empty(shape) for _ in Moved._fields))
        for values, of_boxes in zip(whole, boxes, strict=True):
            values[..., self.boxes] = of_boxes
        for i, cell in enumerate(self.each):
            if isinstance(cell, Sections):
                share, phi = np.broadcast_arrays(filling[..., i], heel[..., 0])
                for values, of_cell in zip(whole, _in_sections(cell, share, phi), strict=True):
                    values[..., i] = of_cell
        return whole


def _in_boxes(breadth: Floats, height: Floats, filling: Floats, heel: Floats) -> Moved:
    at = settled(breadth, height, filling, heel)
    sine, cosine = np.sin(heel), np.cos(heel)
    lifted = at.z - 0.5 * height * (filling - 1.0)
    area = filling * breadth * height
    area = np.where(area > 0.0, area, 1.0)  # nothing moves in an empty one
    return Moved(
        at.y * cosine + lifted * sine,
        -at.y * sine + lifted * cosine,
        at.surface**3 / (12.0 * area),
        at.surface**2 * at.widening / (4.0 * area),
    )


def _in_sections(cell: Sections, filling: Floats, heel: Floats) -> Moved:
    from rollsim.ship.tanks.sections import settled_rows  # compiled: only who needs it pays

    form = cell.along, cell.share, cell.first, cell.y, cell.z
    shares, which = np.unique(filling, return_inverse=True)
    y0, z0 = settled_rows(*form, shares, np.zeros(shares.size)).T[:2, which.ravel()]
    flat = np.ascontiguousarray(heel).ravel()
    w, v, moving, widening = settled_rows(*form, np.ascontiguousarray(filling).ravel(), flat).T
    sine, cosine = np.sin(flat), np.cos(flat)
    rows = w - (y0 * cosine + z0 * sine), v - (z0 * cosine - y0 * sine), moving, widening
    return Moved(*(each.reshape(heel.shape) for each in rows))
