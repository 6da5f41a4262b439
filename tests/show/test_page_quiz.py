"""What the quiz of the page asks, and the answers; what pushes her; the one legend."""

from __future__ import annotations

import pytest
from animation_samples import Loading
from animation_samples import study as sample

from rollsim.names import Outcome
from rollsim.show.animation.section import POINTS
from rollsim.show.marks import MARKS
from rollsim.show.page.answer import ANSWERS, QUESTION, asked
from rollsim.show.page.data import Chosen, page_data
from rollsim.show.page.write import page
from rollsim.show.query.inputs import pusher


def ends(loading: Loading, outcome: Outcome = Outcome.SURVIVED) -> str:
    """The verdict that answers the quiz for a run of the wall-sided hull."""
    ds = sample([loading._replace(outcome=outcome)])
    reply = asked(ds, 0, 0).answer
    return next((name for name, words in ANSWERS.items() if words == reply), "")


LOLLING = Loading(kg=5.7)
"""GM −0.2 m: she lolls at 20.4°."""


@pytest.mark.parametrize(
    ("loading", "name"),
    [
        (Loading(swing=5.0), "upright"),
        (Loading(swing=20.0, about=2.0), "upright"),
        (Loading(swing=0.0, kg=5.5, about=1.3), "neutral"),
        (Loading(swing=3.0, off_centre=0.1, about=10.4), "list"),
        (Loading(swing=3.0, lever=0.1, about=10.4), "held-over"),
        (LOLLING._replace(swing=3.0, about=-20.0), "loll"),
        (LOLLING._replace(swing=25.0), "loll"),
        (Loading(swing=0.0, about=20.0, end=20.0), "capsized"),
        (Loading(swing=0.0, lever=5.0), ""),
    ],
)
def test_the_quiz_is_answered_by_the_verdict_of_the_heel_she_ends_at(
    loading: Loading, name: str
) -> None:
    assert ends(loading) == name


def test_what_was_not_solved_or_never_ran_has_no_answer() -> None:
    assert ends(Loading(), Outcome.NOT_SOLVED) == ends(Loading(), Outcome.NOT_RUN) == ""
    assert ends(Loading(swing=0.0, about=30.0), Outcome.ROLL_LIMIT) == "upright"


def test_only_the_last_quarter_of_what_was_run_decides() -> None:
    ds = sample([Loading(swing=0.0, off_centre=0.1, about=10.4)])
    early = ds["t"].values < 25.0
    ds["roll_angle"].values[0, 0, early] = -30.0
    assert asked(ds, 0, 0).answer == ANSWERS["list"]


def test_gm_zero_is_neutral_and_not_righting() -> None:
    """As the lesson of three heights of G says of the second."""
    assert ends(Loading(swing=0.0, kg=5.5, about=1.1)) == "neutral"


ASKS = """
[lesson]
question = "List or loll? <b>"
answers = ["list", "loll"]
answer = "list"
hint = "G lies off the centreline."
[[conditions]]
name = "base"
[[conditions]]
name = "high"
"lesson.answer" = "loll"
"lesson.hint" = "GM is below zero."
[[conditions]]
name = "other"
[conditions.lesson]
question = "Why?"
answers = ["G", "B"]
answer = "B"
"""


def test_an_author_asks_a_question_of_each_condition() -> None:
    loadings = [Loading(name) for name in ("base", "high", "other")]
    ds = sample(loadings)
    ds.attrs["scenario_text"] = ASKS
    assert [asked(ds, case, 0).answer for case in range(3)] == ["list", "loll", "B"]
    assert [asked(ds, case, 0).reason for case in range(3)] == [
        "G lies off the centreline.", "GM is below zero.", "",
    ]  # fmt: skip
    chosen = Chosen("result.nc", ds, [0], [0])
    assert "<b>" not in page([chosen])
    run = page_data([chosen], 1)["cases"][0]["runs"][0]
    assert (run["question"], run["answers"]) == ("List or loll? <b>", ["list", "loll"])
    assert asked(sample([Loading()]), 0, 0).question == QUESTION


@pytest.mark.parametrize("answer", ['"neither"', "3", "[1]"])
def test_a_question_that_another_hand_has_spoilt_is_not_asked(answer: str) -> None:
    ds = sample([Loading()])
    ds.attrs["scenario_text"] = ASKS.replace('answer = "list"', f"answer = {answer}")
    assert asked(ds, 0, 0).question == QUESTION


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("[wind]\nspeed_mps = 5.0", "wind"),
        ("[[events]]\nkind = 'heeling-lever'", "push"),
        ("[wind]\n[[events]]\nkind = 'heeling-lever'", "wind or push"),
        ("[sweep]\n'wind.speed_mps' = [1, 2]", "wind"),
        ("not = [toml", "wind or push"),
    ],
)
def test_what_pushes_her_has_a_name(text: str, word: str) -> None:
    ds = sample([Loading()])
    ds.attrs["scenario_text"] = text
    assert pusher(ds) == word


def test_page_and_animation_have_one_legend() -> None:
    legend_ = page_data([Chosen("result.nc", sample([Loading()]), [0], [0])], 1)["legend"]
    assert {name: mark["colour"] for name, mark in legend_["marks"].items()} == {
        name: mark.colour for name, mark in MARKS.items()
    }
    for name, letter in (("g", "G"), ("virtual", "Gv"), ("b", "B"), ("m", "M")):
        assert POINTS[letter]["color"] == MARKS[name].colour
        assert POINTS[letter]["marker"] == MARKS[name].marker
