"""The classroom page in a browser: it plays, asks, changes the case, and fetches nothing."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from page_browser import Browser
from page_samples import BM, HOSTILE, KB, KM, invented
from scipy.interpolate import CubicHermiteSpline

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.names import Outcome
from rollsim.show.page.data import Chosen
from rollsim.show.page.write import write_page


def clock(browser: Browser) -> float:
    """The time [s] that the page shows."""
    return float(browser.text("clock").split()[0])


def test_play_advances_in_true_time_and_pauses(opened: Browser) -> None:
    assert clock(opened) == 0.0
    begun = time.monotonic()
    opened.click("#play")
    opened.wait_for("parseFloat(document.getElementById('clock').textContent) >= 1")
    passed = time.monotonic() - begun
    assert 0.5 < passed < 10.0
    opened.click("#play")
    held = clock(opened)
    time.sleep(0.3)
    assert clock(opened) == held
    assert opened.text("play") == "Play"


def test_play_stops_where_the_run_stops(opened: Browser) -> None:
    opened.enter("speed", 64)
    opened.click("#play")
    opened.wait_for("document.getElementById('caption').textContent.includes('end of the run')")
    assert clock(opened) == 40.0
    opened.wait_for("document.getElementById('play').textContent === 'Play'")


def test_keys_do_what_the_page_says(opened: Browser) -> None:
    opened.press("ArrowRight")
    opened.press("ArrowRight", shift=True)
    assert clock(opened) == pytest.approx(11 * 0.25, abs=0.051)
    opened.press("ArrowLeft")
    assert clock(opened) == 2.5
    opened.press("End")
    assert clock(opened) == 40.0
    opened.press("Home")
    assert clock(opened) == 0.0
    opened.press(" ")
    opened.wait_for("parseFloat(document.getElementById('clock').textContent) > 0.2")
    opened.press(" ")
    assert opened.text("play") == "Play"
    opened.press("+")
    assert opened.run("document.getElementById('speed').value") == "2"
    for key, name in (("m", "show-m"), ("b", "show-b"), ("l", "show-levers")):
        opened.press(key)
        assert opened.run(f"document.getElementById('{name}').checked") is False
    hidden = opened.run("[...document.querySelectorAll('.mark.m, .mark.b, .weight, .m-path')]"
                        ".every((e) => getComputedStyle(e).visibility === 'hidden')")  # fmt: skip
    assert hidden is True
    opened.press("PageDown")
    assert "KG 5.8" in opened.text("about")


def test_every_control_can_be_reached_by_tab_and_shows_it(opened: Browser) -> None:
    reached = []
    for _ in range(14):
        opened.press("Tab")
        reached.append(opened.run("document.activeElement.id"))
        assert opened.run("getComputedStyle(document.activeElement).outlineStyle") == "solid"
        if reached[-1] == "show-levers":
            break
    controls = {"case", "quiz", "play", "back", "step", "time", "speed", "stability"}
    assert controls | {"show-m", "show-b", "show-levers"} <= set(reached)
    named = opened.run(
        "[...document.querySelectorAll('button, select, input, svg:not([aria-hidden])')]"
        ".every((e) =>"
        "e.textContent.trim() || e.getAttribute('aria-label') || e.labels.length)"
    )
    assert named is True


def test_slider_changes_curve_path_and_run(opened: Browser) -> None:
    def shown() -> Any:
        return opened.run(
            "['#curve .curve', '#section .m-path', '#history .roll'].map((name) =>"
            "document.querySelector(name).getAttribute('points'))"
        )

    first = shown()
    assert "0.260 m (KG 5.300 m)" in opened.text("stability-text")
    opened.enter("stability", 0)
    assert "−0.240 m (KG 5.800 m)" in opened.text("stability-text")
    assert "KG 5.8" in opened.text("about")
    second = shown()
    assert second[0] != first[0]
    assert second[2] != first[2]
    assert opened.text("warning") == LOLL_WARNING
    opened.press("]")
    assert "0.060 m" in opened.text("stability-text")
    assert opened.run("document.getElementById('warning').hidden") is True


def test_quiz_hides_asks_plays_and_tells(opened: Browser) -> None:
    opened.press("PageDown")
    assert opened.run("document.getElementById('warning').hidden") is False
    opened.click("#quiz")
    assert opened.run("document.getElementById('question').hidden") is False
    assert opened.run("document.getElementById('warning').hidden") is True
    assert opened.run("document.getElementById('play').disabled") is True
    assert "KG 5.8" not in opened.text("about")
    assert "hidden by the quiz" in opened.text("figures")
    assert "survived" not in opened.text("figures")
    assert opened.run("getComputedStyle(document.querySelector('#history .ahead')).visibility") == (
        "hidden"
    )
    opened.press("1")
    opened.wait_for("parseFloat(document.getElementById('clock').textContent) > 0.2")
    assert opened.text("verdict") == "Your answer: she comes upright. Now look."
    opened.press("End")
    assert opened.text("verdict").startswith(
        "Not so, you said: she comes upright. Here: she lies at her angle of loll: GM is −"
    )
    assert opened.text("verdict").endswith("0 of 1 right.")
    assert "survived" in opened.text("figures")
    opened.press("PageDown")
    assert opened.run("document.getElementById('question').hidden") is False
    opened.click("#answers button:nth-child(3)")
    opened.press("End")
    assert opened.text("verdict").startswith("Right. Here: she lies with a list: GM is ")
    assert opened.text("verdict").endswith("1 of 2 right.")
    opened.press("q")
    assert opened.run("document.getElementById('verdict').hidden") is True


def test_space_plays_and_never_ends_the_quiz(opened: Browser) -> None:
    """The button that began the quiz keeps the focus."""
    opened.run("document.getElementById('quiz').focus()")
    opened.press(" ")
    on = "document.getElementById('quiz').getAttribute('aria-pressed')"
    assert opened.run(on) == "true"
    opened.press(" ")
    assert opened.run(on) == "true"
    opened.press("1")
    opened.wait_for("parseFloat(document.getElementById('clock').textContent) > 0.2")
    opened.run("document.getElementById('quiz').focus()")
    opened.press(" ")
    assert opened.run(on) == "true"
    assert opened.text("play") == "Play"
    assert opened.text("verdict").startswith("Your answer: ")


def test_hostile_names_are_shown_as_text(opened: Browser) -> None:
    seen = HOSTILE.replace("\u2028", " ")
    assert opened.text("title") == seen
    assert opened.text("about").startswith(seen)
    assert opened.run("document.title") == seen
    assert opened.run("document.images.length") == 0
    assert opened.run("document.querySelector('optgroup').label") == seen


def test_caution_is_on_the_first_screen(opened: Browser) -> None:
    assert opened.text("caution") == CAUTION
    for width, height in ((1280, 800), (820, 1180), (1180, 820)):
        opened.resize(width, height)
        box = opened.run(
            "(() => { const r = document.getElementById('caution').getBoundingClientRect();"
            "return [r.top, r.bottom, document.documentElement.scrollWidth]; })()"
        )
        assert 0 < box[0] < box[1] <= height
        assert box[2] <= width


POINTS = """
Object.fromEntries(["m", "b", "g", "virtual", "z"].map((name) => {
  const view = document.querySelectorAll("#section .ship")[VIEW].parentNode;
  const back = view.querySelector(".ship").getCTM().inverse();
  const at = view.querySelector(".mark." + name).getCTM();
  return [name, [back.a * at.e + back.c * at.f + back.e, back.b * at.e + back.d * at.f + back.f]];
}))
"""
"""Where the marks of the whole (0) or of the close-up (1) stand, turned back into ship axes [m]."""


@pytest.mark.parametrize("view", [0, 1])
@pytest.mark.parametrize("seconds", [0.0, 3.25, 17.0, 31.75])
def test_points_are_drawn_where_the_wall_sided_hull_has_them(
    opened: Browser, heights: xr.Dataset, seconds: float, view: int
) -> None:
    """Exact: y_M = -BM tan³ψ, z_M = KM + 3/2 BM tan²ψ; y_B = BM tan ψ, z_B = KB + BM/2 tan²ψ."""
    opened.enter("time", seconds)
    points = opened.run(POINTS.replace("VIEW", str(view)))
    moment = heights.isel(case=0, realisation=0).sel(t=seconds)
    psi = np.radians(float(moment["roll_angle"] - moment["wave_slope"]))
    tan, near = np.tan(psi), 1e-4
    m, b = [-BM * tan**3, KM + 1.5 * BM * tan**2], [BM * tan, KB + 0.5 * BM * tan**2]
    moved = min(max((seconds - 10.0) / 10.0, 0.0), 1.0) * 10.0 / 4250.0
    g = np.array([3.0 * moved, 5.30 + 2.0 * moved])
    virtual = g + np.array([0.0, 0.1])
    across = np.array([np.cos(psi), np.sin(psi)])
    lever = float((m - virtual) @ across)
    expected = {"m": m, "b": b, "g": g, "virtual": virtual, "z": virtual + lever * across}
    # M moves fast with heel, and the stored curve is read straight between half degrees.
    for name, place in expected.items():
        assert points[name] == pytest.approx(
            list(place), abs=30 * near if name == "m" else 3 * near
        )
    assert f"GZ {lever:.3f} m".replace("-", "−") in opened.text("readout")


def test_between_points_the_roll_follows_angle_and_rate(
    opened: Browser, heights: xr.Dataset
) -> None:
    run = heights.isel(case=0, realisation=0)
    smooth = CubicHermiteSpline(
        heights["t"].values, run["roll_angle"].values, run["roll_rate"].values
    )
    for seconds in (1.1, 2.6, 12.35):
        opened.enter("time", seconds)
        roll = float(smooth(seconds))
        side = "starboard" if roll > 0 else "port"
        assert f"roll {abs(roll):.1f}° to {side}" in opened.text("readout")


def test_print_is_one_sheet_with_picture_figures_and_caution(opened: Browser) -> None:
    opened.call("Emulation.setEmulatedMedia", media="print")
    seen = opened.run(
        "['.dock .controls', '#section', '#figures', '#caution', '#quiz', '#case'].map((name) =>"
        "document.querySelector(name).getClientRects().length > 0)"
    )
    opened.call("Emulation.setEmulatedMedia", media="")
    assert seen == [False, True, True, True, False, False]
    assert opened.paper().count(b"/Type /Page\n") == 1


def test_touch_targets_are_large_enough(opened: Browser) -> None:
    opened.resize(820, 1180, mobile=True)
    sizes = opened.run(
        "[...document.querySelectorAll('button, select, input[type=range], label')]"
        ".filter((e) => e.getClientRects().length)"
        ".map((e) => [e.id || e.textContent, e.getBoundingClientRect().height])"
    )
    small = [size for size in sizes if size[1] < 44.0 and size[0] != "GM"]
    assert small == [], json.dumps(small)


def test_a_run_that_never_ran_is_said_to_be_so(browser: Browser, tmp_path: Path) -> None:
    ds = invented(realisations=2)
    for name in ("roll_angle", "roll_rate", "wave_slope", "heeling_lever", "end_time"):
        ds[name][1, 0] = np.nan
    ds["outcome"][1, 0] = Outcome.NOT_RUN
    write_page(tmp_path / "page.html", [Chosen("result.nc", ds, [0, 1, 2], [0, 1])])
    browser.open(tmp_path / "page.html")
    browser.press("PageDown")
    assert browser.text("caption") == "nothing to play: not run"
    assert browser.run("document.getElementById('play').disabled") is True
    browser.press("q")
    assert browser.text("verdict") == "No question: there is no answer to this run."
    browser.press("q")
    browser.press(" ")
    browser.press("PageDown")
    assert browser.run("document.getElementById('play').disabled") is False
    assert browser.problems() == []


def test_the_storm_is_kept_when_the_case_changes(browser: Browser, tmp_path: Path) -> None:
    write_page(tmp_path / "page.html", [Chosen("result.nc", invented(), [0, 2], [0, 1])])
    browser.open(tmp_path / "page.html")
    browser.enter("storm", 1)
    browser.press("PageDown")
    assert browser.run("document.getElementById('storm').value") == "1"
    assert "2: top heavy" in browser.text("about")
    assert browser.problems() == []
