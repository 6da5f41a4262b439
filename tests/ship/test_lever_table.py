"""KN tabulated: what the table gives back between its rows is the levers' own KN."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ship_samples import KINDS, Floats, tables

from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.moments import kn
from rollsim.ship.damping import Damping
from rollsim.ship.lever_table import LeverTable, even_rows, fine_step, tabulated
from rollsim.ship.levers import Levers, from_kn_table, wall_sided

STEEP = {
    "one degree steep": from_kn_table(np.radians([0, 20, 21, 60, 90]), [0, 1.5, 1.9, 3.5, 3.4]),
    "odd heels": from_kn_table(np.radians([0, 7.31, 13.77, 29.9, 61.7]), [0, 0.6, 1.3, 2.2, 3.1]),
    "wall-sided to 80°": wall_sided(5.0, 3.0, math.radians(80.0)),
}
every_kind = pytest.mark.parametrize(
    "levers", [*KINDS.values(), *STEEP.values()], ids=[*KINDS.keys(), *STEEP.keys()]
)


def looked_up(table: LeverTable, heel: Floats, level: int = 0) -> tuple[Floats, Floats]:
    """Value and slope by the quintic through value, slope and curvature of both rows.

    Hermite's basis over [0, 1], written out here from its own conditions.
    """
    place = heel / table.step + table.upright
    i = np.clip(np.floor(place).astype(int), 0, table.kn.shape[1] - 2)
    x = place - i
    powers = np.arange(6.0)
    conditions = []
    for end in (0.0, 1.0):
        conditions.append(end**powers)
        conditions.append(np.array([0, *[k * end ** (k - 1) for k in range(1, 6)]]))
        conditions.append(np.array([0, 0, *[k * (k - 1) * end ** (k - 2) for k in range(2, 6)]]))
    scale = np.array([1.0, table.step, table.step**2])
    ends = np.concatenate((table.kn[level, i] * scale, table.kn[level, i + 1] * scale), axis=1)
    series = np.linalg.solve(np.array(conditions), ends.T)
    value = np.sum(series * x ** powers[:, None], axis=0)
    slope = np.sum((series * powers[:, None])[1:] * x ** powers[:5, None], axis=0) / table.step
    return value, slope


def everywhere(levers: Levers) -> Floats:
    """Heels that no row falls on, close by every knot, and both ends."""
    even = np.linspace(levers.heel_min, levers.heel_max, 30011)
    near = (levers.knots[:, None] + np.linspace(-2e-3, 2e-3, 41)).ravel()
    return np.clip(np.concatenate((even, near)), levers.heel_min, levers.heel_max)


@every_kind
def test_the_table_is_the_levers_to_less_than_a_nanometre(levers: Levers) -> None:
    table, heel = tabulated(levers), everywhere(levers)
    value, slope = looked_up(table, heel)
    assert np.max(np.abs(value - levers.kn(heel))) < 1e-9
    assert np.max(np.abs(slope - levers.slope(heel))) < 2e-6


@settings(deadline=None, max_examples=25)
@given(table=tables(), km=st.one_of(st.none(), st.floats(4.0, 6.5)))
def test_any_table_comes_back(table: tuple[Floats, Floats], km: float | None) -> None:
    levers = from_kn_table(*table, km)
    heel = everywhere(levers)
    value, _ = looked_up(tabulated(levers), heel)
    assert np.max(np.abs(value - levers.kn(heel))) < 1e-9


@every_kind
def test_rows_stand_on_the_levers(levers: Levers) -> None:
    """Upright on a row exactly; the last row of a side at its end or less than a step past it."""
    table = tabulated(levers)
    heel, rows = table.heel, table.kn[0]
    assert heel[table.upright] == 0.0
    assert heel[0] <= levers.heel_min + 1e-12 < heel[1]
    assert heel[-2] < levers.heel_max - 1e-12 <= heel[-1] + 1e-11
    inside = (heel >= levers.heel_min) & (heel <= levers.heel_max)
    assert rows[inside, 0] == pytest.approx(levers.kn(heel[inside]), abs=1e-14)
    assert rows[inside, 1] == pytest.approx(levers.slope(heel[inside]), abs=1e-13)
    assert rows[inside, 2] == pytest.approx(levers.curvature(heel[inside]), abs=1e-10)


def test_steep_tables_have_finer_rows() -> None:
    smooth, steep = fine_step(KINDS["table with KM"]), fine_step(STEEP["one degree steep"])
    assert steep <= smooth
    assert fine_step(STEEP["odd heels"]) < smooth


@pytest.mark.parametrize("longest_deg", [0.5, 0.1, 0.03])
def test_rows_are_as_near_as_requested(longest_deg: float) -> None:
    levers = KINDS["table of both sides"]
    port, starboard, step = even_rows(levers, math.radians(longest_deg))
    assert step <= math.radians(longest_deg) * (1.0 + 1e-12)
    assert port * step >= -levers.heel_min - 1e-12
    assert starboard * step >= levers.heel_max - 1e-12
    assert tabulated(levers, math.radians(longest_deg)).kn.shape == (1, port + starboard + 1, 3)


@pytest.mark.parametrize("gm_per_m", [-0.05, 0.3])
@pytest.mark.parametrize("elevation", [-4.0, -0.3, 0.0, 0.5, 1.0, 7.5])
@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
def test_two_levels_carry_levers_that_change_with_the_wave(
    levers: Levers, elevation: float, gm_per_m: float
) -> None:
    """KN(ψ, ζ) = KN(ψ) + gm_per_m ζ sin ψ at any elevation, also beyond both levels."""
    c = calm_coefficients(levers, 2.9, Damping(), gm_per_m=gm_per_m)
    assert c.kn.shape[0] == 2
    for heel in np.linspace(levers.heel_min, levers.heel_max, 97):
        expected = float(levers.kn(heel)) + gm_per_m * elevation * math.sin(heel)
        assert kn(heel, elevation, c) == pytest.approx(expected, abs=1e-9 * (1.0 + abs(elevation)))


def test_without_a_change_the_elevation_does_not_matter() -> None:
    c = calm_coefficients(KINDS["table"], 2.9, Damping())
    assert kn(0.4, 3.0, c) == kn(0.4, 0.0, c)
