"""The search for severity factors: what it says holds for runs, and nothing disturbs it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from batch_samples import STORM
from numpy.typing import NDArray
from study_samples import HERE, Tasks, assert_same_bytes, finished, study

from rollsim.engines.base import run_list
from rollsim.engines.runs import Runs
from rollsim.measures.outcome import happened
from rollsim.measures.severity import factors_tried
from rollsim.names import SEARCHED, Outcome, SeverityFound
from rollsim.store.reading import open_result
from rollsim.store.unfinished import unfinished_folder
from rollsim.study import severity
from rollsim.study.loop import run_list as made
from rollsim.study.plan import Plan
from rollsim.study.run import run_to_file
from rollsim.study.runs import Chunk
from rollsim.study.workers import Where

RUN = "duration_s = 30.0\noutput_step_s = 1.0\nrealisations = 70\nseed = 5"
ASKED = 'on = "waves"\nfrom = 0.6\nto = 2.0'
STRONGER = {"waves": (1.0, 0.0), "wind": (0.0, 1.0), "weather": (1.0, 1.0)}
"""Which of the two factors a search varies."""


def asked(text: str = ASKED, run: str = RUN, **tables: str) -> Plan:
    """The study of the samples, with a search."""
    more = {"sea": STORM, "output": 'histories = "none"'} | tables
    return study(more.pop("output"), run, severity=text, **more)


def answers(path: Path) -> dict[str, NDArray[Any]]:
    """What the searches of a result found, and its outcomes."""
    with open_result(path) as ds:
        return {name: ds[name].values for name in (*SEARCHED, "outcome")}


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study with its search, made in one piece."""
    return finished(tmp_path_factory.mktemp("severity") / "whole.nc", asked())


def test_she_fails_at_her_factor_and_survives_a_little_below_it(whole: Path) -> None:
    plan, got = asked(), answers(whole)
    codes = got["severity_found"]
    assert set(np.unique(codes)) >= {SeverityFound.FOUND, SeverityFound.NONE_UP_TO}
    for case in range(2):
        which = np.flatnonzero(codes[case] == SeverityFound.FOUND)
        factor = got["severity_factor"][case, which]
        start = plan.cases[case].start
        at = made(plan, case, run_list(which, start, factor), where=HERE)
        below = made(plan, case, run_list(which, start, factor / 1.003), where=HERE)
        assert happened(at.numbers["outcome"], "failure").all()
        # Between the last factor survived and this one there are at most 0.3 %.
        assert np.mean(happened(below.numbers["outcome"], "failure")) < 0.02


def test_it_is_the_first_failure_of_the_whole_grid_and_islands_are_above_it(whole: Path) -> None:
    plan, got = asked(), answers(whole)
    grid = factors_tried(0.6, 2.0)
    storms = np.arange(70)
    start = plan.cases[1].start
    runs = made(
        plan, 1, run_list(np.tile(storms, grid.size), start, np.repeat(grid, 70)), where=HERE
    )
    fails = happened(runs.numbers["outcome"], "failure").reshape(grid.size, 70)
    first = np.where(fails.any(axis=0), fails.argmax(axis=0), grid.size)
    codes, factor = got["severity_found"][1], got["severity_factor"][1]
    np.testing.assert_array_equal(codes == SeverityFound.NONE_UP_TO, first == grid.size)
    np.testing.assert_array_equal(codes == SeverityFound.ALREADY_AT_FROM, first == 0)
    inside = np.flatnonzero(codes == SeverityFound.FOUND)
    assert np.all(factor[inside] <= grid[first[inside]])
    assert np.all(factor[inside] > grid[first[inside] - 1])
    back = (fails[:-1] & ~fails[1:]) & (np.arange(1, grid.size)[:, None] > first)
    np.testing.assert_array_equal(got["severity_islands"][1], back.sum(axis=0))


def test_a_run_that_failed_has_a_factor_of_at_most_one(whole: Path) -> None:
    got = answers(whole)
    failed = got["outcome"] > Outcome.SURVIVED
    assert failed.any()
    known = got["severity_factor"][failed]
    assert np.all(known[np.isfinite(known)] <= 1.0)
    assert not np.any(got["severity_found"][failed] == SeverityFound.NONE_UP_TO)


