"""Studies that were broken off: what is on the disk is taken over, never mixed, never trusted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from batch_samples import CONDITIONS, STORM, plan_of, results_of

from rollsim.batch import plan as plan_module
from rollsim.batch.plan import Plan
from rollsim.batch.run import Listener, Where, run_to_file
from rollsim.batch.shards import shard_folder
from rollsim.batch.workers import run_chunk
from rollsim.errors import InputError, MachineError
from rollsim.store.reading import open_result

HERE = Where(workers=1)
TABLES = {"sea": STORM, "run": 'duration_s = 5.0\nrealisations = 3\nmethod = "DOP853"'}


class Broken:
    """A study that breaks off after some runs, and counts the runs that are really made."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.made = 0

        def counted(*given: Any) -> Any:
            self.made += 1
            return run_chunk(*given)

        monkeypatch.setattr(plan_module, "TASK_SECONDS", 1e-9)
        monkeypatch.setattr("rollsim.batch.study.run_chunk", counted)

    def stop_after(self, count: int) -> Listener:
        """A listener that presses Ctrl-C."""

        def progress(done: int) -> None:
            if done == count:
                raise KeyboardInterrupt

        return Listener(progress)


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> Broken:
    """A counter of runs."""
    return Broken(monkeypatch)


@pytest.fixture
def plan(broken: Broken) -> Plan:
    """Two conditions in three storms, a task for each run."""
    return plan_of(TABLES, CONDITIONS)


def data(path: Path) -> xr.Dataset:
    """All variables of a result."""
    with open_result(path) as found:
        return found.load()


def same(a: xr.Dataset, b: xr.Dataset) -> None:
    """Every variable of two results agrees bit for bit."""
    assert set(a.variables) == set(b.variables)
    for name in a.variables:
        np.testing.assert_array_equal(a[name].values, b[name].values, err_msg=str(name))


def test_the_next_run_goes_on_and_ends_the_same(plan: Plan, broken: Broken, tmp_path: Path) -> None:
    whole, path = tmp_path / "whole.nc", tmp_path / "broken.nc"
    assert run_to_file(plan, whole, where=HERE)
    broken.made = 0
    assert not run_to_file(plan, path, where=HERE, listener=broken.stop_after(4))
    assert (broken.made, shard_folder(path).is_dir()) == (4, True)
    told: list[str] = []
    heard: list[int] = []
    assert run_to_file(plan, path, where=HERE, listener=Listener(heard.append, told.append))
    assert broken.made == 6
    assert heard == [1, 2, 3, 4, 5, 6]
    assert [words.startswith("going on with the unfinished runs in ") for words in told] == [True]
    assert sorted(file.name for file in tmp_path.iterdir()) == ["broken.nc", "whole.nc"]
    same(data(path), data(whole))


def test_what_was_kept_of_a_broken_study_is_a_result(
    plan: Plan, broken: Broken, tmp_path: Path
) -> None:
    path = tmp_path / "result.nc"
    assert not run_to_file(plan, path, where=HERE, listener=broken.stop_after(2))
    assert data(path)["outcome"].values.tolist() == [[1, 1, 0], [0, 0, 0]]


def cut_short(file: Path) -> None:
    """As a full disk or a lost cache leaves it."""
    file.write_bytes(file.read_bytes()[:-7])


