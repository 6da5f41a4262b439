"""The live page's stepper against the program's own runs: every scenario, every case."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from live_samples import SCENARIOS, SHIP, do, opened, rolls, state
from numpy.typing import NDArray
from page_browser import Browser

from rollsim.cli.live import page_data
from rollsim.errors import InputError
from rollsim.library import LoadedStudy, load, loads

WITHIN = 0.01
"""How far page and program may differ [degree]."""
EVERY = 4
"""Of the outputs every so many-th is compared."""
LESSONS = sorted(path.stem for path in (SCENARIOS / "lessons").glob("*.toml"))
OTHERS = sorted(path.stem for path in SCENARIOS.glob("*.toml") if not path.stem.endswith("-hull"))


def differences(browser: Browser, folder: Path, study: LoadedStudy) -> list[float]:
    """The greatest difference of roll [degree] in every case; a capsize must come in both."""
    opened(browser, folder, study.study)
    found = []
    for case in range(len(study.plan.cases)):
        browser.enter("case", case)
        times = study.plan.times[::EVERY]
        page = np.array(rolls(browser, times.tolist()), dtype=float)
        difference = between(page, study, case)
        if difference > WITHIN:
            # A run that magnifies a disturbance magnifies the program's own error: made finer.
            difference = between(page, exact(study.study.text, folder), case)
        found.append(difference)
    assert browser.problems() == []
    return found


def between(page: NDArray[np.float64], study: LoadedStudy, case: int) -> float:
    """The greatest difference of the page's rolls from those of the program's run."""
    roll = study.runs(case, histories=True, workers=1)["roll_angle"].values[0][::EVERY]
    assert (np.isfinite(page) == np.isfinite(roll)).all()
    return float(np.nanmax(np.abs(page - roll)))


def exact(text: str, folder: Path) -> LoadedStudy:
    """The same study by scipy's solver, to many digits."""
    run = '[run]\nmethod = "DOP853"\nrelative_tolerance = 1e-10\nabsolute_tolerance_deg = 1e-10'
    return beside(text.replace("[run]", run, 1), folder)


def beside(text: str, folder: Path) -> LoadedStudy:
    """The study of a text, the files that the scenarios name beside it."""
    for file in (*SCENARIOS.glob("*.csv"), *SCENARIOS.glob("*-hull.toml")):
        (folder / file.name).write_bytes(file.read_bytes())
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    return load(folder / "scenario.toml")


