"""The ship as a criterion sees her: at rest at t = 0, her lever towards the side of lesser GZ."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.constants import SEA_WATER_DENSITY
from rollsim.ship.equilibria import Equilibrium, equilibria, nodes
from rollsim.ship.levers import metacentric_height
from rollsim.ship.righting import Heeling, RightingCurve

Floats = NDArray[np.float64]

COMPARED_TO = math.radians(40.0)
"""Heel to which the areas of the two sides are compared: the lesser one is judged."""
UPRIGHT = 1e-9
"""Heels [rad] and levers [m] below this are none."""


@dataclass(frozen=True)
class Windage:
    """Lateral area above water [m²], its centre above that of the underwater body [m]."""

    area: float
    lever: float


@dataclass(frozen=True)
class Form:
    """What the tables of the weather criterion ask of the hull besides her main dimensions.

    `length` on the waterline [m]; `block_coefficient` None where it follows from the displacement;
    `sharp` bilges; `bilge_keels` total area of both sides [m²]; `deck_edge` the heel at which the
    deck edge goes under [rad], None where not known.
    """

    length: float
    block_coefficient: float | None = None
    sharp: bool = False
    bilge_keels: float = 0.0
    deck_edge: float | None = None


@dataclass(frozen=True, eq=False)
class ShipAtRest:
    """A loading condition before any event; lengths [m], displacement [t], angles [rad].

    `curve` carries no heeling lever. `floods` are the heels of flooding to starboard and to port,
    infinite where there is no such limit; `wind_speed` [m/s] is that of the scenario, None where no
    wind blows.
    """

    curve: RightingCurve
    beam: float
    draught: float
    displacement: float
    form: Form
    floods: tuple[float, float] = (math.inf, math.inf)
    windage: Windage | None = None
    wind_speed: float | None = None

    @property
    def gm(self) -> float:
        """Metacentric height, corrected for free surfaces [m]."""
        return metacentric_height(self.curve.levers, self.curve.gravity)

    @property
    def kg(self) -> float:
        """Height of G above the keel, free surfaces not included [m]."""
        return self.curve.gravity.kg

    @property
    def block_coefficient(self) -> float:
        """As given, else displacement over length on the waterline, beam and draught."""
        if self.form.block_coefficient is not None:
            return self.form.block_coefficient
        volume = self.displacement * 1000.0 / SEA_WATER_DENSITY
        return volume / (self.form.length * self.beam * self.draught)

    @property
    def flooding(self) -> float:
        """The heel of flooding on the side that is judged."""
        return self.floods[0 if self.side.sign > 0.0 else 1]

    @cached_property
    def side(self) -> Side:
        """The side with the lesser area under GZ to 40°, its flooding or the end of the levers."""
        starboard, port = Side(self.curve, 1.0), Side(self.curve, -1.0)
        known = min(COMPARED_TO, starboard.end, port.end)
        areas = (
            side.area(0.0, min(known, floods))
            for side, floods in zip((starboard, port), self.floods, strict=True)
        )
        to_starboard, to_port = areas
        return port if to_port < to_starboard - UPRIGHT else starboard

    def with_kg(self, kg: float) -> ShipAtRest:
        """The same ship with G at another height above the keel [m]."""
        gravity = replace(self.curve.gravity, kg=kg)
        return replace(self, curve=replace(self.curve, gravity=gravity))


@dataclass(frozen=True, eq=False)
class Side:
    """GZ towards one side: heels [rad] count outwards from upright, GZ [m] rights where positive.

    `sign` is 1 for starboard, −1 for port. Negative heels are those of the other side.
    """

    curve: RightingCurve
    sign: float

    @property
    def name(self) -> str:
        """The name of the side."""
        return "starboard" if self.sign > 0.0 else "port"

    @property
    def end(self) -> float:
        """Heel up to which the levers are known towards this side."""
        levers = self.curve.levers
        return levers.heel_max if self.sign > 0.0 else -levers.heel_min

    @property
    def start(self) -> float:
        """Heel (negative) up to which they are known towards the other side."""
        levers = self.curve.levers
        return levers.heel_min if self.sign > 0.0 else -levers.heel_max

    def value(self, heel: ArrayLike) -> Floats:
        """GZ [m]."""
        return np.asarray(self.sign * self.curve.value(self.sign * np.asarray(heel)))

    def area(self, start: float, end: float) -> float:
        """Area under GZ between two heels [m rad]."""
        return self.curve.area(self.sign * start, self.sign * end)

    @cached_property
    def extremes(self) -> tuple[Floats, Floats]:
        """Heels outwards from upright that hold every extreme of GZ, and GZ there."""
        heel, value = nodes(self.curve)
        outwards = self.sign * heel
        order = np.argsort(outwards)
        order = order[outwards[order] >= 0.0]
        return outwards[order], self.sign * value[order]

    @cached_property
    def vanishing(self) -> float:
        """Heel at which GZ first turns capsizing; the end of the levers where it does not."""
        rests = self.rests(0.0)
        return next(
            (rest.heel for rest in rests if rest.kind == "unstable" and rest.heel > 1e-6), self.end
        )

    def greatest(self, start: float, end: float) -> tuple[float, float]:
        """Heel of the greatest GZ between two heels, and that GZ."""
        heel, value = self.extremes
        inside = (heel > start) & (heel < end)
        heels = np.concatenate(([start], heel[inside], [end]))
        values = np.concatenate(([self.value(start)], value[inside], [self.value(end)]))
        best = int(np.argmax(values))
        return float(heels[best]), float(values[best])

    def rests(self, lever: float, law: str = "constant") -> tuple[Equilibrium, ...]:
        """Where GZ meets a heeling lever [m] towards this side, outwards."""
        heeled = replace(self.curve, heeling=Heeling(self.sign * lever, law))
        rests = [Equilibrium(self.sign * rest.heel, rest.kind) for rest in equilibria(heeled)]
        return tuple(sorted(rests, key=lambda rest: rest.heel))

    def meeting(self, lever: float, law: str = "constant") -> tuple[float, float] | None:
        """Heel at which a heeling lever [m] holds her, and the heel at which she is lost beyond it.

        The rest is the one downhill from upright; the second is infinite where GZ stays above the
        lever as far as it is known. None where nothing holds her.
        """
        rests = self.rests(lever, law)
        stable = [rest.heel for rest in rests if rest.kind == "stable"]
        if float(self.value(0.0)) - lever < -UPRIGHT:
            heel = next((heel for heel in stable if heel > 0.0), None)
        else:
            heel = next((heel for heel in reversed(stable) if heel <= UPRIGHT), None)
        if heel is None:
            return None
        beyond = [r.heel for r in rests if r.kind == "unstable" and r.heel > heel]
        return heel, min(beyond, default=math.inf)
