"""The invented coaster is one ship: every table of her in the examples is that of her hull."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from rollsim.scenario.load import load, loads
from rollsim.scenario.schema import Scenario
from rollsim.scenario.schema.hull_file import hull_of
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.levers import KnLevers
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship.hull.curves import Curves

FOLDER = Path(__file__).parents[2] / "scenarios"
HULL = FOLDER / "coaster-hull.toml"
NAME = "Marit"
FILES = sorted(path for path in FOLDER.rglob("*.toml") if not path.stem.endswith("-hull"))
OTHERS = {"basin-beam-sea": "Runa", "hopping": "Odile", "response-folded": "Runa"}
"""Scenarios of other invented ships: a closed form, and levers that bend down early."""


def curves(*displacement: float) -> Curves:
    """Of her hull at displacements [t]."""
    text = HULL.read_text(encoding="utf-8")
    return Curves(hull_of(NamedFile(HULL.name, text)), np.array(displacement))


@cache
def notebook(name: str) -> Scenario:
    """The first scenario in a notebook."""
    cells = json.loads((FOLDER / f"{name}.ipynb").read_text(encoding="utf-8"))["cells"]
    source = "\n".join("".join(cell["source"]) for cell in cells)
    (text, *_) = re.findall(r'= """\n(format = 1.*?)"""', source, re.S)
    return loads(text, name).base


def is_of_her_hull(scenario: Scenario) -> None:
    """The table of KN, KM, KB and the draught, each to the digits printed."""
    ship = scenario.ship
    assert ship.name == NAME
    assert isinstance(ship.levers, KnLevers)
    hers = curves(ship.displacement_t)
    kn = hers.kn(np.radians(ship.levers.heel_deg))[0, 0]
    assert np.abs(kn - ship.levers.kn_m).max() < 6e-5
    upright = hers.hydrostatics
    assert ship.draught_m == pytest.approx(upright.draught[0], abs=5e-3)
    assert ship.levers.km_m == pytest.approx(upright.km[0], abs=5e-3)
    if ship.levers.kb_m is not None:
        assert ship.levers.kb_m == pytest.approx(upright.kb[0], abs=5e-4)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_scenario_takes_its_levers_from_her_hull(file: Path) -> None:
    base = load(file).base
    if file.stem in OTHERS:
        assert base.ship.name == OTHERS[file.stem]
    elif isinstance(base.ship.levers, HullLevers):
        assert base.ship.name == NAME
        assert base.ship.levers.file.text == HULL.read_text(encoding="utf-8")
        assert (base.ship.length_m, base.ship.beam_m, base.ship.depth_m) == (84.0, 14.0, 8.1)
    elif file.stem != "four-loadings":
        is_of_her_hull(base)


@pytest.mark.parametrize("name", ["tutorial", "researcher"])
def test_the_notebooks_take_her_levers_from_her_hull(name: str) -> None:
    is_of_her_hull(notebook(name))


def test_the_cross_curves_of_her_booklet_are_those_of_her_hull() -> None:
    table = np.genfromtxt(FOLDER / "coaster-curves.csv", delimiter=",", names=True)
    hers = curves(*table["displacement_t"])
    names = [name for name in table.dtype.names or () if name.startswith("kn_")]
    heel = np.radians([float(name.removeprefix("kn_")) for name in names])
    kn = np.column_stack([table[name] for name in names])
    assert np.abs(hers.kn(heel)[:, 0] - kn).max() < 6e-5
    for name in ("draught", "kb", "km"):
        assert table[f"{name}_m"] == pytest.approx(getattr(hers.hydrostatics, name), abs=6e-4)


def test_she_floods_at_one_heel_in_all_files() -> None:
    """The angle that tables of her give, to the degree, is that of the vents of her hull."""
    hull = curves(4250.0).hull
    vents = np.array([(each.along, each.across, each.height) for each in hull.openings])
    heel = np.degrees(curves(4250.0).immersion(vents, np.pi / 2.0, np.radians(2.5)))
    given = {
        ship.limits.flooding_deg
        for ship in (load(file).base for file in FILES)
        if ship.ship.name == NAME and ship.limits.flooding_deg is not None
    }
    assert given == {42.0}
    assert np.nanmin(np.abs(heel)) == pytest.approx(42.0, abs=0.05)


def test_a_textbook_hull_beside_her_has_her_metacentre() -> None:
    """The sides that are vertical for ever in lessons/metacentre-moves.toml: her BM."""
    study = load(FOLDER / "lessons" / "metacentre-moves.toml")
    wall = study.cases[1].scenario.ship.levers
    assert wall.kind == "wall-sided"
    assert wall.bm_m == pytest.approx(curves(4250.0).hydrostatics.bm[0], abs=5e-4)
