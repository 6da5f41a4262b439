"""The [ship.loading] tables: lightship, weights and tanks, which add up to displacement and G."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from rollsim.scenario.schema.base import Table
from rollsim.scenario.schema.tanks import NAME, TONNE, TankTable
from rollsim.ship.loading import Ice, Item, iced, total

HEIGHT = "height of its centre of gravity above the keel in metres"
ALONG = (
    "place of its centre of gravity forward of the after end in metres; amidships where left out"
)
ACROSS = "its place off the centreline in metres, + to starboard"


class Lightship(Table):
    """The ship without cargo, stores and liquids."""

    mass_t: float = Field(gt=0, lt=2e6, description="its mass in tonnes")
    height_m: float = Field(gt=0, lt=80, description=HEIGHT)
    along_m: float | None = Field(default=None, gt=-100, lt=700, description=ALONG)
    across_m: float = Field(default=0.0, gt=-60, lt=60, description=ACROSS)


class Weight(Table):
    """A weight on board, without `kind`."""

    name: str = Field(min_length=1, max_length=200, description=NAME)
    mass_t: float = Field(ge=0, lt=2e6, description="its mass in tonnes")
    height_m: float = Field(gt=-20, lt=120, description=HEIGHT)
    along_m: float | None = Field(default=None, gt=-100, lt=700, description=ALONG)
    across_m: float = Field(default=0.0, gt=-120, lt=120, description=ACROSS)
    absorbed_percent: float = Field(
        default=0.0,
        ge=0,
        lt=200,
        description="water that it has soaked up in per cent of its mass, as deck cargo does; 15 "
        "is usual for timber (Derrett)",
    )
    windage_m2: float = Field(
        default=0.0, ge=0, lt=50_000, description="lateral area that it adds in square metres"
    )
    windage_height_m: float | None = Field(
        default=None,
        ge=0,
        lt=120,
        description="height of the centre of that area above the keel in metres; height_m where "
        "left out",
    )
    breadth_m: float = Field(
        default=0.0,
        ge=0,
        lt=120,
        description="how broad it is in metres, for the estimate of the gyradius alone",
    )
    tall_m: float = Field(
        default=0.0,
        ge=0,
        lt=80,
        description="how tall it is in metres, for the estimate of the gyradius alone",
    )

    def item(self, amidships: float) -> Item:
        """Its line of the loading sheet, the water in it included."""
        mass = self.mass_t * TONNE * (1.0 + self.absorbed_percent / 100.0)
        along = amidships if self.along_m is None else self.along_m
        own = (self.breadth_m**2 + self.tall_m**2) / 12.0
        return Item(self.name, mass, self.height_m, along, self.across_m, own=own)

    @property
    def windage(self) -> tuple[float, float]:
        """Lateral area [m²] and the height of its centre above the keel [m]."""
        height = self.height_m if self.windage_height_m is None else self.windage_height_m
        return self.windage_m2, height


class Icing(Table):
    """Ice by the allowances of the Intact Stability Code: 30 kg/m² on exposed decks, 7.5 kg/m² on
    the lateral area of each side, rigging with 5 % of the sides' mass and 10 % of their moment."""

    kind: Literal["icing"] = Field(description="ice by the code's allowances")
    name: str = Field(min_length=1, max_length=200, description=NAME)
    deck_area_m2: float = Field(
        default=0.0, ge=0, lt=100_000, description="area of exposed decks in square metres"
    )
    deck_height_m: float = Field(
        default=0.0, ge=0, lt=120, description="height of those decks above the keel in metres"
    )
    side_area_m2: float = Field(
        default=0.0,
        ge=0,
        lt=50_000,
        description="projected lateral area of one side above water in square metres",
    )
    side_height_m: float = Field(
        default=0.0,
        ge=0,
        lt=120,
        description="height of the centre of that area above the keel in metres",
    )
    along_m: float | None = Field(default=None, gt=-100, lt=700, description=ALONG)

    def item(self, amidships: float) -> Item:
        """Its line of the loading sheet."""
        ice = Ice(self.deck_area_m2, self.deck_height_m, self.side_area_m2, self.side_height_m)
        return iced(self.name, ice, amidships if self.along_m is None else self.along_m)

    @property
    def windage(self) -> tuple[float, float]:
        """Ice adds no area here."""
        return 0.0, 0.0


def _kind(value: Any) -> str:
    """The tag of a weight, raw or as a model."""
    kind = value.get("kind") if isinstance(value, dict) else getattr(value, "kind", None)
    return "weight" if kind is None else str(kind)


AnyWeight = Annotated[
    Annotated[Weight, Tag("weight")] | Annotated[Icing, Tag("icing")], Discriminator(_kind)
]


class Loading(Table):
    """The loading, in place of displacement_t and [ship.gravity], which follow from it."""

    lightship: Lightship = Field(description="the lightship")
    weights: Annotated[tuple[AnyWeight, ...], Field(strict=False)] = Field(
        default=(), description="cargo, stores, people, ice"
    )
    tanks: Annotated[tuple[TankTable, ...], Field(strict=False)] = Field(
        default=(), description="tanks, full, slack or empty"
    )

    @property
    def sound(self) -> bool:
        """Whether it adds up to a ship: its tanks hold something."""
        return all(tank.sound for tank in self.tanks)

    def items(self, amidships: float, lightship_gyradius: float = 0.0) -> tuple[Item, ...]:
        """The lines of the loading sheet; `amidships` [m] stands for places that are left out."""
        light = self.lightship
        along = amidships if light.along_m is None else light.along_m
        own = lightship_gyradius**2
        first = Item(
            "lightship", light.mass_t * TONNE, light.height_m, along, light.across_m, own=own
        )
        weights = (weight.item(amidships) for weight in self.weights)
        return (first, *weights, *(tank.item() for tank in self.tanks))


def along_of(loading: Loading | None, length: float) -> float | None:
    """Where G lies along the ship [m], None where the lightship's place is left out."""
    if loading is None or loading.lightship.along_m is None or not loading.sound:
        return None
    return total(loading.items(0.5 * length)).along
