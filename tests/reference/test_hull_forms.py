"""Hulls from stations against worked examples and closed forms from outside the program."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.ship.hull.curves import DENSITY, Curves, Trim, whole_volume
from rollsim.ship.hull.form import Hull, from_half_breadths


def box(length: float, beam: float, depth: float) -> Hull:
    half = 0.5 * beam
    ends = (from_half_breadths(x, [half, half], [0.0, depth]) for x in (0.0, length))
    return Hull("box", tuple(ends))


def righting_moment(hull: Hull, draught: float, kg: float, heel_deg: float) -> float:
    """W · GZ [t m] of a box at a draught [m], G at the height `kg` [m]."""
    displacement = hull.length * hull.beam * draught * DENSITY
    heel = math.radians(heel_deg)
    kn = Curves(hull, np.array([displacement])).kn(heel)[0, 0, 0]
    return float(displacement * (kn - kg * math.sin(heel)))


def test_a_worked_example_of_a_box_at_a_large_angle() -> None:
    """Published: box 55 x 7.5 x 6 m, draught 4 m, KG 2.7 m, 404.498 t m at 24° (Derrett, Ship
    Stability for Masters and Mates, exercise on the wall-sided formula, as solved online)."""
    assert righting_moment(box(55.0, 7.5, 6.0), 4.0, 2.7, 24.0) == pytest.approx(404.498, abs=5e-4)


def test_the_second_example_by_the_exact_formula() -> None:
    """Box 65 x 12 x 8 m, draught 4 m, KG 4 m at 25°: 1792.4 t m by the wall-sided formula, whose
    inputs are Derrett's; the figure is worked out here."""
    assert righting_moment(box(65.0, 12.0, 8.0), 4.0, 4.0, 25.0) == pytest.approx(1792.4, abs=0.05)


@pytest.mark.parametrize(
    ("loll_deg", "gm"),
    [
        # Solved exercise 19.4 of a chapter on the angle of loll, es.scribd.com/document/264194273,
        # page 3: box 100 x 12 x 8 m, draught 4 m, loll 18°: KB 2, BM 3, GM -0.158, KG 5.158 m.
        (18.0, -0.158),
        # Tutorial exercises on the angle of loll, scribd.com/doc/154278642, page 2, number 4: box
        # 100 x 12 m, draught 4 m, loll 25°: GM -0.3262 m. The depth is not given; 8 m keeps the
        # deck dry at 25°.
        (25.0, -0.3262),
    ],
)
def test_published_boxes_lie_at_their_angle_of_loll(loll_deg: float, gm: float) -> None:
    """By hand, wall-sided: GM = -BM tan²φ / 2 = -0.15836 and -0.32617 m; deck dry to 33.7°."""
    hull = box(100.0, 12.0, 8.0)
    curves = Curves(hull, np.array([100.0 * 12.0 * 4.0 * DENSITY]))
    km = float(curves.hydrostatics.km[0])
    assert km == pytest.approx(5.0, abs=1e-9)
    heel = math.radians(loll_deg)
    assert gm == pytest.approx(-0.5 * 3.0 * math.tan(heel) ** 2, abs=5e-4)
    gz = float(curves.kn(heel)[0, 0, 0]) - (km - gm) * math.sin(heel)
    assert gz == pytest.approx(0.0, abs=5e-4 * math.sin(heel))


def test_the_metacentre_and_tons_per_inch_of_a_seamanship_book() -> None:
    """Nicholls's Seamanship and Nautical Knowledge, page 527 (archive.org, item
    NichollssSeamanshipAndNauticalKnowledge): box of 36 ft beam, 18 ft draught, BM 6 ft, KM 15 ft;
    box of 200 x 30 ft, L B / (12 · 35) tons per inch, 14.286 worked out. Its sea water is 35 cubic
    feet to the ton, 1025.2 kg/m³."""
    foot, ton = 0.3048, 1.0160469088
    afloat = Curves(box(60.0, 36.0 * foot, 9.0), np.array([60.0 * 36 * 18 * foot**2 * DENSITY]))
    upright = afloat.hydrostatics
    assert float(upright.km[0]) / foot == pytest.approx(15.0, abs=1e-6)
    assert float(upright.bm[0]) / foot == pytest.approx(6.0, abs=1e-6)
    hull = box(200.0 * foot, 30.0 * foot, 9.0)
    per_cm = Curves(hull, np.array([1500.0])).hydrostatics.tonnes_per_cm[0]
    assert float(per_cm) * 2.54 / ton == pytest.approx(200 * 30 / 420, rel=5e-4)


def test_a_box_past_the_deck_edge_rests_and_vanishes_where_an_exact_polygon_does() -> None:
    """B 20, D 12, draught 6, KG 8.8: GZ by exact polygons worked out apart from this program."""
    heel = np.radians([20.0, 30.0, 40.0, 50.0])
    hull = box(100.0, 20.0, 12.0)
    kn = Curves(hull, np.array([12000.0 * DENSITY])).kn(heel)[0, 0]
    expected = [0.042253, 0.340741, 0.458367, 0.026121]
    np.testing.assert_allclose(kn - 8.8 * np.sin(heel), expected, atol=5e-7)


def test_the_parabolic_hull_by_numbers() -> None:
    """L 100, B 10, T 6.25: volume 2777.78, KB 3.90625, BM 1.371429, BML 3L²/(40T), exact
    integrals; from 161 stations within the error of straight lines between them."""
    z = np.linspace(0.0, 1.0, 81)
    half = 5.0 * (1.0 - (1.0 - z) ** 2)
    stations = tuple(
        from_half_breadths(100.0 * (x + 0.5), (1.0 - (2.0 * x) ** 2) * half, 6.25 * z)
        for x in np.linspace(-0.5, 0.5, 161)
    )
    hull = Hull("parabolic", stations)
    volume = whole_volume(hull)
    assert volume == pytest.approx(2777.78, rel=1.5e-4)
    displacement = np.array([volume * (1.0 - 1e-9) * DENSITY])
    upright = Curves(hull, displacement, Trim(free=False)).hydrostatics
    assert upright.kb[0] == pytest.approx(3.90625, rel=1e-4)
    assert upright.bm[0] == pytest.approx(1.371429, rel=1e-4)
    shift = 0.01
    trimmed = Curves(hull, 0.98 * displacement, Trim(True, 50.0 + shift)).hydrostatics
    # G forward by x trims her by x L / (BML less what B rises), here about 3L²/(40 · 6.1).
    assert -trimmed.trim[0] == pytest.approx(shift * 100.0 / (3.0 * 100.0**2 / 250.0), rel=0.1)
