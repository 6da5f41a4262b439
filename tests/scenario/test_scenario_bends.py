"""Bends of the levers' curve: rounding makes none, a typing error one, and its row is named."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_samples import GZ, GZ_KG, HEELS, KN

from rollsim.scenario.checks.plausible.bends import extra_bend, gm_uncertainty, table_resolution
from rollsim.scenario.schema import Gravity, GzLevers, KnLevers, gm_of


def wall_sided(km: float, bm: float, decimals: int, heels: list[int] = HEELS[:13]) -> list[float]:
    angles = [math.radians(heel) for heel in heels]
    return [round((km + 0.5 * bm * math.tan(a) ** 2) * math.sin(a), decimals) for a in angles]


def kn_levers(kn: list[float], km: float | None, heels: list[int] = HEELS) -> KnLevers:
    rows = tuple(float(heel) for heel in heels[: len(kn)])
    return KnLevers(kind="kn", heel_deg=rows, kn_m=tuple(kn), km_m=km)


@pytest.mark.parametrize("decimals", [2, 3, 4])
@pytest.mark.parametrize(("km", "written"), [
    (6.3241, 6.324), (6.3241, 6.3241), (6.3241, 6.32), (5.66, 5.66), (7.4049, 7.4),
])  # fmt: skip
def test_rounding_of_rows_and_of_km_makes_no_bend(km: float, written: float, decimals: int) -> None:
    assert extra_bend(kn_levers(wall_sided(km, 3.1, decimals), written)) is None


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    st.floats(4.0, 9.0), st.floats(0.15, 0.9), st.integers(2, 4), st.integers(2, 4),
    st.sampled_from([HEELS[:13], list(range(0, 41, 2)), [0, 10, 20, 30, 40, 50, 60]]),
)  # fmt: skip
def test_no_rounding_of_a_smooth_hull_makes_a_bend(
    km: float, share: float, decimals: int, places: int, heels: list[int]
) -> None:
    kn = wall_sided(km, share * km, decimals, heels)
    assert extra_bend(kn_levers(kn, round(km, places), heels)) is None
    assert extra_bend(kn_levers(kn, None, heels)) is None


def test_the_rounding_of_km_alone_makes_no_bend() -> None:
    kn = wall_sided(6.3241, 1.2, 4)
    assert extra_bend(kn_levers(kn, 6.32)) is None
    assert extra_bend(kn_levers(kn, 6.3199)) is not None


def test_the_sample_bends_only_as_its_rows_do() -> None:
    assert extra_bend(kn_levers(KN, 5.659)) is None
    assert extra_bend(kn_levers(KN, None)) is None


@pytest.mark.parametrize("wrong", [-0.3, 0.3, 1.0])
def test_a_mistyped_km_bends_the_curve_near_upright(wrong: float) -> None:
    bend = extra_bend(kn_levers(wall_sided(5.66, 2.9, 3), round(5.66 + wrong, 3)))
    assert bend is not None
    assert bend.heel_deg <= 5.001
    assert bend.row == 1


def test_gm_uncertainty_is_what_the_rounding_can_do() -> None:
    levers = kn_levers(KN, None)
    resolution, moved = gm_uncertainty(levers)
    gravity = Gravity(kg_m=5.3)
    gms = [
        gm_of(kn_levers([0.0, *(kn + sign * (-1) ** row * 0.0005 for row, kn in enumerate(KN[1:]))],
                        None), gravity)
        for sign in (1, -1)
    ]  # fmt: skip
    assert resolution == 0.001
    assert abs(gms[0] - gms[1]) / 2.0 <= moved * 1.001
    assert abs(gms[0] - gms[1]) / 2.0 == pytest.approx(moved, rel=0.2)


@pytest.mark.parametrize(
    ("values", "place"), [((1.0, 2.0), 1.0), ((1.25, 2.0), 0.01), ((0.0, 1e-3), 0.001)]
)
def test_last_places(values: tuple[float, ...], place: float) -> None:
    assert table_resolution(values) == pytest.approx(place)


def test_gz_levers_bend_as_kn_levers_do() -> None:
    heels = tuple(float(heel) for heel in HEELS)
    gz = GzLevers(kind="gz", heel_deg=heels, gz_m=tuple(GZ), kg_m=GZ_KG, gm_m=0.359)
    assert extra_bend(gz) is None
    assert extra_bend(gz.model_copy(update={"gm_m": 0.0})) is not None


def test_a_row_that_rounding_may_turn_speaks_against_no_bend() -> None:
    """Close rows, rounded: about a corner of the hull their second differences are not known."""
    heels = [row / 4 for row in range(361)]
    kn = [
        round(
            (5.66 + 1.45 * math.tan(math.radians(min(h, 30.0))) ** 2) * math.sin(math.radians(h)), 4
        )
        for h in heels
    ]
    levers = KnLevers(kind="kn", heel_deg=tuple(heels), kn_m=tuple(kn), km_m=5.659)
    assert extra_bend(levers) is None
