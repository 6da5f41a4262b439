"""The tanks of a scenario as physics: liquid that moves with heel, and tanks that fill in time."""

from __future__ import annotations

from dataclasses import replace

from rollsim.motion.filling import FillingPath, filling_path
from rollsim.motion.levels import Fill, Filling, Flow
from rollsim.scenario import schema
from rollsim.scenario.schema import levers_of
from rollsim.scenario.schema.tanks import TONNE
from rollsim.ship.levers import Levers
from rollsim.ship.liquid import LiquidLever


def levers_with_liquid(ship: schema.Ship) -> Levers:
    """Her levers with the liquid that moves in her tanks."""
    hull = levers_of(ship.own_levers)
    tanks = ship.loading.tanks if ship.loading else ()
    moving = [tank for tank in tanks if tank.free_surface == "liquid" and tank.filling > 0.0]
    if not moving:
        return hull
    tanks_of, fillings = [tank.tank for tank in moving], [tank.filling for tank in moving]
    return replace(hull, liquid=LiquidLever.of(tanks_of, fillings, ship.displacement_t * TONNE))


def tanks_in_time(
    ship: schema.Ship, events: tuple[schema.Event, ...], run: schema.Run
) -> FillingPath | None:
    """Tanks that fill or flow into each other."""
    if ship.loading is None:
        return None
    tanks = ship.loading.tanks
    number = {tank.name: index for index, tank in enumerate(tanks)}
    fills = [
        Fill(number[event.tank], event.to_percent / 100.0, event.at_s, event.over_s)
        for event in events
        if isinstance(event, schema.FillTank)
    ]
    flows = [
        Flow(index, number[tank.crossflow.with_], tank.crossflow.time_constant_s)
        for index, tank in enumerate(tanks)
        if tank.crossflow
    ]
    start = [Filling(tank.tank, tank.filling, tank.free_surface == "liquid") for tank in tanks]
    return filling_path(start, fills, flows, ship.displacement_t * TONNE, run.duration_s)
