"""Tanks that fill and flow: levels in time, and the pieces that follow moments and levers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from rollsim.motion.filling import (
    COORDINATE,
    HEELS,
    HEIGHT,
    MOST_OFF,
    FillingPath,
    filling_path,
)
from rollsim.motion.levels import Fill, Filling, Flow, levels
from rollsim.motion.timeline import (
    FILLING,
    JOINS,
    START,
    Base,
    Change,
    loading_at,
    timeline,
)
from rollsim.ship.levers import Gravity
from rollsim.ship.liquid import LiquidLever
from rollsim.ship.tanks.box import BoxTank

Floats = NDArray[np.float64]

TANK = BoxTank(30.0, 42.0, 0.0, 6.5, 0.0, 1.2, density=1025.0)
OTHER = replace(TANK, port=-6.5, starboard=0.0, fore=36.0)
SHIP = 4_000_000.0
KG = 5.3


def path(*tanks: Filling, fills: list[Fill], flows: list[Flow] | None = None) -> FillingPath:
    made = filling_path(tanks, fills, flows or [], SHIP, 1000.0)
    assert made is not None
    return made


def at(tank: Filling, fills: list[Fill], time: float) -> float:
    """The filling of one tank at a time."""
    nodes = list(levels([tank], fills, [], 1000.0))
    times = [node.time for node in nodes]
    return float(np.interp(time, times, [float(node.filling[0]) for node in nodes]))


def test_a_level_goes_straight_from_where_it_is_to_where_it_should() -> None:
    tank = Filling(TANK, 0.2, False)
    fills = [Fill(0, 0.8, 100.0, 300.0), Fill(0, 0.5, 600.0, 100.0)]
    got = [at(tank, fills, time) for time in (0.0, 100.0, 250.0, 400.0, 600.0, 650.0, 900.0)]
    assert got == pytest.approx([0.2, 0.2, 0.5, 0.8, 0.8, 0.65, 0.5])


def test_one_event_goes_on_where_the_one_before_ended() -> None:
    tank = Filling(TANK, 0.0, False)
    fills = [Fill(0, 0.5, 100.0, 100.0), Fill(0, 1.0, 200.0, 50.0), Fill(0, 0.2, 250.0, 0.0)]
    for order in (fills, fills[::-1]):
        got = [at(tank, order, time) for time in (150.0, 199.0, 225.0, 249.0, 251.0)]
        assert got == pytest.approx([0.25, 0.495, 0.75, 0.99, 0.2])


def test_a_flow_that_is_held_up_takes_no_time() -> None:
    full = [Filling(TANK, 1.0, False), Filling(replace(OTHER, bottom=-3.0, top=-2.0), 1.0, False)]
    nodes = list(levels(full, [Fill(0, 0.9, 500.0, 100.0)], [Flow(0, 1, 1e-3)], 1000.0))
    assert len(nodes) < 5000
    assert nodes[-1].filling == pytest.approx([0.9, 1.0])


def test_nothing_that_changes_is_no_path() -> None:
    tank = Filling(TANK, 0.5, True)
    assert filling_path([tank], [], [], SHIP, 100.0) is None
    assert filling_path([], [], [], SHIP, 100.0) is None
    assert filling_path([tank], [Fill(0, 0.5, 10.0, 20.0)], [], SHIP, 100.0) is None


@pytest.mark.parametrize("liquid", [False, True])
@pytest.mark.parametrize("over", [0.0, 300.0])
def test_mass_and_moments_follow_the_level_and_end_as_the_full_tank(
    over: float, liquid: bool
) -> None:
    made = path(Filling(TANK, 0.0, liquid), fills=[Fill(0, 1.0, 100.0, over)])
    segments = timeline(1000.0, Base(Gravity(KG)), filling=made)
    mass, kg, across, lever, rise, _ = loading_at(np.array([50.0, 250.0, 999.0]), segments).T
    share = TANK.capacity / SHIP * np.array([0.0, 0.5 if over else 1.0, 1.0])
    height = np.array([0.0, 0.3 if over else 0.6, 0.6])
    assert mass == pytest.approx(1.0 + share)
    assert kg == pytest.approx((KG + share * height) / (1.0 + share), abs=MOST_OFF)
    assert across == pytest.approx(share * 3.25 / (1.0 + share), abs=MOST_OFF)
    slack = TANK.free_surface_moment(0.5) / SHIP / (1.0 + share[1]) if over else 0.0
    assert rise == pytest.approx([0.0, slack, 0.0], abs=MOST_OFF)
    assert not lever.any()
    assert (made.levers is not None) is liquid


def exact(filling: float) -> LiquidLever:
    mass = 1.0 + TANK.capacity / SHIP * filling
    return LiquidLever.of([TANK], [filling], SHIP * mass)


def test_between_its_pieces_the_lever_is_that_of_the_level() -> None:
    made = path(Filling(TANK, 0.0, True), fills=[Fill(0, 1.0, 100.0, 300.0)])
    assert made.levers is not None
    segments = timeline(1000.0, Base(Gravity(KG)), filling=made)
    for segment in segments[1:-1]:
        for part in (0.0, 0.37, 0.5, 1.0):
            time = segment[0] + part * (segment[1] - segment[0])
            number = np.asarray(segment[FILLING] + segment[FILLING + 1] * (time - segment[0]))
            level = (time - 100.0) / 300.0
            if 0.0 < level < 1.0:
                got = made.levers.between("value", number, HEELS)
                assert got == pytest.approx(exact(level).value(HEELS), abs=2.0 * MOST_OFF)
    for tables in (np.linspace(0.0, made.levers.states - 1.0, 7),):
        single = [made.levers.between("value", np.asarray(x), HEELS) for x in tables]
        together = made.levers.between("value", tables[:, None], HEELS)
        assert together == pytest.approx(np.array(single), abs=1e-15)


def test_pieces_of_one_filling_join_and_events_part_them() -> None:
    made = path(Filling(TANK, 0.0, True), fills=[Fill(0, 1.0, 100.0, 300.0)])
    weight = Change(250.0, 20.0, mass=0.01)
    segments = timeline(1000.0, Base(Gravity(KG)), [weight], corners=[300.0], filling=made)
    parted = segments[segments[:, JOINS] == 0.0, START]
    assert parted.tolist() == [0.0, 100.0, 250.0, 270.0, 300.0, 400.0]
    assert np.count_nonzero(segments[:, JOINS]) > 20
    # What stands still does so to the last bit: nothing is remade there.
    assert np.all(segments[[0, -1]][:, 3:FILLING:2][:, :5] == 0.0)
    assert np.all(segments[[0, -1], FILLING + 1] == 0.0)


def test_the_height_of_g_is_cut_until_it_goes_straight() -> None:
    made = path(Filling(replace(TANK, top=8.0), 0.0, False), fills=[Fill(0, 1.0, 0.0, 1000.0)])
    for time in np.linspace(1.0, 999.0, 101):
        level = time / 1000.0
        expected = replace(TANK, top=8.0).capacity / SHIP * level * 4.0 * level
        assert made.at(np.array([time]))[0, HEIGHT] == pytest.approx(expected, abs=MOST_OFF)
    assert made.at(np.array([500.0]))[0, COORDINATE] > 1.0


def heights(nodes: list[Floats]) -> Floats:
    tanks = np.array([TANK.height, OTHER.height])
    return np.array([node * tanks for node in nodes])


def test_a_crossflow_levels_two_tanks_by_its_time_constant() -> None:
    tanks = [Filling(TANK, 0.9, False), Filling(OTHER, 0.1, False)]
    nodes = list(levels(tanks, [], [Flow(0, 1, 120.0)], 1000.0))
    times = np.array([node.time for node in nodes])
    depth = heights([node.filling for node in nodes])
    apart = depth[:, 0] - depth[:, 1]
    assert apart == pytest.approx(0.96 * np.exp(-times / 120.0), abs=1e-6)
    volume = depth @ [TANK.plan_area, OTHER.plan_area]
    assert volume == pytest.approx(volume[0], rel=1e-12)
    between = np.linspace(0.0, 1000.0, 997)
    assert np.interp(between, times, apart) == pytest.approx(
        0.96 * np.exp(-between / 120.0), abs=2e-4
    )


def test_a_flow_stops_where_a_tank_is_full() -> None:
    low = replace(OTHER, top=0.4)
    tanks = [Filling(TANK, 0.9, False), Filling(low, 0.5, False)]
    last = list(levels(tanks, [], [Flow(0, 1, 60.0)], 1000.0))[-1].filling
    spilled = low.plan_area * 0.2 / TANK.plan_area
    assert last[1] == pytest.approx(1.0)
    assert last[0] * TANK.height == pytest.approx(0.9 * TANK.height - spilled)


def test_a_tank_that_floods_and_flows_lags_behind_its_pair() -> None:
    tanks = [Filling(TANK, 0.0, False), Filling(replace(OTHER, fore=42.0), 0.0, False)]
    fills, flows = [Fill(0, 0.8, 0.0, 400.0)], [Flow(0, 1, 50.0)]
    nodes = {node.time: node.filling for node in levels(tanks, fills, flows, 1000.0)}
    lag = 50.0 * 0.8 * TANK.height / 400.0
    depth = nodes[400.0] * TANK.height
    assert depth[0] - depth[1] == pytest.approx(lag * (1.0 - math.exp(-8.0)), rel=1e-6)
    assert sum(depth) == pytest.approx(0.8 * TANK.height)
    assert nodes[1000.0] == pytest.approx([0.4, 0.4], abs=1e-5)