@pytest.mark.slow
@pytest.mark.parametrize("name", [*(f"lessons/{name}" for name in LESSONS), *OTHERS])
def test_every_scenario_in_the_page_is_the_program_s_run(
    name: str, browser: Browser, tmp_path: Path
) -> None:
    text = (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")
    assert max(differences(browser, tmp_path, beside(text, tmp_path))) < WITHIN


FILLED = """
[ship.loading]
lightship = { mass_t = 3900.0, height_m = 5.55, along_m = 42.0 }

[[ship.loading.tanks]]
name = "double bottom port"
box_m = { aft = 30.0, fore = 42.0, port = -5.5, starboard = 0.0, bottom = 0.1, top = 1.2 }
filling_percent = 20.0
free_surface = "liquid"

[[ship.loading.tanks]]
name = "double bottom starboard"
box_m = { aft = 30.0, fore = 42.0, port = 0.0, starboard = 5.5, bottom = 0.1, top = 1.2 }
mass_t = 30.0
crossflow = { with = "double bottom port", time_constant_s = 60.0 }

[[ship.loading.tanks]]
name = "peak"
box_m = { aft = 70.0, fore = 80.0, port = -3.0, starboard = 3.0, bottom = 1.0, top = 5.0 }
filling_percent = 95.0
free_surface = "liquid"

[[events]]
kind = "fill-tank"
tank = "double bottom port"
at_s = 20.0
over_s = 200.0
to_percent = 100.0

[start]
roll_deg = 8.0
"""
HULL = """
[ship]
name = "Marit"
displacement_t = 4250.0
gravity = { kg_m = 5.3 }
inertia = { gyradius_m = 5.3 }
damping = { linear_per_s = 0.012, quadratic = 0.3 }
levers = { kind = "hull", file = "coaster-hull.toml", heel_max_deg = 60.0 }
"""


def filled(liquid: bool) -> str:
    """A ship by her loading, whose tanks fill and flow; the peak's liquid moves or does not."""
    text = SHIP.replace("displacement_t = 4250.0\n", "")
    text = text.replace("[ship.gravity]\nkg_m = 5.30\n", "").replace("120.0", "300.0")
    return text + (FILLED if liquid else FILLED.replace('free_surface = "liquid"\n', ""))


PORT = "box_m = { aft = 30.0, fore = 42.0, port = -5.5, starboard = 0.0, bottom = 0.1, top = 1.2 }"
WING = """sections = [
  { along_m = 30.0, outline_m = [[0.0, 0.1], [0.0, 1.2], [-5.5, 1.2], [-4.0, 0.1]] },
  { along_m = 42.0, outline_m = [[0.0, 0.1], [0.0, 1.2], [-5.5, 1.2], [-3.0, 0.1]] },
]"""


def repeats(browser: Browser) -> bool:
    """Whether what is saved ends where the page is, a value set on the way."""
    do(browser, "set", {"kg_m": state(browser)["g"][1] - 0.02})
    do(browser, "advance", 30.0)
    study, said = loads(do(browser, "scenario"), "saved.toml"), state(browser)
    run = study.runs(0, histories=True, workers=1)["roll_angle"].isel(run=0).dropna("t")
    roll = float(np.interp(said["time_s"], run["t"], run))
    return bool(abs(roll - said["roll_deg"]) < 2.0 * WITHIN)


def test_moving_liquid_in_sections_while_tanks_fill_is_refused() -> None:
    study = loads(filled(True).replace(PORT, WING)).study
    with pytest.raises(InputError, match="the live page knows moving liquid in boxes alone"):
        page_data(study, "sample.toml")


def test_a_tank_by_sections_is_drawn_by_its_outline() -> None:
    still = filled(True).replace(PORT, WING)
    start, end = still.index("[[events]]"), still.index("[start]")
    still = (still[:start] + still[end:]).replace("crossflow", "# crossflow")
    (case,) = page_data(loads(still).study, "sample.toml")["cases"]
    port, starboard = case["tanks"][:2]
    assert port["fixed"]
    assert len(port["outline"]) == 4
    assert port["length"] == pytest.approx(12.0, rel=0.1)
    assert "outline" not in starboard


@pytest.mark.slow
@pytest.mark.parametrize(("liquid", "form"), [(False, PORT), (True, PORT), (False, WING)])
def test_tanks_that_fill_and_flow_are_the_program_s(
    liquid: bool, form: str, browser: Browser, tmp_path: Path
) -> None:
    study = loads(filled(liquid).replace(PORT, form))
    assert max(differences(browser, tmp_path, study)) < WITHIN
    opened(browser, tmp_path, study.study)
    do(browser, "advance", 90.0)
    assert repeats(browser)
    browser.run("(window.rollsim.release({roll_deg: 9}), window.rollsim.pause())")
    do(browser, "advance", 60.0)
    assert repeats(browser)
    names = browser.run("[...document.getElementById('tank').options].map((o) => o.textContent)")
    assert names[2].startswith("peak, ")


@pytest.mark.slow
def test_a_hull_rolls_and_shows_her_own_section(browser: Browser, tmp_path: Path) -> None:
    start = "[start]\nroll_deg = 15.0\n[run]\nduration_s = 120.0\n"
    study = beside(f"format = 1\n{HULL}{start}", tmp_path)
    assert max(differences(browser, tmp_path, study)) < WITHIN
    points = "document.querySelector('polygon.hull').getAttribute('points').split(' ').length"
    assert browser.run(points) != 30
    saved = loads(browser.run("window.rollsim.scenario()"), "saved.toml")
    assert saved.plan.cases[0].gravity.kg == 5.3


def test_a_page_without_a_ship_that_can_start_is_refused() -> None:
    start = '[start]\nroll_deg = "static"\nstatic_missing = "skip"\n'
    none = SHIP.replace("kg_m = 5.30", "kg_m = 6.80") + start
    with pytest.raises(InputError, match="no case has a heel to rest at"):
        page_data(loads(none).study, "sample.toml")
