"""Liquid that moves and tanks that fill: the block engine against DOP853, and energy kept."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from rollsim.engines.at_outputs import AtOutputs
from rollsim.engines.base import Case, run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.registry import engine_for
from rollsim.motion.timeline import JOINS, START, loading_at
from rollsim.scenario.load import loads
from rollsim.study.plan import make_plan

Floats = NDArray[np.float64]

SHIP = """\
format = 1

[ship]
name = "box"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2

[ship.levers]
kind = "wall-sided"
km_m = 5.66
bm_m = 2.9
heel_max_deg = 50.0

[ship.loading]
lightship = {{ mass_t = 4100.0, height_m = {height} }}
{tanks}

[ship.inertia]
gyradius_m = 5.3

{damping}

[start]
roll_deg = {roll}

[run]
duration_s = 240.0
method = "{method}"
relative_tolerance = 1e-10
absolute_tolerance_deg = 1e-9
{events}
"""
DAMPED = "[ship.damping]\nlinear_per_s = 0.02\nquadratic = 0.3"


def tank(
    name: str, port: float, starboard: float, filling: float, kind: str, more: str = ""
) -> str:
    box = f"aft = 30.0, fore = 42.0, port = {port}, starboard = {starboard}, bottom = 0.0"
    return (
        f'[[ship.loading.tanks]]\nname = "{name}"\nbox_m = {{ {box}, top = 1.2 }}\n'
        f'filling_percent = {filling}\nfree_surface = "{kind}"\n{more}\n'
    )


FILL = '[[events]]\nkind = "fill-tank"\ntank = "{}"\nto_percent = {}\nat_s = {}\nover_s = {}\n'


def case(
    method: str, tanks: str, events: str = "", damping: str = DAMPED, roll: float = 15.0,
    height: float = 5.4,
) -> Case:  # fmt: skip
    text = SHIP.format(
        height=height, tanks=tanks, damping=damping, roll=roll, method=method, events=events
    )
    return make_plan(loads(text)).cases[0]


def rolled(of: Case) -> Floats:
    """Roll and its rate [degree] over the outputs."""
    runs = engine_for(of).run(run_list(0, of.start), histories=True)
    return np.array([runs.histories[0][0], runs.histories[1][0]], dtype=np.float64)


SLACK = tank("port", -6.5, 0.0, 40.0, "liquid") + tank("starboard", 0.0, 6.5, 70.0, "liquid")
CROSS = tank(
    "port", -6.5, 0.0, 90.0, "liquid",
    'crossflow = { with = "starboard", time_constant_s = 30.0 }',
) + tank("starboard", 0.0, 6.5, 10.0, "liquid")  # fmt: skip

BILGE = """sections = [
  {{ along_m = 30.0, outline_m = [[0.0, 0.2], [{0}, 0.2], [{1}, 1.0], [{1}, 2.2], [0.0, 2.2]] }},
  {{ along_m = 42.0, outline_m = [[0.0, 0.2], [{0}, 0.4], [{1}, 1.4], [{1}, 2.2], [0.0, 2.2]] }},
]"""


def by_sections(tanks: str) -> str:
    """The two tanks as wings that follow a bilge, the starboard one with a bulkhead."""
    for place, side in (("port = -6.5, starboard = 0.0", -1), ("port = 0.0, starboard = 6.5", 1)):
        box = f"box_m = {{ aft = 30.0, fore = 42.0, {place}, bottom = 0.0, top = 1.2 }}"
        assert box in tanks
        more = "\ndivisions = 2" if side > 0 else ""
        tanks = tanks.replace(box, BILGE.format(4.0 * side, 6.0 * side) + more)
    return tanks


@pytest.mark.parametrize(
    ("tanks", "events"),
    [
        (by_sections(SLACK), FILL.format("port", 100.0, 20.0, 120.0)),
        (by_sections(CROSS), FILL.format("starboard", 80.0, 60.0, 0.0)),
        (SLACK, ""),
        (SLACK, FILL.format("port", 100.0, 20.0, 120.0) + FILL.format("starboard", 0.0, 60.0, 0.0)),
        (SLACK.replace("liquid", "moment"), FILL.format("port", 100.0, 20.0, 120.0)),
        (CROSS, ""),
    ],
    ids=["sections", "sections-crossflow", "slack", "filling", "moment", "crossflow"],
)
def test_the_block_engine_is_the_reference(tanks: str, events: str) -> None:
    block, exact = (rolled(case(method, tanks, events)) for method in ("block", "DOP853"))
    assert np.max(np.abs(block[0] - exact[0])) < 0.01
    assert np.ptp(exact[0]) > 10.0


@pytest.mark.parametrize("tanks", [SLACK, by_sections(SLACK)], ids=["boxes", "sections"])
def test_the_energy_margin_follows_a_tank_that_empties(tanks: str) -> None:
    """Undamped, so that the barrier that sinks is what makes the least margin."""
    emptying = FILL.format("starboard", 0.0, 20.0, 120.0)
    margins = []
    for method in ("block", "DOP853"):
        of = case(method, tanks, emptying, damping="", roll=25.0, height=5.6)
        runs = engine_for(of).run(run_list(0, of.start), histories=False)
        margins.append(runs.numbers["energy_margin"][0])
    assert margins[0] == pytest.approx(margins[1], abs=2e-5)
    assert 0.1 < margins[1] < 0.98


def test_pieces_of_a_filling_are_one_stretch() -> None:
    of = case("block", SLACK, FILL.format("port", 100.0, 20.0, 120.0))
    engine = engine_for(of)
    assert isinstance(engine, BlockEngine)
    assert len(of.segments) > 20
    assert len(engine.stepper().pieces) < 12


def test_an_event_at_a_border_between_pieces_of_a_filling_is_a_corner() -> None:
    """Steps of a scheme of several go through the other borders, but never through this one."""
    filling = FILL.format("port", 100.0, 20.0, 120.0)
    segments = case("block", SLACK, filling).segments
    borders = segments[segments[:, JOINS] == 1.0, START]
    at = float(borders[borders.size // 2])
    push = f'[[events]]\nkind = "heeling-lever"\nat_s = {at!r}\nlever_m = 0.02\n'
    pushed = case("block", SLACK, filling + push).segments
    joined = pushed[pushed[:, JOINS] == 1.0, START]
    assert joined == pytest.approx(borders[borders != at])


@pytest.mark.parametrize("tanks", [SLACK, by_sections(SLACK)], ids=["boxes", "sections"])
@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_an_undamped_roll_with_moving_liquid_keeps_its_energy(method: str, tanks: str) -> None:
    of = case(method, tanks, damping="", roll=25.0, height=5.2)
    heel, rate = np.radians(rolled(of))
    energy = 0.5 * of.coefficients.inertia * rate**2 + of.curve.potential(heel)
    assert np.ptp(energy) < 2e-4 * np.mean(energy)
    assert np.min(heel) < -0.3


def test_sections_that_fill_end_as_the_loading_with_them_full() -> None:
    slack = by_sections(SLACK)
    filled = case("block", slack, FILL.format("port", 100.0, 10.0, 100.0))
    full = case("block", slack.replace("40.0\n", "100.0\n"))
    loading = loading_at(np.array([239.0]), filled.segments)[0]
    g = full.gravity
    assert [loading[i] for i in (1, 2, 4)] == pytest.approx(
        [g.kg, g.off_centre, g.free_surface], abs=1e-12
    )
    heel = np.linspace(-0.8, 0.8, 33)
    last = AtOutputs(filled).loadings.curve(-1)
    assert last.value(heel) == pytest.approx(full.curve.value(heel), abs=1e-12)


@pytest.mark.parametrize("kind", ["liquid", "moment"])
def test_a_tank_that_fills_ends_as_the_loading_with_it_full(kind: str) -> None:
    slack = SLACK.replace("liquid", kind)
    filled = case("block", slack, FILL.format("port", 100.0, 10.0, 100.0))
    full = case("block", slack.replace("40.0", "100.0"))
    mass, kg, across, _, rise, _ = loading_at(np.array([239.0]), filled.segments)[0]
    g = full.gravity
    assert mass == pytest.approx(1.0 + 0.6 * 12.0 * 6.5 * 1.2 * 1.025 / (
        4100.0 + 1.1 * 12.0 * 6.5 * 1.2 * 1.025))  # fmt: skip
    assert (kg, across, rise) == pytest.approx((g.kg, g.off_centre, g.free_surface), abs=1e-12)
    heel = np.linspace(-0.8, 0.8, 33)
    last = AtOutputs(filled).loadings.curve(-1)
    assert last.value(heel) == pytest.approx(full.curve.value(heel), abs=1e-12)
    assert last.slope(heel) == pytest.approx(full.curve.slope(heel), abs=1e-12)
    assert last.potential(heel) == pytest.approx(full.curve.potential(heel), abs=1e-12)
