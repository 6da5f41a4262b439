"""The loll map beside the live ship: what it draws are rests of the program's own lever."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from live_samples import SHIP, do, drawn
from numpy.typing import NDArray
from page_browser import Browser

from rollsim.scenario.load import loads
from rollsim.ship.levers import Gravity
from rollsim.ship.righting import RightingCurve
from rollsim.study.plan import make_plan

NAME = "document.getElementById('hill').getAttribute('aria-label')"
TICKS = """
[...document.querySelectorAll('#hill text.small')].filter((e) => e.getAttribute('text-anchor') ===
  '%s' && /^[−\\d.]+$/.test(e.textContent)).map((e) => [Number(e.textContent.replace('−', '-')),
  Number(e.getAttribute('%s'))])
"""
Floats = NDArray[np.float64]


def axis(live: Browser, anchor: str, name: str) -> tuple[float, float]:
    """Slope and offset from places on the screen to values, by the labels of the ticks."""
    values, places = np.array(live.run(TICKS % (anchor, name)), dtype=float).T
    slope, offset = np.polyfit(places - (5.0 if name == "y" else 0.0), values, 1)
    return float(slope), float(offset)


def segments(live: Browser, path: str) -> Floats:
    """Height of G [m] and heel [degree] at both ends of the strokes of a path, (n, 2, 2)."""
    text = live.run(f"document.querySelector('#hill path.{path}').getAttribute('d')")
    strokes = [[end.split() for end in part.split("L")] for part in text.split("M")[1:]]
    (ax, bx), (ay, by) = axis(live, "middle", "x"), axis(live, "end", "y")
    return np.array(strokes, dtype=float) * [ax, ay] + [bx, by]


@pytest.mark.parametrize(
    ("kg", "off_centre", "free_surface", "wind"),
    [(5.3, 0.0, 0.0, 0.0), (5.7, 0.0, 0.05, 0.0), (5.7, 0.02, 0.0, 0.0), (5.5, -0.01, 0.0, 12.0)],
)
def test_every_point_is_a_rest_of_her_own_lever(
    live: Browser, kg: float, off_centre: float, free_surface: float, wind: float
) -> None:
    given = {"kg_m": kg, "off_centre_m": off_centre, "free_surface_m": free_surface}
    do(live, "set", given | {"wind_mps": wind})
    live.run("document.getElementById('show-map').click()")
    drawn(live)
    assert "Heels of rest over the height of G" in live.run(NAME)
    blowing = f'[wind]\nspeed_mps = {wind}\nfrom = "port"\n' if wind else ""
    case = make_plan(loads(SHIP + blowing)).cases[0]
    for path, sign in (("curve", 1.0), ("steady", -1.0)):
        strokes = segments(live, path)
        assert len(strokes) > 10
        assert np.ptp(strokes[:, :, 0]) > 0.2
        for height, heel in strokes.mean(axis=1):
            curve = RightingCurve(case.levers, Gravity(height, off_centre), case.heeling)
            assert float(curve.value(math.radians(heel))) == pytest.approx(0.0, abs=1.5e-3)
            assert sign * float(curve.slope(math.radians(heel))) > -0.02


def test_the_point_goes_with_her_and_the_hill_comes_back(live: Browser) -> None:
    live.run("document.getElementById('show-map').click()")
    places = []
    for kg in (5.4, 5.6, 5.76):
        do(live, "set", {"kg_m": kg})
        drawn(live)
        slope, offset = axis(live, "middle", "x")
        x = float(live.run("document.querySelector('#hill circle').getAttribute('cx')"))
        assert slope * x + offset == pytest.approx(kg, abs=2e-3)
        places.append(x)
    assert all(a < b for a, b in pairwise(places))
    live.run("document.getElementById('show-map').click()")
    drawn(live)
    assert "Energy over heel" in live.run(NAME)
    assert live.run("document.querySelector('#hill polyline.curve') !== null")
