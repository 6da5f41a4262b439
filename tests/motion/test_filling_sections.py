"""Tanks by sections that fill and flow: levels, moments and levers between their pieces."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from rollsim.motion.filling import ACROSS, HEELS, HEIGHT, MASS, MOST_OFF, RISE, filling_path
from rollsim.motion.levels import Fill, Filling, Flow, levels
from rollsim.ship.hull.form import from_outline
from rollsim.ship.liquid import LiquidLever
from rollsim.ship.tanks.box import BoxTank
from rollsim.ship.tanks.sections import SectionTank

Floats = NDArray[np.float64]

SHIP = 4_000_000.0


def wedge(apex: float, divisions: int = 1) -> SectionTank:
    """A bilge tank of 12 m whose bottom rises outwards from y = 0 to `apex` [m]."""
    outline = [(0.0, 0.2), (apex, 1.4), (0.0, 1.4)]
    stations = from_outline(30.0, outline), from_outline(42.0, outline)
    return SectionTank(stations, 1025.0, divisions=divisions)


PORT, STARBOARD = wedge(-6.0), wedge(6.0, 2)


@pytest.mark.parametrize("liquid", [False, True])
def test_mass_moments_and_lever_follow_the_level(liquid: bool) -> None:
    fills = [Fill(0, 1.0, 100.0, 300.0)]
    path = filling_path([Filling(STARBOARD, 0.0, liquid)], fills, [], SHIP, 1000.0)
    assert path is not None
    share = STARBOARD.capacity / SHIP
    for time in np.linspace(101.0, 399.0, 53):
        level = float((time - 100.0) / 300.0)
        mass = 1.0 + share * level
        at, row = STARBOARD.centroid(level), path.at(np.array([time]))[0]
        expected = [0.0] * 4
        expected[MASS], expected[HEIGHT] = share * level, share * level * at.height
        expected[ACROSS] = share * level * at.across
        expected[RISE] = STARBOARD.free_surface_moment(level) / SHIP / mass
        assert row[:4] == pytest.approx(expected, abs=1.5 * MOST_OFF)
        if path.levers is None:
            continue
        got = path.levers.between("value", np.asarray(row[4]), np.append(-HEELS, HEELS))
        exact = LiquidLever.of([STARBOARD], [level], SHIP * mass)
        assert got == pytest.approx(exact.value(np.append(-HEELS, HEELS)), abs=3.0 * MOST_OFF)
    assert (path.levers is not None) is liquid
    assert len(path.times) < 400
    assert path.at(np.array([999.0]))[0, :4] == pytest.approx(
        [share, share * STARBOARD.centroid(1.0).height, share * STARBOARD.centroid(1.0).across, 0.0]
    )


def test_a_crossflow_levels_tanks_of_any_form_by_its_time_constant() -> None:
    box = BoxTank(30.0, 36.0, -3.0, 0.0, 0.0, 2.0, density=1025.0)
    tanks = [Filling(PORT, 0.9, False), Filling(box, 0.1, False)]
    nodes = list(levels(tanks, [], [Flow(0, 1, 120.0)], 1000.0))
    times = np.array([node.time for node in nodes])
    heights = np.array(
        [[tank.tank.surface_height(part) for tank, part in
          zip(tanks, node.filling.tolist(), strict=True)] for node in nodes]
    )  # fmt: skip
    apart = heights[:, 0] - heights[:, 1]
    assert apart == pytest.approx(apart[0] * np.exp(-times / 120.0), abs=1e-6)
    volume = np.array([node.filling @ [PORT.volume, box.volume] for node in nodes])
    assert volume == pytest.approx(volume[0], rel=1e-12)


def test_what_flows_into_an_empty_wedge_stays_finite() -> None:
    tanks = [Filling(PORT, 0.0, True), Filling(STARBOARD, 0.0, True)]
    nodes = list(levels(tanks, [Fill(0, 0.6, 0.0, 400.0)], [Flow(0, 1, 60.0)], 3000.0))
    assert all(np.all(np.isfinite(node.filling)) for node in nodes)
    assert nodes[-1].filling == pytest.approx([0.3, 0.3], abs=1e-4)
    assert len(nodes) < 2500


def test_a_wedge_that_is_filled_in_steps_has_the_level_of_its_volume() -> None:
    heights = [PORT.surface_height(part) for part in (0.04, 0.25, 1.0)]
    assert heights == pytest.approx([0.2 + 1.2 * math.sqrt(p) for p in (0.04, 0.25, 1.0)])
