"""The [ship.levers] tables: each kind knows the levers that it describes."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import radians
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator
from pydantic.functional_validators import ModelWrapValidatorHandler

from rollsim.scenario.schema.base import File, Table
from rollsim.scenario.schema.curve_file import EMPTY, curves_in
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship import cross_curves
from rollsim.ship import levers as curves

if TYPE_CHECKING:
    pass

# A list of the file becomes a tuple; strict would only take a tuple, so it is lax for the container
# alone: the items stay strict by the model's configuration.
Heels = Annotated[tuple[Annotated[float, Field(ge=-180, le=180)], ...], Field(strict=False)]
Levers_m = Annotated[tuple[Annotated[float, Field(gt=-1e4, lt=1e4)], ...], Field(strict=False)]
"""Levers of a table; a doubt says in one line where they look like centimetres."""
Displacements = Annotated[tuple[Annotated[float, Field(gt=0, lt=2e6)], ...], Field(strict=False)]
Metacentres = Annotated[tuple[Annotated[float, Field(gt=0, lt=200)], ...], Field(strict=False)]
Buoyancies = Annotated[tuple[Annotated[float, Field(ge=0, lt=40)], ...], Field(strict=False)]
Draughts = Annotated[tuple[Annotated[float, Field(ge=0, lt=200)], ...], Field(strict=False)]
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


class CrossCurveLevers(Table):
    """KN over heel and displacement, as stability booklets print them.

    Between displacements a monotone cubic (PCHIP) at fixed heel; nothing is extrapolated. The
    displacement of the case picks its curve.
    """

    kind: Literal["cross-curves"] = Field(description="KN over heel and displacement")
    file: File | None = Field(
        default=None,
        description="a CSV file beside the scenario that holds the curves, in place of the lists: "
        "columns displacement_t, kn_10, kn_20 and so on by heel, optional km_m, kb_m, draught_m",
    )
    heel_deg: Heels = Field(description=HEEL)
    displacement_t: Displacements = Field(
        description="the displacements of the rows in tonnes, increasing"
    )
    kn_m: Annotated[tuple[Levers_m, ...], Field(strict=False)] = Field(
        description="KN in metres, from the keel point: a row for each displacement, in it a value "
        "for each heel"
    )
    km_m: Metacentres | None = Field(
        default=None,
        description="height of the upright metacentre above the keel in metres, one for each "
        "displacement; fixes the slope at 0",
    )
    kb_m: Buoyancies | None = Field(
        default=None,
        description="height of the centre of buoyancy upright above the keel in metres, one for "
        "each displacement; without it B is not drawn",
    )
    draught_m: Draughts | None = Field(
        default=None,
        description="mean draught in metres, one for each displacement; then that of the ship may "
        "be left out",
    )

    @model_validator(mode="wrap")
    @classmethod
    def _with_file(
        cls, given: Any, handler: ModelWrapValidatorHandler[CrossCurveLevers]
    ) -> CrossCurveLevers:
        """Put in the lists of the file, as keys that are left out."""
        if not isinstance(given, dict) or "file" not in given:
            return handler(given)
        file = given["file"]  # a name alone is one that could not be read, which is told
        lists = curves_in(file.text).lists if isinstance(file, NamedFile) else EMPTY
        table = handler(lists | given)
        table.__pydantic_fields_set__.difference_update(lists.keys() - given.keys())
        return table

    @property
    def known_deg(self) -> float:
        """The heel [degree] up to which levers are known on both sides."""
        return _known_deg(self.heel_deg)

    @property
    def regular(self) -> bool:
        """Whether displacements grow and every list is as long as they and the heels ask for."""
        rows, heels = len(self.displacement_t), len(self.heel_deg)
        grows = all(a < b for a, b in pairwise(self.displacement_t))
        lists = (self.kn_m, self.km_m, self.kb_m, self.draught_m)
        long = all(each is None or len(each) == rows for each in lists)
        return rows > 1 and grows and long and all(len(row) == heels for row in self.kn_m)

    def covers(self, displacement: float) -> bool:
        """Whether the curves reach to a displacement [t]."""
        return self.regular and self.displacement_t[0] <= displacement <= self.displacement_t[-1]

    def particulars(self, displacement: float | None) -> dict[str, float]:
        """The draught at a displacement [t], where the curves carry it."""
        if self.draught_m is None or displacement is None:
            return {}
        if not self.covers(displacement):
            raise ValueError(displacement)
        return {"draught_m": self.height("draught_m", displacement) or 0.0}

    def row(self, index: int) -> KnLevers:
        """The curve of one of the table's own displacements."""
        km, kb = (None if each is None else each[index] for each in (self.km_m, self.kb_m))
        return KnLevers(kind="kn", heel_deg=self.heel_deg, kn_m=self.kn_m[index], km_m=km, kb_m=kb)

    def at(self, displacement: float) -> KnLevers:
        """The curve at a displacement [t] that the table covers."""
        kn = cross_curves.between(self.displacement_t, self.kn_m, displacement)
        km, kb = (self.height(key, displacement) for key in ("km_m", "kb_m"))
        rows = tuple(float(value) for value in kn)
        return KnLevers(kind="kn", heel_deg=self.heel_deg, kn_m=rows, km_m=km, kb_m=kb)

    def height(self, key: str, displacement: float) -> float | None:
        """km_m, kb_m or draught_m [m] at a displacement [t] that the table covers, if it has it."""
        heights = getattr(self, key)
        if heights is None:
            return None
        return float(cross_curves.between(self.displacement_t, heights, displacement))


SingleKind = KnLevers | GzLevers | WallSidedLevers | PolynomialLevers
"""Levers of one displacement."""
LeverKind = SingleKind | CrossCurveLevers | HullLevers
Levers = Annotated[LeverKind, Field(discriminator="kind")]


def _known_deg(heel_deg: tuple[float, ...]) -> float:
    first, last = heel_deg[0], heel_deg[-1]
    return min(-first, last) if first < 0 else last


@lru_cache(maxsize=64)
def levers_of(table: SingleKind) -> curves.Levers:
    """The levers that a [ship.levers] table describes; the tables must have passed their checks."""
    return table.curve


@lru_cache(maxsize=256)
def levers_at(table: LeverKind, displacement: float, along: float | None = None) -> SingleKind:
    """The levers at a displacement [t], which curves must cover; others hold for one alone.

    `along` [m] is the place of G for a hull that trims, where the loading tells it.
    """
    if isinstance(table, HullLevers):
        return table.at(displacement, along)
    return table.at(displacement) if isinstance(table, CrossCurveLevers) else table
