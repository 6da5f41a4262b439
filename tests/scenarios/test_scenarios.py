"""The demo scenarios: sound, honest in their words, and each shows what its title says."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console, RenderableType
from scenario_stories import STORIES, failures, roll

from rollsim.cli.main import run
from rollsim.scenario.expand.grid import value_at
from rollsim.scenario.load import load, loads
from rollsim.scenario.schema.catalogue import resolve
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import metacentric_height
from rollsim.ship.metacentre import metacentre
from rollsim.ship.righting import RightingCurve
from rollsim.show.report.inputs import inputs_of
from rollsim.show.tables.margins import margins_table
from rollsim.store.maps import open_map
from rollsim.store.reading import open_result
from rollsim.study.criteria import ship_at_rest
from rollsim.study.plan import Plan, make_plan
from rollsim.study.run import run_to_file
from rollsim.study.warnings import warnings

FOLDER = Path(__file__).parents[2] / "scenarios"
FILES = sorted(path for path in FOLDER.glob("*.toml") if not path.stem.endswith("-hull"))
CALM = [
    "crest-of-a-following-sea",
    "criteria-coaster",
    "irregular-head-seas",
    "free-decay",
    "gust-on-roll",
    "head-seas",
    "papers-to-report",
    "three-metacentric-heights",
]
"""Files whose whole study takes a moment."""
MOST_HOURS = 110.0


def plain(table: RenderableType) -> str:
    """A table as a terminal shows it."""
    console = Console(width=100, no_color=True)
    with console.capture() as captured:
        console.print(table)
    return captured.get()


each_file = pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)


def plan_of(stem: str) -> Plan:
    return make_plan(load(FOLDER / f"{stem}.toml"))


def test_every_file_has_its_story() -> None:
    assert [file.stem for file in FILES] == sorted(STORIES)


TOLD = {
    "head-seas": "twice her natural frequency",
    "irregular-head-seas": "twice her natural frequency",
    "gusty-wind": "gusts faster than 1 Hz",
}
"""What `check` must tell of a file, and of no other."""


@each_file
def test_warnings_are_those_that_the_file_is_about(file: Path) -> None:
    told = warnings(make_plan(load(file)))
    assert len(told) == (1 if file.stem in TOLD else 0)
    assert all(TOLD[file.stem] in words for words in told)


def test_all_files_stay_within_the_storm_hours() -> None:
    lessons = (FOLDER / "lessons").glob("*.toml")
    hours = [make_plan(load(file)).hours for file in (*FILES, *lessons)]
    assert 0.0 < sum(hours) <= MOST_HOURS


@each_file
def test_the_words_of_a_file(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    head = text[: text.index("format = 1")]
    words = " ".join(line.lstrip("#").strip() for line in head.splitlines())
    assert "What to look at" in words
    assert "The ship and all her data are invented." in words
    if any(metacentric_height(c.levers, c.gravity) < 0.0 for c in make_plan(load(file)).cases):
        assert "never correct it by shifting or filling on the high side" in words


def test_one_ship_in_all_files() -> None:
    every = [load(file).base.ship for file in FILES]
    assert {(s.name, s.length_m, s.beam_m) for s in every} == {("Marit", 84.0, 14.0)}
    draughts = {(s.displacement_t, round(s.draught_m, 2)) for s in every if s.loading is None}
    assert draughts == {(4250.0, 5.2), (2800.0, 3.64)}


def test_papers_to_report_what_her_parts_know_of_each_other(tmp_path: Path) -> None:
    """The deck edge of her hull in the criteria, her sheet's mass beside the critical one, her
    loading in the summary, her hull's file named in the report and not written out."""
    plan = plan_of("papers-to-report")
    edges = []
    for case, spec in zip(plan.cases, plan.study.cases, strict=True):
        edge = ship_at_rest(case, spec.scenario).form.deck_edge
        assert edge is not None
        edges.append(edge - np.arctan2(8.1 - case.draught, 7.0))
    assert np.abs(np.degrees(edges)).max() < 0.5
    path = resolve("ship.loading.weights.0.mass_t")
    assert path is not None
    whole = plan.study.cases[0].scenario.model_dump(by_alias=True)
    assert value_at(whole, path) == 340.0
    file = tmp_path / "result.nc"
    assert run_to_file(plan, file)
    with open_result(file) as ds:
        text = plain(margins_table(ds))
        inputs = str(inputs_of(ds))
    assert re.search(r"0 +departure +3940\.1 +5\.362 +0\.052 +0\.303\b", text)
    assert "files.coaster-hull.toml" in inputs
    assert "half_breadth_m" not in inputs


