"""The live page's stepper against the program's own runs: every scenario, every case."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from live_samples import SCENARIOS, SHIP, opened, rolls
from numpy.typing import NDArray
from page_browser import Browser

from rollsim.cli.live import page_data
from rollsim.errors import InputError
from rollsim.library import LoadedStudy, loads

WITHIN = 0.01
"""How far page and program may differ [degree]."""
EVERY = 4
"""Of the outputs every so many-th is compared."""
LESSONS = sorted(path.stem for path in (SCENARIOS / "lessons").glob("*.toml"))
OTHERS = sorted(path.stem for path in SCENARIOS.glob("*.toml"))


def differences(browser: Browser, folder: Path, study: LoadedStudy) -> list[float]:
    """The greatest difference of roll [degree] in every case; a capsize must come in both."""
    opened(browser, folder, study.study.text)
    found = []
    for case in range(len(study.plan.cases)):
        browser.enter("case", case)
        times = study.plan.times[::EVERY]
        page = np.array(rolls(browser, times.tolist()), dtype=float)
        difference = between(page, study, case)
        if difference > WITHIN:
            # A run that magnifies a disturbance magnifies the program's own error: made finer.
            difference = between(page, exact(study.study.text), case)
        found.append(difference)
    assert browser.problems() == []
    return found


def between(page: NDArray[np.float64], study: LoadedStudy, case: int) -> float:
    """The greatest difference of the page's rolls from those of the program's run."""
    roll = study.runs(case, histories=True, workers=1)["roll_angle"].values[0][::EVERY]
    assert (np.isfinite(page) == np.isfinite(roll)).all()
    return float(np.nanmax(np.abs(page - roll)))


def exact(text: str) -> LoadedStudy:
    """The same study by scipy's solver, to many digits."""
    run = '[run]\nmethod = "DOP853"\nrelative_tolerance = 1e-10\nabsolute_tolerance_deg = 1e-10'
    return loads(text.replace("[run]", run, 1))


@pytest.mark.slow
@pytest.mark.parametrize("name", LESSONS)
def test_every_lesson_in_the_page_is_the_program_s_run(
    name: str, browser: Browser, tmp_path: Path
) -> None:
    text = (SCENARIOS / "lessons" / f"{name}.toml").read_text(encoding="utf-8")
    assert max(differences(browser, tmp_path, loads(text))) < WITHIN


@pytest.mark.slow
@pytest.mark.parametrize("name", OTHERS)
def test_every_scenario_in_the_page_is_the_program_s_run(
    name: str, browser: Browser, tmp_path: Path
) -> None:
    text = (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")
    assert max(differences(browser, tmp_path, loads(text))) < WITHIN


def test_a_page_without_a_ship_that_can_start_is_refused() -> None:
    start = '[start]\nroll_deg = "static"\nstatic_missing = "skip"\n'
    none = SHIP.replace("kg_m = 5.30", "kg_m = 6.80") + start
    with pytest.raises(InputError, match="no case has a heel to rest at"):
        page_data(loads(none).study, "sample.toml")
