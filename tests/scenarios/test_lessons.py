"""The lesson sets: each loads without a warning, has its notes, and tells its story."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from click.testing import CliRunner

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.cli.main import rollsim
from rollsim.names import Outcome
from rollsim.scenario.load import load, loads
from rollsim.show.page.answer import ANSWERS
from rollsim.show.page.data import Chosen, page_data
from rollsim.store.reading import open_result
from rollsim.study.heel_cause import causes
from rollsim.study.plan import make_plan

FOLDER = Path(__file__).parents[2] / "scenarios" / "lessons"
LESSONS = (
    "initial-stability",
    "metacentre-moves",
    "loll-two-sides",
    "list-or-loll",
    "why-she-lies-over",
    "loll-corrections",
    "loll-tanks",
    "free-surface",
    "gust-dynamic-heel",
    "resonance",
    "same-storm",
)
MOST_HOURS = 4.0


def words(path: Path) -> str:
    """A text without its line breaks."""
    return " ".join(path.read_text(encoding="utf-8").split())


def test_the_folder_holds_these_lessons_and_no_other() -> None:
    assert {path.stem for path in FOLDER.glob("*.toml")} == set(LESSONS)
    assert {path.stem for path in FOLDER.glob("*.md")} == set(LESSONS)


@pytest.mark.parametrize("name", LESSONS)
def test_loads_without_a_warning(name: str) -> None:
    assert load(FOLDER / f"{name}.toml").warnings == ()
    done = CliRunner().invoke(rollsim, ["check", str(FOLDER / f"{name}.toml")])
    assert done.exit_code == 0
    assert "warning" not in done.output


def test_all_lessons_together_are_short() -> None:
    studies = [load(FOLDER / f"{name}.toml") for name in LESSONS]
    runs = [
        (len(study.cases), study.base.run.realisations, study.base.run.duration_s)
        for study in studies
    ]
    assert sum(a * b * c for a, b, c in runs) / 3600.0 < MOST_HOURS


@pytest.mark.parametrize("name", LESSONS)
def test_notes_name_the_commands_and_carry_the_cautions(name: str) -> None:
    notes = FOLDER / f"{name}.md"
    lines = notes.read_text(encoding="utf-8").splitlines()
    assert f"rollsim run scenarios/lessons/{name}.toml" in lines
    page = next(line for line in lines if line.startswith("rollsim page "))
    assert page.startswith(f"rollsim page results/{name}.nc ")
    assert page.endswith(f" -o {name}.html")
    said = words(notes)
    assert CAUTION in said
    assert "invented" in said
    for heading in ("## What it shows", "## What to point at", "## Questions"):
        assert heading in lines
    assert said.count("*Answer:*") == 3


@pytest.mark.parametrize("name", LESSONS)
def test_loll_is_warned_of_where_it_is_shown(name: str) -> None:
    text = (FOLDER / f"{name}.toml").read_text(encoding="utf-8")
    shown = "loll" in name or name in ("initial-stability", "free-surface", "why-she-lies-over")
    assert (LOLL_WARNING in words(FOLDER / f"{name}.md")) is shown
    assert ("never correct it by shifting or filling on the high side" in text) is shown


def run(name: str, folder: Path) -> xr.Dataset:
    """The result of a lesson, run and turned into a page by the commands of its notes."""
    lines = (FOLDER / f"{name}.md").read_text(encoding="utf-8").splitlines()
    command = next(line for line in lines if line.startswith("rollsim page ")).split()[3:]
    result = folder / f"{name}.nc"
    runner = CliRunner()
    scenario = str(FOLDER / f"{name}.toml")
    done = runner.invoke(rollsim, ["run", scenario, "--out", str(result), "--no-plots"])
    assert done.exit_code == 0, done.output
    out = folder / command.pop()
    done = runner.invoke(rollsim, ["page", str(result), *command, str(out)])
    assert done.exit_code == 0, done.output
    assert out.stat().st_size < 1_000_000
    return open_result(result)


def answers(ds: xr.Dataset) -> list[str]:
    """The verdict that answers the quiz for the first run of every case."""
    names = {words: name for name, words in ANSWERS.items()}
    return [names[reply] for reply in replies(ds)]


def replies(ds: xr.Dataset) -> list[str]:
    """The quiz's answer to the first run of every case."""
    held = page_data([Chosen("lesson.nc", ds, list(range(ds.sizes["case"])), [0])], 1)
    return [entry["runs"][0]["answer"] for entry in held["cases"]]


