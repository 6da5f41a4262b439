"""Every exercise is solved by one script and failed by another, in the page itself."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from live_samples import SCENARIOS, do, drawn, opened, state
from page_browser import Browser

from rollsim.cautions import LOLL_WARNING
from rollsim.scenario.load import load

FOLDER = SCENARIOS / "exercises"
NAMES = sorted(path.stem for path in FOLDER.glob("*.toml"))
Script = Callable[[Browser], None]


def press(browser: Browser, *names: str) -> None:
    """Press buttons by their ids."""
    for name in names:
        browser.run(f"document.getElementById({json.dumps(name)}).click()")


def wait(seconds: float) -> Script:
    """Let her live so long."""
    return lambda browser: do(browser, "advance", seconds)


def sets(**values: float) -> Script:
    """Set values."""
    return lambda browser: do(browser, "set", values)


def let_go(roll: float, rate: float = 0.0) -> Script:
    """Let her go at a roll [degree] and rate [degree/s], the clock standing."""
    start = json.dumps({"roll_deg": roll, "roll_rate_deg_per_s": rate})
    return lambda browser: browser.run(f"(rollsim.release({start}), rollsim.pause())")


def answer(words: str) -> Script:
    """Choose an answer."""

    def choose(browser: Browser) -> None:
        drawn(browser)
        browser.run(
            "[...document.querySelectorAll('#task-choices button')]"
            f".find((b) => b.textContent === {json.dumps(words)}).click()"
        )

    return choose


def held(roll: int) -> Script:
    """Push her by the keyboard to a heel [degree] and keep her there."""

    def push(browser: Browser) -> None:
        for _ in range(abs(roll)):
            press(browser, "lean-starboard" if roll > 0 else "lean-port")

    return push


def pump(*fills: tuple[int, float], rate: int = 60) -> Script:
    """Fill tanks one after the other, each for so many seconds, then shut."""

    def fill(browser: Browser) -> None:
        browser.enter("tank-rate", rate)
        for tank, seconds in fills:
            browser.enter("tank", tank)
            press(browser, "tank-fill")
            do(browser, "advance", seconds)
            press(browser, "tank-shut")

    return fill


def then(browser: Browser) -> None:
    """The step is reached; go to the next."""
    assert ended(browser) == "reached", browser.text("task-reply")
    press(browser, "task-next")


def ended(browser: Browser) -> str:
    """How the step stands."""
    drawn(browser)
    return str(browser.run("document.getElementById('task').dataset.state"))


P, C, S = 0, 1, 2
SAME, MORE = "the same within 2 mm", "half as much again"
SOLVED: dict[str, list[Script]] = {
    "find-the-metacentre": [
        sets(kg_m=5.5), wait(20), sets(kg_m=5.66), wait(10), then, answer("5.66 m"),
    ],
    "barrel-and-ship": [
        let_go(20), wait(15), then, wait(900), answer("her M moves up as she heels"),
    ],
    "small-angles": [held(5), answer(SAME), then, held(15), answer(MORE)],
    "loll-to-either-side": [wait(5), let_go(-4), wait(300), then, answer("G below M")],
    "list-or-loll": [
        let_go(-10), wait(120), answer("a list"), then,
        let_go(-10), wait(120), answer("a loll"), then,
        let_go(-25), wait(200), answer("both"),
    ],
    "cure-the-loll": [wait(10), pump((S, 400), (C, 400), (P, 400)), wait(300)],
    "high-side": [pump((P, 300)), wait(400), answer("she lolls, and the water lists her as well")],
    "slack-tanks": [
        wait(30), pump((P, 20), (C, 20), (S, 20), rate=5), wait(10), then,
        pump((C, 120), (S, 120), (P, 120)), wait(10),
    ],
    "gust-on-the-roll": [lambda browser: press(browser, "gust"), wait(15)],
    "ice-grows": [pump((C, 120), (S, 120), (P, 120)), wait(700)],
    "same-storm": [answer("deck cargo: she hardly rolls before the squall"), then, wait(400)],
    "in-tune": [wait(60), sets(wave_period_s=12.0), let_go(0.0), wait(200)],
}  # fmt: skip
FAILED: dict[str, list[Script]] = {
    "find-the-metacentre": [sets(kg_m=5.76), let_go(3), wait(400)],
    "barrel-and-ship": [sets(kg_m=6.8), let_go(20), wait(2000)],
    "small-angles": [held(5), answer(MORE)],
    "loll-to-either-side": [wait(950)],
    "list-or-loll": [let_go(-10), wait(60), answer("a loll")],
    "cure-the-loll": [wait(10), pump((P, 400))],
    "high-side": [pump((S, 300)), wait(1600)],
    "slack-tanks": [wait(1900)],
    "gust-on-the-roll": [wait(8.5), lambda browser: press(browser, "gust"), wait(60)],
    "ice-grows": [wait(2000)],
    "same-storm": [answer("full holds")],
    "in-tune": [wait(1600)],
}


def begun(browser: Browser, folder: Path, name: str) -> None:
    """The exercise's page, its first step open."""
    opened(browser, folder, (FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    assert browser.text("warning") == LOLL_WARNING
    drawn(browser)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_exercise_can_be_solved(name: str, browser: Browser, tmp_path: Path) -> None:
    begun(browser, tmp_path, name)
    for script in SOLVED[name]:
        script(browser)
    assert ended(browser) == "reached", (browser.text("task-reply"), state(browser))
    assert browser.run("document.getElementById('task-next').disabled") is True
    assert browser.problems() == []


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_exercise_can_be_failed(name: str, browser: Browser, tmp_path: Path) -> None:
    begun(browser, tmp_path, name)
    for script in FAILED[name]:
        script(browser)
    assert ended(browser) == "failed", (browser.text("task-reply"), state(browser))
    press(browser, "task-again")
    assert browser.run("document.getElementById('task').dataset.state") != "failed"
    assert browser.text("warning") == LOLL_WARNING
    assert browser.problems() == []


@pytest.mark.parametrize("name", NAMES)
def test_an_exercise_loads_without_a_warning(name: str) -> None:
    study = load(FOLDER / f"{name}.toml")
    assert study.warnings == ()
    assert study.base.lesson is not None
    assert all(step.note for step in study.base.lesson.steps)


def test_there_are_at_least_ten_exercises() -> None:
    assert set(NAMES) == set(SOLVED) == set(FAILED)
    assert len(NAMES) >= 10


def test_what_a_step_hides_is_not_to_be_seen(browser: Browser, tmp_path: Path) -> None:
    begun(browser, tmp_path, "list-or-loll")
    hidden = "[...document.querySelectorAll('.mark.g-part, .m-part, .weight, .bar, #curve, #hill')]"
    seen = f"{hidden}.every((e) => getComputedStyle(e).visibility === 'hidden')"
    assert browser.run(seen) is True
    shown = browser.text("verdict") + browser.text("readout") + browser.text("kg-text")
    assert "GM" not in shown
    assert "loll" not in shown
    assert "list" not in shown
    assert "KG" not in shown
    assert browser.run("document.getElementById('warning').classList.contains('acts')") is False
    assert browser.run("document.getElementById('gm-zero').disabled") is True
    press(browser, "task-answer")
    drawn(browser)
    assert browser.run(seen) is False
    assert "list" in browser.text("verdict")
    assert "KG 5.300 m" in browser.text("readout")


def test_the_drawer_surprises_hides_and_plays_it_again(browser: Browser, tmp_path: Path) -> None:
    opened(browser, tmp_path)
    browser.press("i")

    def drawer(words: str) -> None:
        browser.run(
            "[...document.querySelectorAll('#drawer-actions button')]"
            f".find((b) => b.textContent === {json.dumps(words)}).click()"
        )

    drawer("Cargo shifts")
    do(browser, "advance", 5.0)
    drawer("Hide GM")
    press(browser, "weight-hang", "tank-fill")
    do(browser, "advance", 3.0)
    drawn(browser)
    assert "GM" not in browser.text("readout")
    before = state(browser)
    assert before["g"][0] > 0.01
    browser.enter("speed", 4)
    drawer("Play it again")
    browser.wait_for("document.getElementById('clock').textContent.startsWith('1.')")
    browser.wait_for("document.getElementById('play').textContent === 'Go on'")
    assert state(browser) == before
    drawer("Reveal all")
    drawn(browser)
    assert "GM" in browser.text("readout")
    log = browser.text("log")
    for words in ("surprise: Cargo shifts", "hangs 20 t", "plays it again"):
        assert words in log
    assert browser.problems() == []
