"""The live page in a browser: hands, keys, looks, cost; it fetches nothing, says its cautions."""

from __future__ import annotations

import json
import re
import statistics
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from live_samples import SCENARIOS, SHIP, do, opened, released, state
from page_browser import Browser
from page_samples import HOSTILE, toml_text
from test_live_files import repeated
from test_page_room import SIZES

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.cli.main import rollsim

MOST_BYTES = 400_000
WINDOWS = [(1920, 1080), (1024, 768), (390, 844)]


@pytest.fixture
def live(browser: Browser, tmp_path: Path) -> Iterator[Browser]:
    """The live page of the sample ship; afterwards it must not have complained nor asked."""
    path = opened(browser, tmp_path)
    yield browser
    assert browser.problems() == []
    assert set(browser.requests()) <= {path.as_uri()}


def drawn(browser: Browser) -> None:
    """Wait until the page has drawn."""
    twice = "requestAnimationFrame(() => requestAnimationFrame(() => { window.drawn = true; }))"
    browser.run(f"window.drawn = false; {twice}")
    browser.wait_for("window.drawn")


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
@pytest.mark.parametrize("file", sorted(SCENARIOS.rglob("*.toml")), ids=lambda file: file.stem)
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


CROSSING = """
[...document.querySelectorAll('.ladder text')].filter((e) => e.textContent
  && getComputedStyle(e).visibility !== 'hidden' && !e.classList.contains('small')).map((e) => {
  const r = e.getBoundingClientRect(); return [e.textContent, r.left, r.top, r.right, r.bottom]; })
"""


@pytest.mark.parametrize("free_surface", [0.0, 0.004, 0.15])
def test_labels_of_the_ladder_never_cross(live: Browser, free_surface: float) -> None:
    for kg in (4.9, 5.3, 5.6, 5.65, 5.659, 5.66, 5.661, 5.7, 5.9):
        for roll in (0.0, 4.0, -14.0):
            released(live, {"kg_m": kg, "free_surface_m": free_surface}, roll)
            drawn(live)
            boxes: list[Any] = live.run(CROSSING)
            assert len(boxes) >= 3
            for i, (one, left, top, right, bottom) in enumerate(boxes):
                for other, l2, t2, r2, b2 in boxes[i + 1 :]:
                    apart = right <= l2 or r2 <= left or bottom <= t2 + 3 or b2 <= top + 3
                    assert apart, (kg, roll, one, other)


@pytest.mark.parametrize("window", WINDOWS)
@pytest.mark.parametrize("dark", [False, True])
def test_cautions_stand_and_all_can_be_read(
    live: Browser, window: tuple[int, int], dark: bool
) -> None:
    live.resize(*window, mobile=window[0] < 500)
    if dark:
        live.press("d")
    drawn(live)
    assert live.text("caution") == CAUTION
    assert live.text("warning") == LOLL_WARNING
    for name in ("caution", "warning"):
        assert live.run(f"document.getElementById('{name}').getBoundingClientRect().height") > 10
    assert live.run("document.documentElement.scrollWidth") <= window[0]
    poor = [each for each in live.run(CONTRASTS) if each[1] < 4.5]
    assert poor == []


CONTRASTS = """
(() => {
  const parse = (text) => text.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((c) => c / 255)
    .map((c) => (c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const ground = (e) => {
    for (let each = e; each; each = each.parentElement) {
      const colour = parse(getComputedStyle(each).backgroundColor);
      if (colour.length === 3 || colour[3] > 0.5) { return colour; }
    }
    return [255, 255, 255];
  };
  return [...document.querySelectorAll('body *')].filter((e) => {
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    return own && e.getBoundingClientRect().height > 0 && e.tagName !== 'OPTION'
      && !e.closest('noscript') && getComputedStyle(e).visibility !== 'hidden';
  }).map((e) => {
    const style = getComputedStyle(e);
    const one = light(parse(e.ownerSVGElement ? style.fill : style.color));
    const other = light(ground(e));
    return [e.textContent.trim(), (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05)];
  });
})()
"""
"""Every text that is seen, and the contrast to its ground."""