def late(ds: xr.Dataset) -> list[float]:
    """The mean roll [degree] of the last quarter of every case's first run."""
    roll = ds["roll_angle"].isel(realisation=0)
    return [float(x) for x in roll.sel(t=slice(0.75 * float(ds["t"][-1]), None)).mean("t")]


@pytest.mark.slow
def test_three_cases_of_initial_stability(tmp_path: Path) -> None:
    ds = run("initial-stability", tmp_path)
    assert answers(ds) == ["upright", "neutral", "loll"]
    assert ds["gm"].values == pytest.approx([0.40, 0.0, -0.10], abs=1e-9)
    assert float(ds["roll_angle"][1, 0, -1]) == pytest.approx(1.2, abs=0.1)
    assert float(ds["loll_angle"][2]) == pytest.approx(15.3, abs=0.1)


@pytest.mark.slow
def test_the_metacentre_moves_and_turns_on_the_real_hull(tmp_path: Path) -> None:
    ds = run("metacentre-moves", tmp_path)
    assert ds["gm"].values == pytest.approx([0.56, 0.56], abs=1e-9)
    at = ds.sel(heel=[20.0, 30.0])
    coaster, formula = at["metacentre_z"].values
    assert coaster[0] == pytest.approx(formula[0], abs=0.05)
    assert coaster[1] < coaster[0] - 0.3
    assert formula[1] > formula[0] + 0.8
    assert ds["roll_max"].values[:, 0] == pytest.approx([29.6, 27.1], abs=0.2)


@pytest.mark.slow
def test_one_angle_of_loll_on_either_side(tmp_path: Path) -> None:
    ds = run("loll-two-sides", tmp_path)
    assert answers(ds) == ["loll"] * 3
    ends = late(ds)
    assert ends[0] == pytest.approx(-ends[1], abs=0.1)
    assert ends[0] == pytest.approx(15.3, abs=0.3)
    assert ends[2] == pytest.approx(-15.3, abs=1.0)
    assert float(ds["roll_max"][2, 0]) > 15.0


@pytest.mark.slow
def test_a_list_comes_back_and_a_loll_goes_over(tmp_path: Path) -> None:
    ds = run("list-or-loll", tmp_path)
    assert [words[:5] for words in replies(ds)] == ["a lis", "a lol", "both:"]
    heel = ds["static_heel"].values
    assert heel[0] == pytest.approx(heel[1], abs=0.1)
    assert late(ds) == pytest.approx([heel[0], -heel[1], heel[2]], abs=0.5)


def test_a_stop_watch_tells_a_loll_from_a_list() -> None:
    text = (FOLDER / "why-she-lies-over.toml").read_text(encoding="utf-8")
    timed = text.replace("# roll_period_s", "roll_period_s").replace(
        "# roll_period_sd", "roll_period_sd"
    )
    (unsure,), (told,), (quick,), (both,) = (
        causes(make_plan(loads(each)))
        for each in (
            text,
            timed,
            timed.replace("34.0", "16.0"),
            text.replace("# roll_period_s = 34.0", "lies_on_both_sides = true"),
        )
    )
    assert 0.6 < unsure.probability[0] < 0.8
    assert next(iter(unsure.bits)) == "roll period by stop-watch"
    assert told.probability[0] < 0.15
    assert quick.probability[0] > 0.99
    assert both.probability[0] < 0.01


@pytest.mark.slow
def test_the_period_of_why_she_lies_over(tmp_path: Path) -> None:
    ds = run("why-she-lies-over", tmp_path)
    assert replies(ds) == ["both"]
    assert float(ds["static_heel"][0]) == pytest.approx(10.0, abs=0.05)
    assert float(ds["loll_angle"][0]) == pytest.approx(8.6, abs=0.05)
    roll = ds["roll_angle"].isel(case=0, realisation=0).sel(t=slice(40.0, None))
    above = roll.values > float(ds["static_heel"][0])
    passed = roll["t"].values[1:][above[1:] & ~above[:-1]]
    assert np.diff(passed) == pytest.approx(33.7, abs=0.3)