def test_her_levers_rest_upright_at_zero_gm() -> None:
    """The rounding of the table must not make a loll of its own: GZ > 0 at every small heel."""
    case = plan_of("three-metacentric-heights").cases[1]
    assert metacentric_height(case.levers, case.gravity) == 0.0
    curve = RightingCurve(case.levers, case.gravity)
    assert [(e.heel, e.kind) for e in equilibria(curve) if abs(e.heel) < 0.5] == [(0.0, "stable")]
    assert np.all(curve.value(np.radians(np.linspace(0.5, 30.0, 60))) > 0.0)


def test_her_metacentre_is_highest_where_the_deck_edge_goes_under() -> None:
    """From the sides and the depth of the file: atan((8.1 - 5.2) / 7) = 22.5 degrees."""
    ship = load(FOLDER / "beam-gale.toml").base.ship
    assert ship.depth_m is not None
    edge = np.degrees(np.arctan2(ship.depth_m - ship.draught_m, 0.5 * ship.beam_m))
    heel = np.linspace(0.0, 90.0, 361)
    height = metacentre(plan_of("beam-gale").cases[0].levers, np.radians(heel))[1]
    highest = int(np.argmax(height))
    assert abs(heel[highest] - edge) < 1.5
    assert np.all(np.diff(height[: highest + 1]) > 0.0)
    assert np.all(np.diff(height[highest : 2 * highest]) < 0.0)


@pytest.mark.parametrize("stem", CALM)
def test_calm_stories(stem: str, tmp_path: Path) -> None:
    path = tmp_path / "result.nc"
    assert run_to_file(plan_of(stem), path)
    with open_result(path) as ds:
        STORIES[stem](ds)


@pytest.mark.parametrize("stem", sorted(STORIES.keys() - set(CALM)))
def test_shortened_copies(stem: str, tmp_path: Path) -> None:
    """The first two minutes, two seas, of each longer study: nothing has struck yet."""
    text = (FOLDER / f"{stem}.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^duration_s = .*$", "duration_s = 120.0", text)
    text = re.sub(r"(?m)^realisations = .*$", "realisations = 2", text)
    path = tmp_path / "result.nc"
    assert run_to_file(make_plan(loads(text, stem, FOLDER)), path)
    with open_result(path) as ds:
        assert not failures(ds).any()
        for case in range(ds.sizes["case"]):
            of = ds.isel(case=case)
            assert np.abs(roll(of)[:, 0] - float(of["static_heel"])).max() < 1e-4
            assert np.abs(roll(of) - float(of["static_heel"])).max() < 35.0


@pytest.mark.slow
@pytest.mark.parametrize("stem", sorted(STORIES))
def test_stories(stem: str, tmp_path: Path) -> None:
    """Each file as its reader runs it, pictures included, shows what its title says."""
    path = tmp_path / f"{stem}.nc"
    assert run(["run", str(FOLDER / f"{stem}.toml"), "--out", str(path)]) == 0
    pictures = ["stability", "histories", "phase", "margins"]
    pictures += ["severity"] if load(FOLDER / f"{stem}.toml").base.severity else []
    assert {file.stem for file in tmp_path.glob("*.png")} == {f"{stem}-{p}" for p in pictures}
    with open_result(path) as ds:
        STORIES[stem](ds)


@pytest.mark.slow
def test_the_limiting_curves(tmp_path: Path) -> None:
    """What the head of limiting-kg.toml says of its two curves."""
    path = tmp_path / "curves.nc"
    assert run(["critical", str(FOLDER / "limiting-kg.toml"), "--out", str(path)]) == 0
    with open_map(path, "critical") as ds:
        full, deck = ds["critical_value"].values.reshape(2, 5)
        own_full, own_deck = ds["own_value"].values.reshape(2, 5)[:, 0]
        assert np.isnan(deck[4])
        assert ds["critical_rises"].values[:9].all()
        half = 0.5 * (ds["critical_value_upper"] - ds["critical_value_lower"]).values
    assert np.nanmax(half) <= 0.015
    assert np.all(np.diff(full) < 0.0)
    assert np.all(np.diff(deck[:4]) < 0.0)
    costs = full[:4] - deck[:4]
    assert np.all(np.diff(costs) > 0.0)
    assert costs[0] == pytest.approx(0.08, abs=0.02)
    assert costs[3] == pytest.approx(0.13, abs=0.01)
    assert full[4] - own_full == pytest.approx(0.22, abs=0.01)
    assert deck[3] == pytest.approx(own_deck, abs=0.03)
