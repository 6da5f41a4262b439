"""The live page in a browser: hands, keys, files; it fetches nothing."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path

import pytest
from click.testing import CliRunner
from live_samples import SCENARIOS, SHIP, do, drawn, opened, released, state
from page_browser import Browser
from test_live_files import repeated

from rollsim.cli.main import rollsim

MOST_BYTES = 400_000


def place(browser: Browser, selector: str) -> tuple[float, float]:
    """The middle of an element on the screen."""
    box = f"document.querySelector({json.dumps(selector)}).getBoundingClientRect()"
    x, y = browser.run(f"(({{x, y, width, height}}) => [x + width / 2, y + height / 2])({box})")
    return float(x), float(y)


def test_the_command_writes_a_page_beside_the_results(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("ship.toml").write_text(SHIP, encoding="utf-8")
    done = CliRunner().invoke(rollsim, ["live", "ship.toml"])
    assert done.exit_code == 0, done.output
    assert done.output.strip() == "results/ship-live.html"
    page = Path("results/ship-live.html").read_text(encoding="utf-8")
    assert "default-src 'none'" in page
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", page)
    named = CliRunner().invoke(rollsim, ["live", "ship.toml", "-o", "page.txt"])
    assert "is no page: its name must end in .html" in str(named.exception)


def test_a_step_in_a_condition_that_is_not_there_is_refused(tmp_path: Path) -> None:
    step = '[[lesson.steps]]\ntext = "raise G"\ncondition = "heavy"\n'
    (tmp_path / "ship.toml").write_text(SHIP + step, encoding="utf-8")
    page = tmp_path / "page.html"
    done = CliRunner().invoke(rollsim, ["live", str(tmp_path / "ship.toml"), "-o", str(page)])
    words = 'lesson.steps.0.condition: must name a condition that the page holds, got "heavy"'
    assert words in str(done.exception)
    assert not page.exists()


@pytest.mark.slow
@pytest.mark.parametrize(
    "file",
    [f for f in sorted(SCENARIOS.rglob("*.toml")) if not f.stem.endswith("-hull")],
    ids=lambda file: file.stem,
)
def test_every_page_is_small(file: Path, tmp_path: Path) -> None:
    page = tmp_path / "live.html"
    done = CliRunner().invoke(rollsim, ["live", str(file), "-o", str(page)])
    assert done.exit_code == 0, done.output
    assert page.stat().st_size < MOST_BYTES


def test_the_page_opens_paused_with_the_contract_s_object(live: Browser) -> None:
    assert live.run("Object.keys(window.rollsim).sort()") == [
        "advance", "pause", "release", "scenario", "set", "state",
    ]  # fmt: skip
    keys = "time_s roll_deg roll_rate_deg_per_s heel_deg gm_m gz_m g b m outcome verdict"
    assert list(state(live)) == keys.split()
    time.sleep(0.2)
    assert state(live)["time_s"] == 0


def test_letting_go_starts_the_clock_in_true_time(live: Browser) -> None:
    live.run("window.rollsim.release({roll_deg: 5})")
    begun = time.monotonic()
    live.wait_for("window.rollsim.state().time_s > 0.5")
    assert 0.3 < time.monotonic() - begun < 10.0
    do(live, "pause")
    there = state(live)["time_s"]
    time.sleep(0.2)
    assert state(live)["time_s"] == there


def test_g_dragged_in_a_roll_is_an_event_of_the_same_change(live: Browser) -> None:
    released(live, {"kg_m": 5.3}, 12.0)
    do(live, "advance", 6.0)
    drawn(live)
    x, y = place(live, ".grip")
    live.drag([(x, y), (x, y - 20)], hold=True)
    do(live, "advance", 2.0)
    live.drag([(x, y - 20), (x, y - 45)])
    moved = state(live)["g"][1]
    assert moved > 5.32
    do(live, "advance", 30.0)
    assert do(live, "scenario").count('key = "ship.gravity.kg_m"') >= 1
    repeated(live)
    released(live, {"kg_m": 5.3}, 12.0)
    do(live, "advance", 7.0)
    do(live, "set", {"kg_m": moved})
    assert state(live)["gm_m"] == pytest.approx(5.66 - moved, abs=1e-9)


@pytest.mark.parametrize("touch", [False, True])
def test_she_is_taken_by_hand_and_let_go(live: Browser, touch: bool) -> None:
    do(live, "advance", 3.0)
    drawn(live)
    x, y = place(live, ".stage polygon.hull")
    live.drag([(x + 150, y - 60), (x + 155, y - 20), (x + 150, y + 20)], touch=touch, hold=True)
    drawn(live)
    held = state(live)
    assert held["roll_deg"] > 5.0
    assert held["time_s"] == pytest.approx(3.0)
    moment = 4250.0 * held["gz_m"]
    assert f"{moment:.0f} t·m to starboard" in live.run(
        "document.querySelector('.hand-text').textContent"
    )
    assert live.run("document.getElementById('play').disabled") is True
    live.let_go((x + 150, y + 20), touch=touch)
    live.wait_for("window.rollsim.state().time_s > 0.1 && window.rollsim.state().time_s < 2.9")
    do(live, "pause")


def test_keys_do_what_the_page_says(live: Browser) -> None:
    live.press("ArrowUp")
    assert state(live)["g"][1] == pytest.approx(5.301, abs=1e-9)
    live.press("ArrowDown")
    live.press("PageDown")
    assert state(live)["g"][1] == pytest.approx(5.25, abs=1e-9)
    live.press("0")
    assert state(live)["gm_m"] == pytest.approx(0.0, abs=1e-12)
    for _ in range(3):
        live.press("ArrowRight")
    assert state(live)["roll_deg"] == pytest.approx(3.0, abs=1e-9)
    live.press("Enter")
    live.wait_for("window.rollsim.state().time_s > 0.1")
    live.press(" ")
    assert live.text("play") == "Go on"
    live.press("+")
    assert live.run("document.getElementById('speed').value") == "2"
    live.press("i")
    assert live.run("document.getElementById('drawer').hidden") is False
    live.press("p")
    live.press("d")
    assert live.run("document.documentElement.className") == "presenter dark"


def test_sliders_set_values(live: Browser) -> None:
    live.enter("kg", 5.4)
    live.enter("wind", 12)
    live.enter("wave", 2)
    live.enter("period-set", 9)
    live.run("(window.rollsim.release({}), window.rollsim.pause())")
    text = do(live, "scenario")
    for line in ("kg_m = 5.4", "speed_mps = 12", "height_m = 2", "period_s = 9"):
        assert line in text
    drawn(live)
    assert "12.0 m/s" in live.text("wind-text")


def test_two_ships_get_the_same_actions(browser: Browser, tmp_path: Path) -> None:
    heights = '[sweep]\n"ship.gravity.kg_m" = [5.3, 5.5]\n'
    opened(browser, tmp_path, SHIP + heights)
    browser.enter("second", 1)
    assert browser.run("document.querySelectorAll('svg.stage').length") == 2
    do(browser, "set", {"kg_m": 5.4})
    drawn(browser)
    texts = browser.run("[...document.querySelectorAll('.gm-text')].map((e) => e.textContent)")
    assert texts == ["GM +26.0 cm", "GM +6.0 cm"]
    assert "kg 5.5" in browser.text("verdict")
    assert browser.problems() == []


def test_the_scenario_is_saved_as_a_file(live: Browser, tmp_path: Path) -> None:
    live.call("Page.setDownloadBehavior", behavior="allow", downloadPath=str(tmp_path))
    live.run("document.getElementById('save').click()")
    file = tmp_path / "live-model.toml"
    until = time.monotonic() + 10.0
    while not file.exists():
        assert time.monotonic() < until
        time.sleep(0.05)
    assert file.read_text(encoding="utf-8") == do(live, "scenario")
    live.events.clear()