@pytest.mark.slow
def test_the_right_correction_rights_and_the_wrong_ones_flop(tmp_path: Path) -> None:
    ds = run("loll-corrections", tmp_path)
    assert answers(ds) == ["upright", "loll", "loll"]
    start = ds["static_heel"].values
    assert (start > 15.0).all()
    assert float(ds["roll_max"][0, 0]) > start[0] + 3.0
    ends = late(ds)
    assert ends[0] == pytest.approx(0.0, abs=0.1)
    assert ends[1] < -start[1]
    assert ends[2] < -start[2]


@pytest.mark.slow
def test_a_tank_is_slack_while_it_fills_and_pressed_full_at_the_end(tmp_path: Path) -> None:
    ds = run("loll-tanks", tmp_path)
    assert answers(ds) == ["upright", "list", "upright"]
    assert ds["static_heel"].values == pytest.approx([9.5] * 3, abs=0.1)
    roll = ds["roll_angle"].isel(realisation=0)
    low, high, whole = (roll[case].values for case in range(3))
    assert low.max() == pytest.approx(17.4, abs=0.1)
    assert whole.max() == pytest.approx(low.max(), abs=0.2)
    assert high.min() < -19.5
    assert late(ds)[1] == pytest.approx(-17.0, abs=0.1)
    rise = ds["free_surface_rise"].sel(t=61.0).values
    assert rise == pytest.approx([0.0588, 0.0588, 0.4707], abs=2e-3)
    assert not ds["free_surface_rise"].isel(t=-1).values.any()


@pytest.mark.slow
def test_free_surfaces_take_gm_and_heel_her_further(tmp_path: Path) -> None:
    ds = run("free-surface", tmp_path)
    assert ds["gm"].values == pytest.approx([0.36, 0.22, 0.08, -0.06], abs=1e-9)
    assert (ds["centre_of_gravity_z"].values[:, 0] == 5.30).all()
    ends = late(ds)
    assert ends == sorted(ends)
    assert ends[-1] > 3.0 * ends[0]
    assert answers(ds)[-1] == "loll"


@pytest.mark.slow
def test_the_same_wind_heels_further_when_it_comes_at_once(tmp_path: Path) -> None:
    ds = run("gust-dynamic-heel", tmp_path)
    assert answers(ds) == ["held-over", "held-over", "capsized"]
    ends = late(ds)
    assert ends[0] == pytest.approx(ends[1], abs=0.5)
    slow, sudden, _ = ds["roll_max"].values[:, 0]
    steady = ends[0]
    assert slow < steady + 1.0
    assert sudden - 5.8 > 1.6 * (steady - 5.8)


@pytest.mark.slow
def test_the_loading_in_tune_with_the_swell_rolls_most(tmp_path: Path) -> None:
    ds = run("resonance", tmp_path)
    most = ds["roll_max"].values[:, 0]
    assert int(np.argmax(most)) == 1
    assert most[1] > 1.8 * most[0]
    assert most[2] > 2.0 * most[3]
    period = 2.0 * np.pi * 5.3 / np.sqrt(9.80665 * ds["gm"].values)
    assert period == pytest.approx([10.3, 12.0, 14.9, 20.9], abs=0.05)


@pytest.mark.slow
def test_of_three_loadings_in_one_storm_the_tender_one_goes_over(tmp_path: Path) -> None:
    ds = run("same-storm", tmp_path)
    outcome = ds["outcome"].values
    assert (outcome[:2] == Outcome.SURVIVED).all()
    assert list(outcome[2]) == [Outcome.CAPSIZED, Outcome.SURVIVED]
    assert 300.0 < float(ds["end_time"][2, 0]) < 330.0
    slopes = ds["wave_slope"].isel(realisation=0).sel(t=slice(0, 300)).values
    # One storm; each loading has steps of its own, between which the slope is read.
    assert np.abs(slopes[0] - slopes[1]).max() < 5e-4
    rate = ds["roll_rate"].isel(realisation=0).sel(t=slice(0, 300)).std("t").values
    assert rate[0] == max(rate)
