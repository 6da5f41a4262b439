"""The [ship.levers] table of a hull: her stations in a file of its own give every curve."""

from __future__ import annotations

from contextlib import suppress
from functools import lru_cache
from math import ceil, inf, radians
from typing import TYPE_CHECKING, Literal

import numpy as np
from pydantic import Field

from rollsim.scenario.schema.base import File, Table
from rollsim.scenario.schema.hull_file import hull_in, hull_of
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship.hull.form import UnfloatableError

if TYPE_CHECKING:
    from rollsim.scenario.schema.levers import KnLevers
    from rollsim.ship.hull.curves import Curves
    from rollsim.ship.midship import Midship
    from rollsim.ship.wave_levers import WaveLevers


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
    heel_max_deg: float = Field(
        default=90.0,
        gt=0,
        le=180,
        description="the heel in degrees up to which KN is found, on both sides",
    )
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
            with suppress(UnfloatableError):  # a check of its own tells that
                sizes["draught_m"] = float(self.afloat(displacement).hydrostatics.draught[0])
        return sizes

    def at(self, displacement: float, along: float | None = None) -> KnLevers:
        """KN at a displacement [t], over both sides where they differ."""
        from rollsim.scenario.schema.levers import KnLevers

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

    def deck_edge(self, displacement: float, along: float | None = None) -> float | None:
        """Heel [rad] at which the deck at side first goes under; None where it is not known."""
        return deck_edge_of(self, displacement, along)

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


@lru_cache(maxsize=256)
def deck_edge_of(table: HullLevers, displacement: float, along: float | None) -> float | None:
    """The least heel [rad] at which a hull's deck at side goes under; found once."""
    afloat = table.afloat(displacement, along)
    heel_max, step = radians(table.heel_max_deg), radians(table.heel_step_deg)
    heels = afloat.immersion(afloat.hull.deck_edges, heel_max, step)
    known = heels[np.isfinite(heels)]
    return float(known.min()) if known.size else None


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
