"""The paths of M and B from KN alone, against the design's figures and the geometry of hulls."""

from __future__ import annotations

import math

import numpy as np
import pytest
from ship_samples import HEEL, KINDS, KM, KN

from rollsim.ship.levers import Levers, from_kn_table, wall_sided
from rollsim.ship.metacentre import buoyancy, metacentre

KB = 2.739
every_kind = pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())


def test_the_wall_sided_figures_of_the_design() -> None:
    """KB 2, BM 3, heel 20°: exact wall-sided geometry."""
    levers, heel = wall_sided(5.0, 3.0, math.radians(40.0)), math.radians(20.0)
    assert metacentre(levers, heel) == pytest.approx((-0.1446501, 5.5961345), abs=5e-8)
    assert buoyancy(levers, heel, 2.0) == pytest.approx((1.0919107, 2.1987115), abs=5e-8)


def test_upright_m_stands_at_km_and_b_at_kb() -> None:
    levers = from_kn_table(HEEL, KN, KM)
    assert metacentre(levers, 0.0) == pytest.approx((0.0, KM), abs=1e-12)
    assert buoyancy(levers, 0.0, KB) == pytest.approx((0.0, KB), abs=1e-15)


def test_a_symmetric_hull_has_symmetric_paths() -> None:
    levers, heel = from_kn_table(HEEL, KN, KM), np.linspace(0.0, 1.5, 61)
    for path in (metacentre(levers, heel), buoyancy(levers, heel, KB)):
        assert path[0].shape == path[1].shape == heel.shape
    y, z = metacentre(levers, heel)
    assert metacentre(levers, -heel)[0] == pytest.approx(-y, abs=1e-10)
    assert metacentre(levers, -heel)[1] == pytest.approx(z, abs=1e-10)
    y, z = buoyancy(levers, heel, KB)
    assert buoyancy(levers, -heel, KB)[0] == pytest.approx(-y, abs=1e-12)
    assert buoyancy(levers, -heel, KB)[1] == pytest.approx(z, abs=1e-12)


@every_kind
def test_b_moves_along_the_waterline_and_m_is_its_centre_of_curvature(levers: Levers) -> None:
    """dB/dφ = BM w, with M straight above B as gravity sees it (Bouguer)."""
    step = 1e-5
    heel = np.linspace(levers.heel_min + 0.01, levers.heel_max - 0.01, 41)
    c, s = np.cos(heel), np.sin(heel)
    b, m = np.array(buoyancy(levers, heel, KB)), np.array(metacentre(levers, heel))
    ahead, behind = buoyancy(levers, heel + step, KB), buoyancy(levers, heel - step, KB)
    moved = (np.array(ahead) - np.array(behind)) / (2.0 * step)
    radius = (m[0] - b[0]) * -s + (m[1] - b[1]) * c
    assert moved[0] == pytest.approx(radius * c, abs=1e-8)
    assert moved[1] == pytest.approx(radius * s, abs=1e-8)
    assert (m[0] - b[0]) * c + (m[1] - b[1]) * s == pytest.approx(np.zeros(41), abs=1e-12)


@every_kind
def test_kn_is_the_distance_of_the_line_of_buoyancy_from_the_keel(levers: Levers) -> None:
    heel = np.linspace(levers.heel_min, levers.heel_max, 41)
    for y, z in (metacentre(levers, heel), buoyancy(levers, heel, KB)):
        assert y * np.cos(heel) + z * np.sin(heel) == pytest.approx(levers.kn(heel), abs=1e-12)


def test_wall_sided_paths_are_the_closed_forms() -> None:
    """B = (BM tan φ, KB + ½ BM tan²φ), M = (-BM tan³φ, KM + 3/2 BM tan²φ): exact."""
    levers, heel = wall_sided(5.0, 3.0, math.radians(40.0)), np.linspace(-0.69, 0.69, 31)
    t = np.tan(heel)
    assert buoyancy(levers, heel, 2.0)[0] == pytest.approx(3.0 * t, abs=1e-13)
    assert buoyancy(levers, heel, 2.0)[1] == pytest.approx(2.0 + 1.5 * t**2, abs=1e-13)
    assert metacentre(levers, heel)[0] == pytest.approx(-3.0 * t**3, abs=1e-12)
    assert metacentre(levers, heel)[1] == pytest.approx(5.0 + 4.5 * t**2, abs=1e-12)
