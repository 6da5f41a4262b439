"""What a tank of any form tells: how much it holds, where the liquid lies upright, its surface.

SI units; y to starboard, z upwards from the keel. The surface is level and at rest: it follows the
heel at once. Longitudinal bulkheads part a tank into cells that are filled to one height upright.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.hull.form import Sections, Station

Floats = NDArray[np.float64]


class BoxCell(NamedTuple):
    """Cells of one rectangular section [m], alike from end to end."""

    breadth: float
    height: float


Cell = BoxCell | Sections
"""Where liquid moves across by itself: a rectangle, or sections with their shares of the length."""


class Contents(NamedTuple):
    """Of each cell of a tank, arrays (cells,): mass [kg], filling from 0 to 1, ρ i [kg m]."""

    mass: Floats
    filling: Floats
    moment: Floats


class Centroid(NamedTuple):
    """Where the liquid's centroid lies upright [m]."""

    along: float
    across: float
    height: float


class Tank(Protocol):
    """A tank; a `filling` goes from 0 to 1, heights count from the keel [m]."""

    @property
    def density(self) -> float:
        """Density of the liquid [kg/m³]."""

    @property
    def bottom(self) -> float:
        """Its lowest point [m]."""

    @property
    def top(self) -> float:
        """Its highest point [m]."""

    @property
    def volume(self) -> float:
        """What it holds, structure left out [m³]."""

    @property
    def capacity(self) -> float:
        """Mass of the liquid that fills it [kg]."""

    @property
    def stations(self) -> tuple[Station, ...]:
        """Its form: sections from aft to fore."""

    @property
    def cells(self) -> tuple[Cell, ...]:
        """The cells between its bulkheads; those that are alike may stand as one."""

    def surface_height(self, filling: float) -> float:
        """Height of the surface upright [m]."""

    def volume_to(self, height: float) -> float:
        """Volume of the liquid whose surface stands at a height upright [m³]."""

    def surface_area(self, height: float) -> float:
        """Area of the surface at a height upright, structure left out [m²]."""

    def centroid(self, filling: float) -> Centroid:
        """Where the liquid lies upright."""

    def contents(self, filling: float) -> Contents:
        """What each cell holds."""

    def free_surface_moment(self, filling: float) -> float:
        """ρ i of all cells [kg m]; 0 where none is slack."""

    def own_square(self, filling: float) -> float:
        """Square of the liquid's radius of gyration in roll about its own middle [m²]."""

    def slosh_period(self, filling: float) -> float:
        """Longest period [s] at which the liquid sloshes across a cell; NaN unless slack."""