def test_workers_pieces_and_an_interruption_change_no_byte(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert_same_bytes(finished(tmp_path / "two.nc", asked(), Where(workers=2)), whole)
    tasks = Tasks(monkeypatch)
    path = tmp_path / "broken.nc"
    plan = asked()
    broken_off = 8
    assert not run_to_file(plan, path, where=HERE, listener=tasks.interrupt_after(broken_off))
    assert (answers(path)["outcome"] > 0).all()
    assert not (answers(path)["severity_found"] > 0).all()
    before, tasks.made = tasks.made, 0
    assert_same_bytes(finished(path, asked()), whole)
    again = tasks.made
    tasks.made = 0
    finished(tmp_path / "all.nc", asked())
    assert before + again == tasks.made
    assert not unfinished_folder(path).exists()


def test_a_numerical_failure_is_no_outcome(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Every run of storm 3 above a factor of 0.9, of storm 4 above her own factor."""
    normal = answers(finished(tmp_path / "normal.nc", asked()))
    own = normal["severity_factor"][0, 4]
    assert np.isfinite(own)
    take = severity.SeveritySearch.take

    def broken(search: severity.SeveritySearch, chunk: Chunk, runs: Runs) -> None:
        storm, factor = chunk.runs.realisation, chunk.runs.waves
        lost = ((storm == 3) & (factor > 0.9)) | ((storm == 4) & (factor > 1.06 * own))
        runs.numbers["outcome"][lost] = Outcome.NOT_SOLVED
        take(search, chunk, runs)

    monkeypatch.setattr(severity.SeveritySearch, "take", broken)
    got = answers(finished(tmp_path / "lost.nc", asked()))
    assert got["severity_found"][0, 3] == SeverityFound.NOT_SOLVED
    assert np.isnan(got["severity_factor"][0, 3])
    assert got["severity_factor"][0, 4] == own
    others = np.delete(np.arange(70), [3, 4])
    for name in SEARCHED:
        np.testing.assert_array_equal(got[name][0, others], normal[name][0, others])


@pytest.mark.parametrize("on", ["wind", "weather"])
def test_wind_and_weather_are_made_stronger_alike(on: str, tmp_path: Path) -> None:
    run = RUN.replace("70", "6")
    tables = {
        "wind": 'speed_mps = 12.0\nfrom = "port"',
        "ship.windage": "area_m2 = 300.0\nlever_m = 5.0",
        "start": 'roll_deg = "static"',
        "limits": "roll_deg = 14.0\nflooding_deg = 16.0\ncapsize_deg = 20.0",
    }
    plan = asked(f'on = "{on}"', run, **tables)
    got = answers(finished(tmp_path / "wind.nc", plan))
    which = np.flatnonzero(got["severity_found"][0] == SeverityFound.FOUND)
    assert which.size > 2
    factor = got["severity_factor"][0, which]
    waves, wind = (np.where(share, factor, 1.0) for share in STRONGER[on])
    runs = made(plan, 0, run_list(which, plan.cases[0].start, waves, wind), where=HERE)
    assert happened(runs.numbers["outcome"], "failure").all()


def test_a_capsize_is_searched_where_no_other_limit_is_set(tmp_path: Path) -> None:
    plan = asked(run=RUN.replace("70", "20"), limits="capsize_deg = 20.0")
    assert plan.search is not None
    assert plan.search.of == "capsize"
    got = answers(finished(tmp_path / "capsize.nc", plan))
    which = np.flatnonzero(got["severity_found"][0] == SeverityFound.FOUND)
    runs = run_list(which, plan.cases[0].start, got["severity_factor"][0, which])
    assert np.all(made(plan, 0, runs, where=HERE).numbers["outcome"] == Outcome.CAPSIZED)


def test_where_nothing_is_random_one_search_serves_for_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tasks = Tasks(monkeypatch)
    swell = 'kind = "regular"\nheight_m = 2.0\nperiod_s = 8.0'
    got = answers(finished(tmp_path / "swell.nc", asked(sea=swell)))
    assert got["severity_factor"].shape == (2, 70)
    assert np.unique(got["severity_factor"], axis=1).shape == (2, 1)
    assert np.isfinite(got["severity_factor"]).all()
    assert tasks.made < 12


def test_what_was_not_run_was_not_asked(tmp_path: Path) -> None:
    run = f"{RUN.replace('70', '20')}\nuntil = {{ relative_error = 0.3, most = 60 }}"
    got = answers(finished(tmp_path / "until.nc", asked(run=run)))
    not_run = got["outcome"] == Outcome.NOT_RUN
    np.testing.assert_array_equal(got["severity_found"] == SeverityFound.NOT_ASKED, not_run)


def test_scipys_methods_search_as_well(tmp_path: Path) -> None:
    short = "duration_s = 12.0\noutput_step_s = 1.0\nrealisations = 2\nseed = 5\n"
    ends = 'on = "waves"\nfrom = 1.0\nto = 1.6'
    block = answers(finished(tmp_path / "block.nc", asked(ends, short)))
    plan = asked(ends, f'{short}method = "DOP853"\nrelative_tolerance = 1e-6')
    exact = answers(finished(tmp_path / "exact.nc", plan))
    np.testing.assert_array_equal(block["severity_found"], exact["severity_found"])
    np.testing.assert_allclose(block["severity_factor"], exact["severity_factor"], rtol=4e-3)


def test_a_file_without_the_table_has_no_factors(tmp_path: Path) -> None:
    path = finished(tmp_path / "plain.nc", study(run=RUN, output='histories = "none"'))
    with open_result(path) as ds:
        assert not set(SEARCHED) & set(ds.variables)
        assert not [name for name in ds.attrs if str(name).startswith("severity")]
