"""The [ship.levers] tables: each kind knows the levers that it describes."""

from __future__ import annotations

from functools import lru_cache
from math import radians
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from rollsim.scenario.schema.base import Table
from rollsim.ship import levers as curves

# A list of the file becomes a tuple; strict would only take a tuple, so it is lax for the container
# alone: the items stay strict by the model's configuration.
Heels = Annotated[tuple[Annotated[float, Field(ge=-180, le=180)], ...], Field(strict=False)]
Levers_m = Annotated[tuple[Annotated[float, Field(gt=-60, lt=60)], ...], Field(strict=False)]
Coefficients = Annotated[
    tuple[Annotated[float, Field(gt=-1e6, lt=1e6)], ...], Field(strict=False, min_length=1)
]

KB = "height of the centre of buoyancy upright above the keel in metres; without it B is not drawn"
HEEL = "angles of heel in degrees, increasing; from 0, or over both sides with 0 among them"
HEEL_MAX = "the heel in degrees up to which the curve holds, on both sides"


class KnLevers(Table):
    """A table of KN against heel at the displacement of the ship."""

    kind: Literal["kn"] = Field(description="a table of KN, the lever about the keel")
    heel_deg: Heels = Field(description=HEEL)
    kn_m: Levers_m = Field(description="KN at each heel in metres, from the keel point")
    km_m: float | None = Field(
        default=None,
        gt=0,
        lt=200,
        description="height of the upright metacentre above the keel in metres; fixes the slope "
        "at 0",
    )
    kb_m: float | None = Field(default=None, ge=0, lt=40, description=KB)

    @property
    def curve(self) -> curves.Levers:
        """The levers through the table; it must have passed its checks."""
        return curves.from_kn_table(np.radians(self.heel_deg), self.kn_m, self.km_m)

    @property
    def known_deg(self) -> float:
        """The heel [degree] up to which levers are known on both sides."""
        return _known_deg(self.heel_deg)

    @property
    def height_of_buoyancy(self) -> float | None:
        """KB upright [m], None where it is not known."""
        return self.kb_m


class GzLevers(Table):
    """A table of righting levers, drawn for one KG."""

    kind: Literal["gz"] = Field(description="a table of GZ, the righting lever for one KG")
    heel_deg: Heels = Field(description=HEEL)
    gz_m: Levers_m = Field(description="GZ at each heel in metres")
    kg_m: float = Field(
        gt=-20,
        lt=60,
        description="the height of G above the keel in metres that the curve was drawn for",
    )
    gm_m: float | None = Field(
        default=None,
        gt=-20,
        lt=200,
        description="metacentric height of that curve in metres; fixes the slope at 0",
    )
    kb_m: float | None = Field(default=None, ge=0, lt=40, description=KB)

    @property
    def curve(self) -> curves.Levers:
        """The levers through the table; it must have passed its checks."""
        heel = np.radians(self.heel_deg)
        return curves.from_gz_table(heel, self.gz_m, self.kg_m, self.gm_m)

    @property
    def known_deg(self) -> float:
        """The heel [degree] up to which levers are known on both sides."""
        return _known_deg(self.heel_deg)

    @property
    def height_of_buoyancy(self) -> float | None:
        """KB upright [m], None where it is not known."""
        return self.kb_m


class WallSidedLevers(Table):
    """The exact lever of a hull with vertical sides."""

    kind: Literal["wall-sided"] = Field(description="the formula of the wall-sided hull")
    km_m: float = Field(
        gt=0, lt=200, description="height of the upright metacentre above the keel in metres"
    )
    bm_m: float = Field(
        gt=0, lt=200, description="metacentric radius upright in metres, from B up to M"
    )
    heel_max_deg: float = Field(gt=0, lt=90, description=HEEL_MAX)

    @property
    def curve(self) -> curves.Levers:
        """The levers of the formula."""
        return curves.wall_sided(self.km_m, self.bm_m, radians(self.heel_max_deg))

    @property
    def known_deg(self) -> float:
        """The heel [degree] up to which levers are known on both sides."""
        return self.heel_max_deg

    @property
    def height_of_buoyancy(self) -> float | None:
        """KB upright [m], None where it is not known."""
        return self.km_m - self.bm_m


class PolynomialLevers(Table):
    """GZ as a polynomial in the heel."""

    kind: Literal["polynomial"] = Field(description="GZ = c1 φ + c2 φ² + ..., φ in radians")
    gz_m_per_rad: Coefficients = Field(
        description="the coefficients c1, c2, c3, ... in metres per power of a radian"
    )
    kg_m: float = Field(
        gt=-20, lt=60, description="the height of G above the keel in metres that GZ holds for"
    )
    heel_max_deg: float = Field(gt=0, le=180, description=HEEL_MAX)
    kb_m: float | None = Field(default=None, ge=0, lt=40, description=KB)

    @property
    def curve(self) -> curves.Levers:
        """The levers of the polynomial."""
        return curves.polynomial(self.gz_m_per_rad, self.kg_m, radians(self.heel_max_deg))

    @property
    def known_deg(self) -> float:
        """The heel [degree] up to which levers are known on both sides."""
        return self.heel_max_deg

    @property
    def height_of_buoyancy(self) -> float | None:
        """KB upright [m], None where it is not known."""
        return self.kb_m


LeverKind = KnLevers | GzLevers | WallSidedLevers | PolynomialLevers
Levers = Annotated[LeverKind, Field(discriminator="kind")]


def _known_deg(heel_deg: tuple[float, ...]) -> float:
    first, last = heel_deg[0], heel_deg[-1]
    return min(-first, last) if first < 0 else last


@lru_cache(maxsize=64)
def levers_of(table: LeverKind) -> curves.Levers:
    """The levers that a [ship.levers] table describes; the tables must have passed their checks."""
    return table.curve