def test_every_control_has_a_name_and_a_reachable_place(live: Browser) -> None:
    unnamed = live.run(
        "[...document.querySelectorAll('button, select, input, svg, [role]')].filter((e) =>"
        "!e.textContent.trim() && !e.getAttribute('aria-label') && !(e.labels && e.labels.length)"
        "&& !e.closest('svg svg, [hidden]')).map((e) => e.outerHTML)"
    )
    assert unnamed == []
    doubled = live.run(
        "(() => { const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);"
        "return ids.filter((id, i) => ids.indexOf(id) !== i); })()"
    )
    assert doubled == []
    reached = set()
    for _ in range(30):
        live.press("Tab")
        reached.add(
            live.run("document.activeElement.id || document.activeElement.className.baseVal")
        )
    assert {
        "present",
        "dark",
        "play",
        "rewind",
        "speed",
        "watch",
        "tab-g",
        "kg",
        "gm-zero",
    } <= reached
    assert any("grip" in name for name in reached)


@pytest.mark.parametrize("window", [(1920, 1080), (1280, 720)])
def test_presenter_mode_is_read_from_the_back_of_the_room(
    live: Browser, window: tuple[int, int]
) -> None:
    live.resize(*window)
    live.press("p")
    do(live, "set", {"kg_m": 5.76, "wind_mps": 20.0})
    do(live, "advance", 20.0)
    drawn(live)
    small = [each for each in live.run(SIZES) if each[1] < 0.022]
    assert small == []
    share = live.run(
        "(() => { const r = document.querySelector('svg.stage').getBoundingClientRect();"
        "return [r.width / innerWidth, r.height / innerHeight]; })()"
    )
    assert share[0] > 0.6
    assert share[1] > 0.4


def test_the_clock_s_controls_stay_on_a_phone(live: Browser) -> None:
    live.resize(390, 844, mobile=True)
    for top in (0, 300, 600):
        live.run(f"window.scrollTo(0, {top})")
        drawn(live)
        box = live.run(
            "(() => { const r = document.getElementById('play').getBoundingClientRect();"
            "return [r.top, r.bottom, r.right]; })()"
        )
        assert 0 < box[0] < box[1] <= 844
        assert box[2] <= 390


def test_texts_of_a_file_stay_texts(browser: Browser, tmp_path: Path) -> None:
    text = SHIP.replace('"a wall-sided hull"', f'"{toml_text(HOSTILE)}"')
    lesson = f'[lesson]\n[[lesson.steps]]\ntext = "{toml_text(HOSTILE)}"\n'
    opened(browser, tmp_path, text.replace('"Marit"', f'"{toml_text(HOSTILE)}"') + lesson)
    drawn(browser)
    assert "<img" in browser.text("title")
    assert browser.run("document.querySelectorAll('img').length") == 0
    assert "<img" in browser.text("task-text")
    assert browser.problems() == []


TIMED = """
window.spent = [];
const plain = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (act) => plain((now) => {
  const begun = performance.now(); act(now); window.spent.push(performance.now() - begun); });
"""


@pytest.mark.slow
@pytest.mark.parametrize("file", ["gusty-wind", "lessons/same-storm"])
def test_a_frame_takes_less_than_six_milliseconds(
    file: str, browser: Browser, tmp_path: Path
) -> None:
    script = browser.call("Page.addScriptToEvaluateOnNewDocument", source=TIMED)["identifier"]
    opened(browser, tmp_path, (SCENARIOS / f"{file}.toml").read_text("utf-8"), (1920, 1080))
    browser.run("document.getElementById('weight-hang').click()")
    browser.run("document.getElementById('tank-fill').click()")
    browser.run("window.rollsim.release({roll_deg: 10})")
    browser.wait_for("window.spent.length > 120")
    spent = browser.run("window.spent.slice(20)")
    browser.call("Page.removeScriptToEvaluateOnNewDocument", identifier=script)
    assert statistics.median(spent) < 6.0


def test_it_prints_on_one_page(live: Browser) -> None:
    paper = live.paper()
    assert paper.startswith(b"%PDF")
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 1


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
