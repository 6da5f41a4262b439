"""The report on what is compared, what is left out of it, and how she rolled."""

from __future__ import annotations

import numpy as np
import pytest
from markupsafe import Markup
from report_samples import column, parts, row, study
from show_samples import Make, build

from rollsim.names import Outcome
from rollsim.show.report import write as room
from rollsim.show.report.blocks import Picture

pytestmark = pytest.mark.usefixtures("unseen")


@pytest.fixture
def unseen(monkeypatch: pytest.MonkeyPatch) -> None:
    """No picture is drawn: this is about the words alone."""
    monkeypatch.setattr(room, "picture", lambda _, __, caption: Picture(Markup(), caption))


def test_what_is_left_out_stands_last_with_its_reason() -> None:
    ds = study([[1, 4, 1, 1], [4] * 4, [1] * 4], ("A", "sure", "B"))
    for part in ("", "_lower", "_upper"):
        for event in ("capsize", "failure"):
            ds[f"{event}_probability{part}"].values[1] = np.nan
    page = parts(ds)
    reason = "nothing is random there, every run capsized"
    assert f"sure: {reason}, ranked last" in page.text
    assert row(page, "3", "sure")[2:] == ["–", reason]
    assert not [cells for cells in page.cells if cells[:2] == ["A", "sure"]]


def test_a_pair_without_a_common_storm_has_no_p() -> None:
    page = parts(study([[4, 5], [5, 4]]))
    assert column(page, "p", "A", "B") == column(page, "p (Holm)", "A", "B") == "–"
    assert "not compared, no storm in which both have a result" in page.text
    assert "p = " not in page.text


def test_a_sweep_over_the_ship_tells_where_a_difference_is_shown() -> None:
    """By hand: at 5.4 none of 16 storms is lost, at 5.5 eight: p = 2/2⁸, twice that after Holm."""
    ds = build(["base"], realisations=16, axes={"kg": ("m", (5.3, 5.4, 5.5))})
    ds["kg"].attrs["scenario_key"] = "ship.gravity.kg_m"
    ds["outcome"].values[:] = Outcome.SURVIVED
    ds["outcome"].values[2, :8] = Outcome.CAPSIZED
    ds["failure_probability"].values[:] = [0.0, 0.0, 0.5]
    page = parts(ds)
    assert "Loadings that differ in one thing" in page.text
    said = "KG 5.4 m safer than KG 5.5 m in 8 of 8 discordant storms"
    assert f"{said} (p = 0.0078; after Holm p = 0.016)" in page.text
    assert "no difference shown in the other 1 of 2 pairs" in page.text
    assert not [cells for cells in page.cells if cells[:2] == ["KG 5.3 m", "KG 5.5 m"]]


def test_where_a_sweep_shows_nothing_it_is_told_what_was_compared() -> None:
    ds = build(["base"], realisations=4, axes={"kg": ("m", (5.3, 5.4, 5.5))})
    ds["kg"].attrs["scenario_key"] = "ship.gravity.kg_m"
    ds["outcome"].values[:] = Outcome.SURVIVED
    page = parts(ds)
    assert "no difference shown in any of 2 pairs of neighbours and conditions" in page.text


def test_captions_name_the_event_and_its_limits() -> None:
    page = parts(study([[1, 4, 1, 1], [1] * 4]))
    limits = "roll limit 40°, capsize 75°"
    failure = f"a failure is the passing of any limit: {limits}"
    for caption in (
        f"Outcomes, in runs, and margins; {limits}.",
        f"Probabilities and rates with 95 % limits; {failure}.",
        f"Loadings from the safest on, by the failure probability; {limits}.",
        f"Pairs in common storms: in how many of them which failed; {limits}.",
    ):
        assert caption in page.text


def test_how_she_rolled_is_told_without_histories(make: Make) -> None:
    """By hand: 4 runs with std 3 and mean 2; two pass the roll limit, first after 31 s."""
    ds = make(["a", "b"], realisations=4)
    page = parts(ds)
    assert "How she rolled" not in page.text
    ones = np.ones((2, 4))
    for name, value in (("roll_mean", 2.0), ("roll_std", 3.0), ("upcrossings", 20.0),
                        ("side_changes", 0.0), ("roll_limit_time", np.nan)):  # fmt: skip
        ds[name] = (("case", "realisation"), value * ones)
    ds["upcrossings"].values[1] = 10.0
    ds["roll_limit_time"].values[0, 1:3] = [44.0, 31.0]
    page = parts(ds)
    told = next(text for text in page.text.split("How she rolled")[1:2])
    assert "roll mean [°] 2.00" in told
    assert "roll std [°] 3.00" in told
    assert column(page, "0 · a", "upcrossings") == "80"
    assert column(page, "0 · a", "roll limit first passed") == "2 runs, from 31 s"
    assert column(page, "1 · b", "roll limit first passed") == "–"
    assert "side changes" not in told.split("Rolling is counted")[0]


def test_the_laws_stand_in_a_table_with_their_meaning(make: Make) -> None:
    ds = make(["a", "b"], realisations=30)
    ds["outcome"].values[0] = Outcome.SURVIVED
    ds["outcome"].values[1] = Outcome.CAPSIZED
    page = parts(ds)
    assert column(page, "runs", "a") == "30"
    assert column(page, "no levels because", "b").startswith("fewer than 20 runs")
    assert "Once in N: the angle that one run in N passes on average" in page.text


def test_where_no_law_can_be_had_a_sentence_says_why(make: Make) -> None:
    page = parts(make(["a", "b"], realisations=4))
    assert "No return levels: fewer than 20 runs that did not capsize." in page.text
    assert "The law of the greatest roll." not in page.text
