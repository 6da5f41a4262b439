"""`rollsim critical FILE`: table, JSON, picture, exit codes, interruption and resumption."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_samples import Command
from study_files import scenario, written

from rollsim.study.critical.counting import Counting
from rollsim.study.pieces import Arrays

SEARCH = """[critical]
key = "sea.significant_height_m"
from = 1.0
to = 9.0
of = "failure"
probability = 0.2
tolerance = 0.4
most = 8000
"""
RUN = "duration_s = 30.0\noutput_step_s = 1.0\nseed = 5\n"


def put(folder: Path, *changes: tuple[str, str], more: str = "") -> Path:
    """A scenario with a search, some of its text replaced."""
    text = scenario(RUN, 'histories = "none"', more=SEARCH + more)
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return written(folder, text)


def test_it_prints_writes_and_draws(rollsim: Command, tmp_path: Path) -> None:
    conditions = '[[conditions]]\nname = "light"\n[[conditions]]\nname = "deep"\n'
    done = rollsim("critical", put(tmp_path, more=conditions + '"ship.gravity.kg_m" = 5.2\n'))
    assert done.code == 0
    assert "Critical value: the significant height (sea.significant_height_m) at which" in " ".join(
        done.out.split()
    )
    assert "light" in done.out
    assert "deep" in done.out
    assert "probability of failure in one run of 30 s is 0.2" in " ".join(done.out.split())
    assert "For study and training only" in done.out
    assert "drew results/trial-critical.png" in done.err
    assert "wrote results/trial-critical.nc" in done.err
    assert {path.name for path in Path("results").iterdir()} == {
        "trial-critical.nc",
        "trial-critical.png",
    }


def test_as_json_and_without_a_picture(rollsim: Command, tmp_path: Path) -> None:
    done = rollsim(
        "critical", put(tmp_path), "--json", "--no-plots", "--workers", "1", "-o", "a.nc"
    )
    assert done.code == 0
    (case,) = json.loads(done.out)["cases"]
    assert case["critical_value_lower"] < case["critical_value"] < case["critical_value_upper"]
    assert case["search"] == "found"
    assert case["runs"] == sum(trial["runs"] for trial in case["trials"]) <= 8000
    assert [path.name for path in tmp_path.glob("a*")] == ["a.nc"]


def test_both_ends_on_one_side(rollsim: Command, tmp_path: Path) -> None:
    done = rollsim("critical", put(tmp_path, ("to = 9.0", "to = 1.5")))
    assert done.code == 2
    line = put(tmp_path).read_text().split("\n").index("[critical]") + 1
    assert f"trial.toml:{line}:1: critical: the probability of failure is 0" in done.err
    assert "at 1.5 m, where 0.2 is searched for" in done.err
    assert "more likely" in done.err or "greater to" in done.err
    assert not list(Path("results").glob("*"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("to = 9.0", "to = 0.5", "critical.to: must be above from (1), got 0.5"),
        ("sea.significant_height_m", "sea.height", "critical.key: unknown key"),
        ("roll_deg = 8.0\n", "", 'critical.of: "failure" needs roll_deg or flooding_deg'),
        (SEARCH, "", "critical: is missing"),
    ],
)
def test_bad_input(rollsim: Command, tmp_path: Path, old: str, new: str, words: str) -> None:
    done = rollsim("critical", put(tmp_path, (old, new)))
    assert done.code == 2
    assert words in done.err


def test_a_probability_where_nothing_is_random(rollsim: Command, tmp_path: Path) -> None:
    calm = ('kind = "irregular"\nspectrum = "bretschneider"\n', 'kind = "regular"\n')
    sea = ("significant_height_m = 5.0\npeak_period_s", "height_m = 5.0\nperiod_s")
    key = ('"sea.significant_height_m"', '"sea.height_m"')
    done = rollsim("critical", put(tmp_path, calm, sea, key))
    assert done.code == 2
    assert "critical.probability: nothing is random here" in done.err
    assert "leave it out" in done.err
    rest = rollsim("critical", put(tmp_path, calm, sea, key, ("probability = 0.2\n", "")))
    assert rest.code == 0
    assert "failure first happens; nothing is random" in " ".join(rest.out.split())


def test_an_interruption(rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    count, made = Counting._count, 0

    def counted(this: Counting, *args: object) -> Arrays:
        nonlocal made
        made += 1
        if made == 12:
            raise KeyboardInterrupt
        return count(this, *args)  # type: ignore[arg-type]

    monkeypatch.setattr(Counting, "_count", counted)
    done = rollsim("critical", put(tmp_path), "--workers", "1")
    assert done.code == 130
    assert "what is finished is kept; the same command goes on" in done.err
    again = rollsim("critical", put(tmp_path), "--workers", "1")
    assert again.code == 0
    assert "going on with the unfinished work" in again.err
    assert not list(Path("results").glob("*.unfinished"))


def test_runs_that_are_not_solved(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    count = Counting._count

    def counted(this: Counting, *args: object) -> Arrays:
        counts = count(this, *args)["counts"]  # type: ignore[arg-type]
        return {"counts": counts - [0, 1] if counts[0] < counts[1] else counts}

    monkeypatch.setattr(Counting, "_count", counted)
    done = rollsim("critical", put(tmp_path))
    assert done.code == 1
    assert "not solved: they count as no outcome" in " ".join((done.out + done.err).split())


def test_check_reads_the_table(rollsim: Command, tmp_path: Path) -> None:
    sound = rollsim("check", put(tmp_path))
    assert sound.code == 0
    assert "searches sea.significant_height_m from 1 to 9, with at most 8000 runs" in sound.out
    done = rollsim("check", put(tmp_path, ("to = 9.0", "to = 0.5")))
    assert done.code == 2
    assert "critical.to: must be above from" in done.err
