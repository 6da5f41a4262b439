"""The [ship] tables of the scenario file, but for her levers."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, model_validator
from pydantic.functional_validators import ModelWrapValidatorHandler

from rollsim.constants import SEA_WATER_DENSITY
from rollsim.scenario.schema.base import Table
from rollsim.scenario.schema.form import Form
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.levers import Levers, SingleKind, levers_at, levers_of
from rollsim.scenario.schema.loading import Loading, along_of
from rollsim.scenario.schema.papers import following
from rollsim.ship import levers as curves
from rollsim.ship.loading import gyradius
from rollsim.ship.wave_levers import WaveLevers


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


class Elevations(Table):
    """Evenly spaced elevations of a wave of the ship's length, still water between them."""

    from_: float = Field(
        alias="from", gt=-50, lt=0, description="the deepest trough amidships in metres, below 0"
    )
    to: float = Field(gt=0, lt=50, description="the highest crest amidships in metres")
    steps: int = Field(
        ge=3, le=201, description="number of elevations, both ends included; 0 is added to them"
    )

    @property
    def values(self) -> tuple[float, ...]:
        """The elevations [m], 0 among them."""
        step = (self.to - self.from_) / (self.steps - 1)
        even = [self.from_ + step * i for i in range(self.steps)]
        return tuple(sorted({0.0, *(each for each in even if abs(each) > 1e-6 * step)}))


class LeversInWaves(Table):
    """How the levers change with the effective wave elevation ζ amidships.

    Either KN + gm_per_m · ζ · sin φ, or from the hull in a wave of her length.
    """

    from_: Literal["hull"] | None = Field(
        default=None,
        alias="from",
        description='"hull": KN over heel and elevation from the hull of ship.levers',
    )
    elevations_m: Elevations | None = Field(
        default=None, description="the elevations at which the hull is balanced, with from"
    )
    gm_per_m: float | None = Field(
        default=None,
        gt=-10,
        lt=10,
        description="change of GM in metres for each metre of effective wave elevation amidships, "
        "no unit; negative for ordinary ships, which lose stability on a crest",
    )


class FromMasses(Table):
    """The gyradius from the masses of the loading: an estimate.

    Each mass about the common G, weights as points or blocks, tanks as blocks; liquids count as if
    they were frozen, and the water that moves with the hull as a share of the masses' inertia.
    """

    lightship_beam_fraction: float = Field(
        default=0.37,
        gt=0,
        lt=1,
        description="radius of gyration of the lightship alone over the beam, no unit; 0.35 to "
        "0.40 is usual",
    )
    water_share: float = Field(
        default=0.2,
        ge=0,
        lt=2,
        description="inertia of the water that moves with her over that of the masses, no unit; "
        "0.15 to 0.25 is usual",
    )


class Inertia(Table):
    """Exactly one of gyradius_m, beam_fraction, period_s and from_masses."""

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
    from_masses: FromMasses | None = Field(
        default=None,
        description="the gyradius from the masses of [ship.loading], an estimate; {} takes the "
        "usual values",
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
    displacement_t: float = Field(
        gt=0, lt=2e6, description="displacement in tonnes; follows from a loading"
    )
    levers: Levers = Field(description="the righting levers of the hull")
    levers_in_waves: LeversInWaves | None = Field(
        default=None,
        description="how the levers change with the wave; not at all where left out",
    )
    gravity: Gravity = Field(description="the centre of gravity; follows from a loading")
    loading: Loading | None = Field(
        default=None,
        description="lightship, weights and tanks, in place of displacement_t and gravity",
    )
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

    @model_validator(mode="wrap")
    @classmethod
    def _with_following(cls, given: Any, handler: ModelWrapValidatorHandler[Ship]) -> Ship:
        """Put in what follows from her papers, as keys that are left out."""
        values = following(given)
        if not values:
            return handler(given)
        ship = handler(given | values)
        ship.__pydantic_fields_set__.difference_update(values)
        return ship

    @property
    def own_levers(self) -> SingleKind:
        """Her levers at her displacement, which must lie within the curves."""
        return levers_at(self.levers, self.displacement_t, self.along)

    @property
    def along(self) -> float | None:
        """Where G lies along her [m], where the loading tells it."""
        return along_of(self.loading, self.length_m)

    @property
    def gyradius(self) -> float | None:
        """Roll radius of gyration [m], None where it follows from a period."""
        inertia = self.inertia
        if inertia.beam_fraction is not None:
            return inertia.beam_fraction * self.beam_m
        if inertia.from_masses is not None and self.loading is not None:
            own = inertia.from_masses.lightship_beam_fraction * self.beam_m
            items = self.loading.items(0.5 * self.length_m, own)
            return gyradius(items, inertia.from_masses.water_share)
        return inertia.gyradius_m

    @property
    def whole_windage(self) -> tuple[float, float] | None:
        """Area [m²] and lever [m] for the wind with what the loading adds, by moments.

        The centre of lateral resistance lies at half the draught (common practice).
        """
        if self.windage is None:
            return None
        parts = [(self.windage.area_m2, self.windage.lever_m)]
        for weight in self.loading.weights if self.loading else ():
            area, height = weight.windage
            parts.append((area, height - 0.5 * self.draught_m))
        area = sum(each for each, _ in parts)
        moment = sum(each * lever for each, lever in parts)
        return area, moment / area if area > 0.0 else self.windage.lever_m

    @property
    def block_coefficient(self) -> float:
        """Displaced volume over length, beam and draught."""
        volume = self.displacement_t * 1000.0 / SEA_WATER_DENSITY
        return volume / (self.length_m * self.beam_m * self.draught_m)


def levers_in_waves(ship: Ship) -> WaveLevers | None:
    """Her levers in waves by her hull, None where they are not asked for."""
    table = ship.levers_in_waves
    if table is None or table.elevations_m is None or not isinstance(ship.levers, HullLevers):
        return None
    return ship.levers.in_waves(ship.displacement_t, table.elevations_m.values, ship.along)


def gravity_of(table: Gravity) -> curves.Gravity:
    """The centre of gravity that a [ship.gravity] table describes."""
    return table.position


def gm_of(levers: SingleKind, gravity: Gravity) -> float:
    """Metacentric height [m] of a [ship.levers] and a [ship.gravity] table."""
    return curves.metacentric_height(levers_of(levers), gravity.position)
