"""The classroom page in a room: large type, a phone, causes drawn, letters in their order."""

from __future__ import annotations

from pathlib import Path

import pytest
from animation_samples import Loading
from animation_samples import study as sample
from page_browser import Browser

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.show.page.data import Chosen
from rollsim.show.page.write import write_page

SIZES = """
[...document.querySelectorAll('body *')].filter((e) => {
  const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  const box = e.getBoundingClientRect();
  return own && box.width > 0 && box.height > 0 && e.tagName !== 'OPTION' && !e.closest('[hidden]')
    && getComputedStyle(e).visibility !== 'hidden';
}).map((e) => {
  const size = parseFloat(getComputedStyle(e).fontSize);
  const matrix = e.getScreenCTM ? e.getScreenCTM() : {a: 1};
  return [e.textContent.trim(), size * Math.hypot(matrix.a, matrix.b || 0) / innerHeight];
})
"""
"""Every text that is seen and its size as a share of the window's height."""


@pytest.mark.parametrize("window", [(1920, 1080), (1280, 720), (1024, 768)])
def test_presenter_mode_is_read_from_the_back_of_the_room(
    opened: Browser, window: tuple[int, int]
) -> None:
    opened.resize(*window)
    opened.press("PageDown")
    opened.press("p")
    small = [each for each in opened.run(SIZES) if each[1] < 0.022]
    assert small == []
    seen = {text for text, _ in opened.run(SIZES)}
    assert {"G", "M", "B", CAUTION, LOLL_WARNING, "GM at the start", "port"} <= seen
    sides = "document.documentElement.scrollHeight, document.documentElement.scrollWidth"
    assert opened.run(f"[{sides}]") == [window[1], window[0]]
    share = "(() => { const r = document.getElementById('section').getBoundingClientRect();"
    assert opened.run(share + "return r.height / innerHeight; })()") > 0.3
    opened.press("p")
    assert opened.run("document.getElementById('present').getAttribute('aria-pressed')") == "false"
    assert opened.run("document.querySelector('.figures').parentNode === document.body") is True


def test_play_stays_in_reach_on_a_phone(opened: Browser) -> None:
    opened.resize(390, 844, mobile=True)
    for top in (0, 500, 5000):
        opened.run(f"window.scrollTo(0, {top})")
        box = opened.run(
            "(() => { const r = document.getElementById('play').getBoundingClientRect();"
            "return [r.top, r.bottom, r.right]; })()"
        )
        assert 0 < box[0] < box[1] <= 844
        assert box[2] <= 390
    foot = "document.querySelector('#notes li:last-child').getBoundingClientRect().bottom"
    assert opened.run(foot) <= opened.run(
        "document.querySelector('.player').getBoundingClientRect().top"
    )


def test_causes_are_drawn_and_numbered(browser: Browser, tmp_path: Path) -> None:
    loadings = [Loading("push", lever=-0.05, moved=0.15, swing=3.0), Loading("none", swing=3.0)]
    write_page(tmp_path / "page.html", [Chosen("result.nc", sample(loadings), [0, 1], [0])])
    browser.open(tmp_path / "page.html")
    arrow = "document.querySelector('#section .push')"
    box = f"(() => {{ const r = {arrow}.getBBox(); return [r.x, r.width]; }})()"
    middle = browser.run("492")
    assert browser.run(box)[0] > middle  # from starboard: it heels her to port
    assert browser.text("causes") == "wind or push 0.050 m to port"
    browser.press("End")
    assert browser.text("causes") == ("wind or push 0.050 m to port · G moved 0.150 m to starboard")
    way = browser.run("document.querySelectorAll('#section .g-path')[1].getAttribute('points')")
    places = [[float(part) for part in each.split(",")] for each in way.split()]
    assert places[0] == pytest.approx([0.0, 5.0], abs=1e-3)
    assert places[-1] == pytest.approx([0.15, 5.0], abs=1e-3)
    browser.press("PageDown")
    assert browser.text("causes") == ""
    assert browser.run(f"{arrow}.getAttribute('visibility')") == "hidden"
    assert "wind or push" not in browser.text("legend")
    assert browser.problems() == []


CLOSE_M = """
(() => {
  const box = document.querySelector("#section #close-frame rect").getBBox();
  const mark = document.querySelectorAll("#section .mark.m")[1].transform.baseVal.getItem(0).matrix;
  return [mark.e - box.x, box.x + box.width - mark.e, mark.f - box.y, box.y + box.height - mark.f];
})()
"""


@pytest.mark.parametrize("case", [0, 1])
def test_the_close_up_holds_m_also_at_a_loll(browser: Browser, tmp_path: Path, case: int) -> None:
    """At her loll M lies twice |GM| and more above G: the magnification leaves room for it."""
    loadings = [Loading("loll", kg=5.76, about=18.0, swing=2.0), Loading("stiff", kg=5.3)]
    write_page(tmp_path / "page.html", [Chosen("result.nc", sample(loadings), [0, 1], [0])])
    browser.open(tmp_path / "page.html", 390, 844, mobile=True)
    for _ in range(case):
        browser.press("PageDown")
    for seconds in (0.0, 2.5, 5.0, 7.5, 10.0):
        browser.enter("time", seconds)
        assert min(browser.run(CLOSE_M)) > 8.0


def test_a_length_of_nothing_has_no_sign(browser: Browser, tmp_path: Path) -> None:
    loadings = [Loading("still", kg=5.3, swing=0.01)]
    write_page(tmp_path / "page.html", [Chosen("result.nc", sample(loadings), [0], [0])])
    browser.open(tmp_path / "page.html")
    for seconds in (0.5, 2.5, 4.5, 6.5, 8.5):
        browser.enter("time", seconds)
        assert "GZ 0.000 m" in browser.text("readout")


LETTERS = """
["m", "g"].map((name) => {
  const view = document.querySelectorAll("#section .ship")[VIEW].parentNode;
  const mark = view.querySelector(".mark." + name);
  const text = mark.lastChild.getBoundingClientRect();
  return [mark.getCTM().f, text.top];
})
"""


@pytest.mark.parametrize("view", [0, 1])
@pytest.mark.parametrize("case", [0, 1, 2])
def test_letters_stand_in_the_order_of_their_points(opened: Browser, case: int, view: int) -> None:
    for _ in range(case):
        opened.press("PageDown")
    for seconds in (0.0, 2.5, 5.0, 40.0):
        opened.enter("time", seconds)
        (m, top_of_m), (g, top_of_g) = opened.run(LETTERS.replace("VIEW", str(view)))
        assert (m < g) == (top_of_m < top_of_g)
        assert abs(top_of_m - top_of_g) >= 10.0
