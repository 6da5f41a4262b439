"""The [ship] tables of the scenario file, but for her levers."""

from __future__ import annotations

from pydantic import Field

from rollsim.constants import SEA_WATER_DENSITY
from rollsim.scenario.schema.base import Table
from rollsim.scenario.schema.form import Form
from rollsim.scenario.schema.levers import LeverKind, Levers, levers_of
from rollsim.ship import levers as curves


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

    @property
    def position(self) -> curves.Gravity:
        """Where G is, as the levers take it."""
        return curves.Gravity(self.kg_m, self.off_centre_m, self.free_surface_m)


class LeversInWaves(Table):
    """How the levers change with the effective wave elevation, KN + gm_per_m · ζ · sin φ."""

    gm_per_m: float = Field(
        gt=-10,
        lt=10,
        description="change of GM in metres for each metre of effective wave elevation amidships, "
        "no unit; negative for ordinary ships, which lose stability on a crest",
    )


class Inertia(Table):
    """Exactly one of gyradius_m, beam_fraction and period_s."""

    gyradius_m: float | None = Field(
        default=None,
        gt=0,
        lt=60,
        description="roll radius of gyration in metres, added inertia included",
    )
    beam_fraction: float | None = Field(
        default=None,
        gt=0,
        lt=1,
        description="roll radius of gyration over the beam, no unit, added inertia included",
    )
    period_s: float | None = Field(
        default=None,
        gt=0,
        lt=300,
        description="natural roll period in seconds, turned into a radius of gyration at the GM of "
        "the file",
    )
    added_share: float = Field(
        default=0.0,
        ge=0,
        lt=1,
        description="share of the inertia that is the water's and follows the wave slope, no unit; "
        "with relative excitation alone",
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
    levers_in_waves: LeversInWaves | None = Field(
        default=None,
        description="how the levers change with the wave; not at all where left out",
    )
    gravity: Gravity = Field(description="the centre of gravity")
    inertia: Inertia = Field(description="the inertia in roll")
    damping: Damping = Field(
        default=Damping(), description="the damping of roll; none where left out"
    )
    windage: Windage | None = Field(
        default=None, description="the area for the wind; none where left out"
    )
    form: Form | None = Field(
        default=None, description="the hull as the criteria know it; defaults where left out"
    )

    @property
    def gyradius(self) -> float | None:
        """Roll radius of gyration [m], None where it follows from a period."""
        if self.inertia.beam_fraction is not None:
            return self.inertia.beam_fraction * self.beam_m
        return self.inertia.gyradius_m

    @property
    def block_coefficient(self) -> float:
        """Displaced volume over length, beam and draught."""
        volume = self.displacement_t * 1000.0 / SEA_WATER_DENSITY
        return volume / (self.length_m * self.beam_m * self.draught_m)


def gravity_of(table: Gravity) -> curves.Gravity:
    """The centre of gravity that a [ship.gravity] table describes."""
    return table.position


def gm_of(levers: LeverKind, gravity: Gravity) -> float:
    """Metacentric height [m] of a [ship.levers] and a [ship.gravity] table."""
    return curves.metacentric_height(levers_of(levers), gravity.position)
