"""The tanks of [ship.loading]: boxes, or sections from aft to fore."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Annotated, Literal, NamedTuple

from pydantic import Field

from rollsim.scenario.schema.base import Table
from rollsim.scenario.schema.hull_file import open_list, outline_faults
from rollsim.scenario.schema.hull_tables import Points
from rollsim.scenario.text.faults import Finding
from rollsim.ship.hull.form import Station, area_of, from_outline
from rollsim.ship.loading import Item
from rollsim.ship.tanks.base import Tank
from rollsim.ship.tanks.box import BoxTank

TONNE = 1000.0
NAME = "its name in the loading sheet, in quotes"
MOST_SECTIONS = 100
LEAST_VOLUME = 1e-6
"""Volume [m³] below which sections enclose nothing."""


class Box(Table):
    """The six sides of a tank in metres, in ship axes."""

    aft: float = Field(gt=-100, lt=700, description="after end, forward of the ship's, in metres")
    fore: float = Field(gt=-100, lt=700, description="fore end, in metres")
    port: float = Field(gt=-60, lt=60, description="port side in metres, port is negative")
    starboard: float = Field(gt=-60, lt=60, description="starboard side in metres")
    bottom: float = Field(gt=-20, lt=80, description="bottom above the keel in metres")
    top: float = Field(gt=-20, lt=80, description="top above the keel in metres")


class SectionTable(Table):
    """A section of a tank. Areas are joined linearly from one to the next."""

    along_m: float = Field(
        gt=-100, lt=700, description="where it stands, forward of the after end, in metres"
    )
    outline_m: Points = Field(
        description="its closed outline in metres, [y, z] for each corner in turn, y to starboard "
        "and z above the keel; the last joins the first"
    )


class Crossflow(Table):
    """A pipe or duct to another tank, through which liquid flows until the surfaces are level."""

    with_: str = Field(alias="with", min_length=1, max_length=200, description="the other tank")
    time_constant_s: float = Field(
        gt=0,
        lt=1e6,
        description="in seconds: the difference of the surfaces' heights d falls by d(d)/dt = "
        "-d / time_constant_s",
    )


class Form(NamedTuple):
    """The form of a tank: a box or sections."""

    box: Box | None
    sections: tuple[SectionTable, ...]

    @property
    def key(self) -> str:
        """Where the file has it."""
        return "sections" if self.box is None else "box_m"

    @property
    def stations(self) -> tuple[Station, ...]:
        """Its sections from aft to fore; it must be sound."""
        if self.box is not None:
            return BoxTank(**self.box.model_dump(), density=1.0).stations
        return tuple(
            from_outline(each.along_m, open_list(each.outline_m)) for each in self.sections
        )


class TankTable(Table):
    """A tank that liquid fills: a box, or sections."""

    name: str = Field(min_length=1, max_length=200, description=NAME)
    box_m: Box | None = Field(default=None, description="its six sides; or sections")
    sections: Annotated[
        tuple[SectionTable, ...], Field(strict=False, max_length=MOST_SECTIONS)
    ] = Field(default=(), description="its sections from aft to fore, or box_m; two at one place "
              "are a step")  # fmt: skip
    filling_percent: float | None = Field(
        default=None,
        ge=0,
        le=100,
        description="how full it is, in per cent of its volume; or mass_t",
    )
    mass_t: float | None = Field(
        default=None, ge=0, lt=2e6, description="the liquid's mass in tonnes, or filling_percent"
    )
    permeability: float = Field(
        default=1.0, gt=0, le=1, description="share of its volume that liquid can fill, no unit"
    )
    density_t_per_m3: float = Field(
        default=1.025, gt=0.1, lt=3, description="density of the liquid in tonnes per cubic metre"
    )
    divisions: int = Field(
        default=1,
        ge=1,
        le=20,
        description="compartments across, parted by bulkheads at equal breadths, whole number; "
        "upright their surfaces stand at one height",
    )
    free_surface: Literal["moment", "liquid"] = Field(
        default="moment",
        description="raises G by the moment of the free surface, or moves as the liquid does at "
        "any heel",
    )
    crossflow: Crossflow | None = Field(
        default=None, description="a connection with another tank; none where left out"
    )

    @property
    def form(self) -> Form:
        """Its form alone."""
        return Form(self.box_m, self.sections)

    @property
    def tank(self) -> Tank:
        """Its geometry, in SI units; it must be sound."""
        density = self.density_t_per_m3 * TONNE
        if self.box_m is None:
            return _by_sections(self.sections, density, self.permeability, self.divisions)
        return BoxTank(
            **self.box_m.model_dump(),
            density=density,
            permeability=self.permeability,
            divisions=self.divisions,
        )

    @property
    def filling(self) -> float:
        """How full it is, from 0 to 1."""
        if self.mass_t is not None:
            return self.mass_t * TONNE / self.tank.capacity
        return (self.filling_percent or 0.0) / 100.0

    @property
    def sound(self) -> bool:
        """Whether its box or its sections enclose something."""
        b = self.box_m
        if b is None:
            return bool(self.sections) and not section_faults(self.sections)
        boxed = b.aft < b.fore and b.port < b.starboard and b.bottom < b.top
        return boxed and not self.sections

    def item(self) -> Item:
        """Its line of the loading sheet."""
        tank, filling = self.tank, self.filling
        along, across, height = tank.centroid(filling)
        moment, own = tank.free_surface_moment(filling), tank.own_square(filling)
        return Item(self.name, tank.capacity * filling, height, along, across, moment, own)


@lru_cache(maxsize=256)
def _by_sections(
    sections: tuple[SectionTable, ...], density: float, permeability: float, divisions: int
) -> Tank:
    """The tank of some sections, made once."""
    from rollsim.ship.tanks.sections import SectionTank  # compiled: only who needs it pays

    return SectionTank(Form(None, sections).stations, density, permeability, divisions)


@lru_cache(maxsize=256)
def section_faults(sections: tuple[SectionTable, ...]) -> tuple[Finding, ...]:
    """What is wrong with sections, at paths from their list on."""
    if len(sections) == 1:
        hint = "a tank of one section all along stands there twice, aft and fore"
        return (Finding((), "must hold at least 2, got 1", hint),)
    faults = [*_outlines(sections), *_order(sections)]
    return tuple(faults or _volume(sections))


def _outlines(sections: tuple[SectionTable, ...]) -> Iterator[Finding]:
    for number, section in enumerate(sections):
        path = (number, "outline_m")
        yield from outline_faults(path, open_list(section.outline_m), both_sides=False)


def _order(sections: tuple[SectionTable, ...]) -> Iterator[Finding]:
    """Sections go forward; two at one place are a step, if they differ."""
    for number, (before, after) in enumerate(pairwise(sections), 1):
        path = (number, "along_m")
        if after.along_m < before.along_m:
            problem = f"must not lie aft of the last, got {after.along_m:g} after "
            yield Finding(path, f"{problem}{before.along_m:g}", "sections go from aft to fore")
        elif before == after:
            problem = f"the section at {after.along_m:g} m is given twice"
            yield Finding(path, problem, "two different outlines at one place are a step")
        elif number > 1 and after.along_m == before.along_m == sections[number - 2].along_m:
            problem = f"a third section at {after.along_m:g} m"
            yield Finding(path, problem, "two at one place are a step; more cannot be")


def _volume(sections: tuple[SectionTable, ...]) -> Iterator[Finding]:
    areas = [abs(area_of(from_outline(0.0, s.outline_m).outline)) for s in sections]
    volume = sum(
        0.5 * (one + other) * (fore.along_m - aft.along_m)
        for (one, other), (aft, fore) in zip(pairwise(areas), pairwise(sections), strict=True)
    )
    if volume < LEAST_VOLUME:
        yield Finding((), "enclose no volume", "sections with an area, some metres apart")
