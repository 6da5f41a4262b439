"""What is done in the live page is kept as events: the saved scenario repeats it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from live_samples import SCENARIOS, SHIP, do, opened, released, state
from page_browser import Browser

from rollsim.library import LoadedStudy, loads

WITHIN = 0.02
"""How far a saved scenario may differ from what was seen [degree]."""


def saved(browser: Browser) -> LoadedStudy:
    """The scenario that the page gives of what was done, read by the program without a warning."""
    text = do(browser, "scenario")
    step = "output_step_s = 0.25"
    assert step in text
    time = state(browser)["time_s"]
    study = loads(text.replace(step, f"output_step_s = {time / 64!r}") if time else text)
    # A barrel's G is moved far from where it is neutral; weights change the displacement.
    doubts = [line for line in study.check() if "displacement" not in line]
    assert [
        line for line in doubts if "far from the KG that GZ was drawn for (7 m)" not in line
    ] == []
    return study


def repeated(browser: Browser) -> None:
    """The saved scenario ends where the page is."""
    said, study = state(browser), saved(browser)
    run = study.runs(0, histories=True, workers=1)
    roll = float(run["roll_angle"].sel(t=said["time_s"], method="nearest")[0])
    assert roll == pytest.approx(said["roll_deg"], abs=WITHIN)


def press(browser: Browser, *names: str) -> None:
    """Press buttons of the page, whatever tab they stand on."""
    for name in names:
        browser.run(f"document.getElementById({json.dumps(name)}).click()")


def of_g(browser: Browser) -> None:
    for kg in np.arange(5.30, 5.70, 0.02):
        do(browser, "set", {"kg_m": float(kg)})
        do(browser, "advance", 0.4)


def of_values(browser: Browser) -> None:
    do(browser, "set", {"off_centre_m": 0.03, "wind_mps": 18.0, "wave_height_m": 2.0})
    do(browser, "advance", 7.3)
    do(browser, "set", {"wave_height_m": 1.0})
    do(browser, "advance", 2.1)
    do(browser, "set", {"wave_height_m": 2.5, "heeling_lever_m": 0.04, "free_surface_m": 0.06})
    do(browser, "advance", 30.0)
    do(browser, "set", {"wind_mps": 0.0, "heeling_lever_m": -0.01})


def of_weights(browser: Browser) -> None:
    press(browser, "weight-hang")
    do(browser, "advance", 5.0)
    browser.enter("weight-place", json.dumps("high port"))
    press(browser, "weight-hang", "weight-shift")
    do(browser, "advance", 4.0)
    press(browser, "weight-slide")
    do(browser, "advance", 12.0)
    press(browser, "weight-land")
    do(browser, "advance", 30.0)
    press(browser, "weight-jettison")


def of_tanks(browser: Browser) -> None:
    press(browser, "tank-fill")
    do(browser, "advance", 23.0)
    browser.enter("tank", 2)
    press(browser, "tank-fill")
    do(browser, "advance", 31.7)
    press(browser, "tank-divided", "tank-shut")
    do(browser, "advance", 5.0)
    press(browser, "tank-empty")


def of_wind(browser: Browser) -> None:
    do(browser, "set", {"wind_mps": 20.0})
    do(browser, "advance", 20.0)
    press(browser, "gust", "turn-port")
    do(browser, "advance", 40.0)
    press(browser, "turn-end")


DONE: dict[str, Callable[[Browser], None]] = {
    "g": of_g, "values": of_values, "weights": of_weights, "tanks": of_tanks, "wind": of_wind,
}  # fmt: skip


@pytest.mark.parametrize("name", DONE)
def test_what_was_done_is_repeated(name: str, browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    released(browser, {"kg_m": 5.3}, 12.0, 1.0)
    do(browser, "advance", 8.25)
    DONE[name](browser)
    do(browser, "advance", 25.0)
    repeated(browser)
    before = state(browser)
    browser.run("(window.rollsim.release({roll_deg: -6}), window.rollsim.pause())")
    assert state(browser)["time_s"] == 0.0
    assert state(browser)["gm_m"] == pytest.approx(before["gm_m"], abs=1e-9)
    assert state(browser)["g"] == pytest.approx(before["g"], abs=1e-9)
    do(browser, "advance", 40.0)
    repeated(browser)
    assert browser.problems() == []


def test_a_page_untouched_gives_its_own_scenario(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    own, file = loads(SHIP).plan.cases[0], saved(browser).plan.cases[0]
    assert file.coefficients.inertia == pytest.approx(own.coefficients.inertia, rel=1e-12)
    assert file.gravity == own.gravity
    assert file.start == own.start
    assert file.duration == own.duration


def test_the_storm_of_a_seed_is_repeated(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    browser.enter("sea", 1)
    do(browser, "advance", 90.0)
    do(browser, "set", {"kg_m": 5.45})
    do(browser, "advance", 90.0)
    assert 'kind = "irregular"' in do(browser, "scenario")
    repeated(browser)


@pytest.mark.parametrize("hull", [1, 2, 3])
def test_another_hull_is_saved_with_its_levers(hull: int, browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    browser.enter("hull", hull)
    released(browser, {"wave_height_m": 1.5, "wave_period_s": 9.0}, 10.0)
    do(browser, "advance", 60.0)
    repeated(browser)


def test_back_sixty_seconds_and_otherwise(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    released(browser, {"kg_m": 5.3}, 12.0)
    do(browser, "advance", 40.0)
    there = state(browser)
    do(browser, "set", {"kg_m": 5.4, "wind_mps": 15.0})
    press(browser, "tank-fill", "weight-hang")
    do(browser, "advance", 60.0)
    press(browser, "rewind")
    assert state(browser) == there
    do(browser, "advance", 30.0)
    assert "change" not in do(browser, "scenario")
    repeated(browser)


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"kg": 5.0}, "kg = 5: allowed is wave_period_s, kg_m"),
        ({"kg_m": "high"}, "kg_m = high: allowed is a number from -19 to 59"),
        ({"wave_height_m": -1.0}, "wave_height_m = -1: allowed is a number from 0 to 39"),
    ],
)
def test_what_cannot_be_set_is_refused_whole(
    values: dict[str, object], message: str, browser: Browser, tmp_path: Path
) -> None:
    opened(browser, tmp_path)
    before = state(browser)
    held = json.dumps({"wind_mps": 9.0, **values})
    said = browser.run(
        f"(() => {{ try {{ window.rollsim.set({held}); }} catch (e) {{ return e.message; }} }})()"
    )
    assert message in said
    assert state(browser) == before
    assert "wind" not in do(browser, "scenario").split("[ship.windage]")[1]


def test_she_cannot_be_let_go_beyond_her_capsize_angle(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    release = "window.rollsim.release({roll_deg: 90})"
    said = browser.run(f"(() => {{ try {{ {release}; }} catch (e) {{ return e.message; }} }})()")
    assert said == "release: roll 90°, rate 0°/s: allowed is less than 90.0° and less than 360°/s"
    released(browser, {"kg_m": 6.4}, 60.0, 5.0)
    do(browser, "advance", 60.0)
    assert state(browser)["outcome"] == "capsized"
    there = state(browser)["time_s"]
    do(browser, "advance", 10.0)
    assert state(browser)["time_s"] == there
    press(browser, "rewind")
    assert state(browser)["outcome"] == "survived"


@pytest.mark.slow
@pytest.mark.parametrize("name", ["loll-corrections", "list-or-loll", "same-storm", "free-surface"])
def test_let_go_amid_a_lesson_s_own_events(name: str, browser: Browser, tmp_path: Path) -> None:
    """What has begun is the base, what has not still comes; so do gusts, and the storm."""
    text = (SCENARIOS / "lessons" / f"{name}.toml").read_text(encoding="utf-8")
    opened(browser, tmp_path, text)
    browser.enter("case", 1)
    do(browser, "advance", 150.0)
    do(browser, "set", {"kg_m": state(browser)["g"][1] - 0.05})
    do(browser, "advance", 30.0)
    browser.run("(window.rollsim.release({roll_deg: 4}), window.rollsim.pause())")
    do(browser, "advance", 60.0)
    do(browser, "set", {"wind_mps": 12.0})
    do(browser, "advance", 180.0)
    study = loads(do(browser, "scenario"), "saved.toml")
    said = state(browser)
    run = study.runs(0, histories=True, workers=1)["roll_angle"].isel(run=0).dropna("t")
    roll = float(np.interp(said["time_s"], run["t"], run))
    assert roll == pytest.approx(said["roll_deg"], abs=WITHIN)
