"""The [ship.levers] tables: each kind knows the levers that it describes."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import ceil, inf, radians
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import Field, ModelWrapValidatorHandler, model_validator

from rollsim.scenario.schema.base import File, Table
from rollsim.scenario.schema.curve_file import EMPTY, curves_in
from rollsim.scenario.schema.hull_file import hull_in, hull_of
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship import cross_curves
from rollsim.ship import levers as curves

if TYPE_CHECKING:
    from rollsim.ship.hull.curves import Curves
    from rollsim.ship.midship import Midship
    from rollsim.ship.wave_levers import WaveLevers

# A list of the file becomes a tuple; strict would only take a tuple, so it is lax for the container
# alone: the items stay strict by the model's configuration.
Heels = Annotated[tuple[Annotated[float, Field(ge=-180, le=180)], ...], Field(strict=False)]
Levers_m = Annotated[tuple[Annotated[float, Field(gt=-60, lt=60)], ...], Field(strict=False)]
Rows_m = Annotated[tuple[Annotated[float, Field(gt=-1e5, lt=1e5)], ...], Field(strict=False)]
"""Rows of cross-curves; a check of their own says in one line where they are centimetres."""
Displacements = Annotated[tuple[Annotated[float, Field(gt=0, lt=2e6)], ...], Field(strict=False)]
Heights = Annotated[tuple[Annotated[float, Field(ge=0, lt=200)], ...], Field(strict=False)]
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
    kn_m: Annotated[tuple[Rows_m, ...], Field(strict=False)] = Field(
        description="KN in metres, from the keel point: a row for each displacement, in it a value "
        "for each heel"
    )
    km_m: Heights | None = Field(
        default=None,
        description="height of the upright metacentre above the keel in metres, one for each "
        "displacement; fixes the slope at 0",
    )
    kb_m: Heights | None = Field(
        default=None,
        description="height of the centre of buoyancy upright above the keel in metres, one for "
        "each displacement; without it B is not drawn",
    )
    draught_m: Heights | None = Field(
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
        return KnLevers(
            kind="kn", heel_deg=self.heel_deg, kn_m=self.kn_m[index], km_m=km or None, kb_m=kb
        )

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


class HullLevers(Table):
    """The hull herself: KN at constant displacement from her stations, to any heel.

    The displacement of the case picks its curve. Length, beam, depth and draught of the ship follow
    from the hull where they are left out.
    """

    kind: Literal["hull"] = Field(description="a hull as stations, in a file of its own")
    file: File = Field(description="the hull file, beside the scenario")
    trim: Literal["free", "fixed"] = Field(
        default="free",
        description="whether she trims as she heels; the length of G is that of the loading, else "
        "of B upright on an even keel",
    )
    heel_max_deg: float = Field(default=90.0, gt=0, le=180, description=HEEL_MAX)
    heel_step_deg: float = Field(
        default=2.5,
        ge=0.1,
        le=15,
        description="distance in degrees of the heels at which KN is found",
    )

    @property
    def known_deg(self) -> float:
        """The heel [degree] up to which levers are known on both sides."""
        return self.heel_max_deg

    def afloat(self, displacement: float, along: float | None = None) -> Curves:
        """The hull at a displacement [t], G at `along` [m] by the loading; it must be sound."""
        return curves_of(self.file, displacement, self.trim == "free", along)

    def particulars(self, displacement: float | None) -> dict[str, float]:
        """Length, beam and depth, and the draught at a displacement [t]."""
        hull = hull_in(self.file).hull
        if hull is None:
            raise ValueError(self.file.name)
        sizes = {"length_m": hull.length, "beam_m": hull.beam, "depth_m": hull.depth}
        if displacement is not None:
            sizes["draught_m"] = float(self.afloat(displacement).hydrostatics.draught[0])
        return sizes

    def at(self, displacement: float, along: float | None = None) -> KnLevers:
        """KN at a displacement [t], over both sides where they differ."""
        afloat = self.afloat(displacement, along)
        steps = max(2, ceil(self.heel_max_deg / self.heel_step_deg - 1e-9))
        heel_deg = np.linspace(0.0, self.heel_max_deg, steps + 1)
        if not afloat.hull.symmetric:
            heel_deg = np.concatenate((-heel_deg[:0:-1], heel_deg))
        kn = afloat.kn(np.radians(heel_deg))[0, 0]
        if heel_deg[0] == 0.0:
            kn[0] = 0.0
        upright = afloat.hydrostatics
        return KnLevers.model_construct(
            kind="kn",
            heel_deg=tuple(map(float, heel_deg)),
            kn_m=tuple(map(float, kn)),
            km_m=float(upright.km[0]),
            kb_m=float(upright.kb[0]),
        )

    def flooding(self, displacement: float, along: float | None = None) -> tuple[float, float]:
        """Least heels [rad] to starboard and to port at which openings flood; infinite if none."""
        return flooding_of(self, displacement, along)

    def midship(self, displacement: float, along: float | None = None) -> Midship:
        """Her midship section, and where the water stands at it as she heels."""
        from rollsim.ship.midship import Midship

        afloat = self.afloat(displacement, along)
        heel = np.radians(self.at(displacement, along).heel_deg)
        states = afloat.at(heel)[0, 0]
        level = states[:, 1] + states[:, 2] * afloat.hull.middle
        return Midship(afloat.hull.midship, heel, level)

    def in_waves(
        self, displacement: float, elevation: tuple[float, ...], along: float | None = None
    ) -> WaveLevers:
        """Levers in a wave of her length over `elevation` [m], 0 among them."""
        return waves_of(self, displacement, elevation, along)


@lru_cache(maxsize=256)
def flooding_of(table: HullLevers, displacement: float, along: float | None) -> tuple[float, float]:
    """The heels at which the openings of a hull flood, starboard and port; found once."""
    afloat = table.afloat(displacement, along)
    sides = []
    for side in (1.0, -1.0):
        points = [
            # One on the centreline counts for both sides.
            (each.along, each.across or side * 1e-9, each.height)
            for each in afloat.hull.openings
            if side * each.across >= 0.0
        ]
        heels = np.abs(
            afloat.immersion(
                np.array(points).reshape(-1, 3),
                radians(table.heel_max_deg),
                radians(table.heel_step_deg),
            )
        )
        known = heels[np.isfinite(heels)]
        sides.append(float(known.min()) if known.size else inf)
    starboard, port = sides
    same = abs(starboard - port) < 1e-6
    return (starboard, starboard) if same else (starboard, port)


@lru_cache(maxsize=64)
def waves_of(
    table: HullLevers, displacement: float, elevation: tuple[float, ...], along: float | None
) -> WaveLevers:
    """The levers of a hull in waves, made once."""
    from rollsim.ship.wave_levers import from_tables

    still = table.at(displacement, along)
    heel, row = np.radians(still.heel_deg), np.array(elevation)
    afloat = table.afloat(displacement, along)
    kn = afloat.kn(heel, row)[0]
    kn[:, heel == 0.0] = np.where(afloat.hull.symmetric, 0.0, kn[:, heel == 0.0])
    return from_tables(row, heel, kn, afloat.at(0.0, row)[0, :, 0, 4])


@lru_cache(maxsize=256)
def curves_of(file: NamedFile, displacement: float, free: bool, along: float | None) -> Curves:
    """A hull at a displacement [t], made once for the same file."""
    from rollsim.ship.hull.curves import Curves, Trim  # compiled code: only who needs it pays

    return Curves(hull_of(file), np.array([displacement]), Trim(free, along))


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