def altered(file: Path) -> None:
    """One bit in the middle."""
    held = bytearray(file.read_bytes())
    held[len(held) // 2] ^= 1
    file.write_bytes(bytes(held))


def emptied(file: Path) -> None:
    """Nothing left."""
    file.write_bytes(b"")


@pytest.mark.parametrize("damage", [cut_short, altered, emptied, Path.unlink])
def test_a_damaged_shard_is_made_again(
    damage: Callable[[Path], None], plan: Plan, broken: Broken, tmp_path: Path
) -> None:
    whole, path = tmp_path / "whole.nc", tmp_path / "broken.nc"
    assert run_to_file(plan, whole, where=HERE)
    assert not run_to_file(plan, path, where=HERE, listener=broken.stop_after(4))
    damage(sorted(shard_folder(path).glob("*.runs"))[1])
    broken.made = 0
    assert run_to_file(plan, path, where=HERE)
    assert broken.made == 3
    same(data(path), data(whole))


def test_another_scenario_does_not_mix_with_unfinished_runs(
    plan: Plan, broken: Broken, tmp_path: Path
) -> None:
    path = tmp_path / "result.nc"
    assert not run_to_file(plan, path, where=HERE, listener=broken.stop_after(4))
    other = plan_of(TABLES | {"start": "roll_deg = 3.0"}, CONDITIONS)
    with pytest.raises(InputError, match="holds the result of another scenario"):
        run_to_file(other, path, where=HERE)
    path.unlink()
    with pytest.raises(MachineError, match=r"unfinished runs of another state .*another scenario"):
        run_to_file(other, path, where=HERE)
    broken.made = 0
    assert run_to_file(other, path, where=HERE, replace=True)
    assert broken.made == 6
    assert not shard_folder(path).exists()


def test_an_unreadable_manifest_is_refused(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "result.nc"
    folder = shard_folder(path)
    folder.mkdir()
    (folder / "manifest.json").write_text("{ not JSON")
    with pytest.raises(MachineError, match="holds no readable manifest of unfinished runs"):
        run_to_file(plan, path, where=HERE)
    assert not path.exists()


def test_a_case_goes_on_until_its_probability_is_known_so_well() -> None:
    run = "duration_s = 60.0\nrealisations = 32\nuntil = { relative_error = 0.3, most = 400 }"
    sea = STORM.replace("significant_height_m = 3.0", "significant_height_m = 5.0")
    more = '[sweep]\n"limits.capsize_deg" = [20.0, 99.0]\n'
    tables = {"sea": sea, "run": run, "ship.damping": "linear_per_s = 0.2\nquadratic = 0.5"}
    found = results_of(plan_of(tables, more))
    ran = np.count_nonzero(found["outcome"], axis=1)
    upper, lower = (found[f"capsize_probability_{end}"] for end in ("upper", "lower"))
    half, p = 0.5 * (upper - lower), found["capsize_probability"]
    assert 32 < ran[0] < 400
    assert half[0] <= 0.3 * p[0]
    assert (ran[1], p[1]) == (400, 0.0)
    assert found["outcome"].shape == (2, 400)
    assert not found["outcome"][0, ran[0] :].any()
    fewer = results_of(plan_of(tables | {"run": "duration_s = 60.0\nrealisations = 32"}, more))
    np.testing.assert_array_equal(fewer["outcome"], found["outcome"][:, :32])


@pytest.mark.parametrize("histories", ["none", "failed", "worst"])
def test_only_the_asked_histories_are_kept_and_they_are_the_same(
    histories: str, tmp_path: Path
) -> None:
    run = "duration_s = 60.0\nrealisations = 40\n"
    tables = {"sea": STORM, "run": run, "limits": "roll_deg = 25.0"}
    all_of_them, some = tmp_path / "all.nc", tmp_path / "some.nc"
    assert run_to_file(plan_of(tables), all_of_them, where=HERE)
    output = f'histories = "{histories}"\ncount = 3'
    assert run_to_file(plan_of(tables | {"output": output}), some, where=HERE)
    full, kept = data(all_of_them), data(some)
    np.testing.assert_array_equal(kept["outcome"], full["outcome"])
    np.testing.assert_array_equal(kept["roll_max"], full["roll_max"])
    if histories == "none":
        assert "roll_angle" not in kept
        return
    assert kept["roll_angle"].dims == ("kept", "t")
    chosen = kept["kept_realisation"].values.tolist()
    assert kept["kept_case"].values.tolist() == [0] * len(chosen)
    if histories == "failed":
        failed = np.flatnonzero(full["outcome"][0].values > 1)
        assert failed.size > 0
        assert set(chosen) <= set(failed.tolist())
        assert len(chosen) == min(3, failed.size)
    else:
        assert len(chosen) == 3
    for i, realisation in enumerate(chosen):
        for name in ("roll_angle", "roll_rate", "wave_slope", "heeling_lever"):
            np.testing.assert_array_equal(kept[name][i], full[name][0, realisation], err_msg=name)
