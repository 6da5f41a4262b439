"""The live page as it looks: labels, contrast, large type, a phone, paper; a frame's cost."""

from __future__ import annotations

import re
import statistics
from pathlib import Path
from typing import Any

import pytest
from live_samples import SCENARIOS, SHIP, do, drawn, opened, released
from page_browser import Browser
from page_samples import HOSTILE, toml_text
from test_page_room import SIZES

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.scenario.load import load

WINDOWS = [(1920, 1080), (1024, 768), (390, 844)]

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
    assert any("grip" in (name or "") for name in reached)


@pytest.mark.parametrize("window", [(1920, 1080), (1280, 720), (1024, 768)])
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


BOXES = """
[...document.querySelectorAll('SELECTOR')].filter((e) => e.offsetParent !== null).map((e) => {
  const r = e.getBoundingClientRect(); return [r.left, r.right, r.top, r.bottom]; })
"""


def test_every_tab_and_what_it_holds_is_whole_on_a_phone(live: Browser) -> None:
    """No tab is cut or hidden to the side, and of none's buttons only a part is seen."""
    live.resize(390, 844, mobile=True)
    tabs = live.run(BOXES.replace("SELECTOR", '[role="tab"]'))
    assert len(tabs) == 8
    cut = "document.querySelectorAll('[role=\"tab\"]').values().filter("
    assert live.run(f"[...{cut}(e) => e.scrollWidth > e.clientWidth)].length") == 0
    for number in range(8):
        live.run(f"document.querySelectorAll('[role=\"tab\"]')[{number}].click()")
        drawn(live)
        held = live.run(BOXES.replace("SELECTOR", ".panel :is(button, select, input)"))
        assert held
        for left, right, top, bottom in [*tabs, *held]:
            assert 0 <= left < right <= 390
            assert 0 < top < bottom <= 844


@pytest.mark.parametrize("window", [(1280, 800), (390, 844)])
def test_gm_in_words_covers_no_height_of_the_scale(live: Browser, window: tuple[int, int]) -> None:
    live.resize(*window, mobile=window[0] < 500)
    every = CROSSING.replace(" && !e.classList.contains('small')", "")
    for kg in (5.2, 5.26, 5.3, 5.4, 5.5, 5.7):
        do(live, "set", {"kg_m": kg})
        drawn(live)
        boxes = live.run(every)
        (gm,) = [box for box in boxes if str(box[0]).startswith("GM")]
        for text, left, top, right, bottom in boxes:
            apart = right <= gm[1] or gm[3] <= left or bottom <= gm[2] + 3 or gm[4] <= top + 3
            assert apart or text == gm[0], (kg, text)


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
    opened(browser, tmp_path, load(SCENARIOS / f"{file}.toml"), (1920, 1080))
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
