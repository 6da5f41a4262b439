"""The [ship] tables of the scenario file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from rollsim.scenario.schema_base import Table

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
    """A table of cross curves, KN against heel."""

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


LeverKind = KnLevers | GzLevers | WallSidedLevers | PolynomialLevers
Levers = Annotated[LeverKind, Field(discriminator="kind")]


class Gravity(Table):
    """Where the centre of gravity is."""

    kg_m: float = Field(
        gt=-20, lt=60, description="height of the centre of gravity above the keel in metres"
    )
    off_centre_m: float = Field(
        default=0.0, gt=-60, lt=60, description="G off the centreline in metres, + to starboard"
    )
    free_surface_m: float = Field(
        default=0.0, ge=0, lt=20, description="virtual rise of G by free surfaces in metres"
    )


class Inertia(Table):
    """Exactly one of the two."""

    gyradius_m: float | None = Field(
        default=None,
        gt=0,
        lt=60,
        description="roll radius of gyration in metres, added inertia included",
    )
    period_s: float | None = Field(
        default=None,
        gt=0,
        lt=300,
        description="natural roll period in seconds, turned into a radius of gyration at the GM of "
        "the file",
    )


class Extinction(Table):
    """Decrease of a free roll in one half-cycle, Δφ = a φ + b φ², φ in degrees."""

    a: float = Field(default=0.0, ge=0, lt=3, description="linear extinction coefficient, no unit")
    b_per_deg: float = Field(
        default=0.0, ge=0, lt=1, description="quadratic extinction coefficient per degree"
    )


class Damping(Table):
    """Roll damping per unit inertia: b1 p + b2 |p| p + b3 p³, p in radians per second."""

    linear_per_s: float = Field(
        default=0.0, ge=0, lt=10, description="b1, linear damping per second"
    )
    critical_fraction: float | None = Field(
        default=None,
        ge=0,
        lt=10,
        description="linear damping as a fraction of critical, instead of linear_per_s, turned "
        "into b1 at the GM of the file",
    )
    quadratic: float = Field(
        default=0.0, ge=0, lt=100, description="b2, quadratic damping per radian"
    )
    cubic_s: float = Field(
        default=0.0, ge=0, lt=1000, description="b3, cubic damping in seconds (per radian squared)"
    )
    extinction: Extinction | None = Field(
        default=None,
        description="extinction coefficients of a free decay, alone, turned into b1 and b2 at the "
        "GM of the file",
    )


class Windage(Table):
    """What the wind presses on."""

    area_m2: float = Field(ge=0, lt=50_000, description="lateral area above water in square metres")
    lever_m: float = Field(
        ge=0,
        lt=100,
        description="height in metres of the centre of that area above the centre of lateral "
        "resistance",
    )


class Ship(Table):
    """The ship."""

    name: str = Field(min_length=1, max_length=200, description="her name, in quotes")
    length_m: float = Field(gt=0, lt=600, description="length on the waterline in metres")
    beam_m: float = Field(gt=0, lt=120, description="greatest breadth on the waterline in metres")
    draught_m: float = Field(gt=0, lt=40, description="mean draught in metres")
    depth_m: float | None = Field(
        default=None, gt=0, lt=80, description="depth from the keel to the deck at side in metres"
    )
    displacement_t: float = Field(gt=0, lt=2e6, description="displacement in tonnes")
    levers: Levers = Field(description="the righting levers of the hull")
    gravity: Gravity = Field(description="the centre of gravity")
    inertia: Inertia = Field(description="the inertia in roll")
    damping: Damping = Field(
        default=Damping(), description="the damping of roll; none where left out"
    )
    windage: Windage | None = Field(
        default=None, description="the area for the wind; none where left out"
    )
