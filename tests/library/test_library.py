"""The library face: the same numbers as from the shell, light to import, typed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from library_samples import SCENARIO

import rollsim
from rollsim import library
from rollsim.cli.main import run as shell
from rollsim.errors import InputError, MachineError
from rollsim.study.run import Listener

HEAVY = ("numpy", "scipy", "xarray", "matplotlib", "numba", "pydantic", "click", "dask")


@pytest.fixture(scope="module")
def ds() -> xr.Dataset:
    """The study, run in memory."""
    return rollsim.loads(SCENARIO).run(workers=1)


def test_the_import_is_light() -> None:
    code = f"import sys, rollsim; dir(rollsim); print([m for m in {HEAVY} if m in sys.modules])"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_the_accessor_comes_with_the_first_name_used_or_by_itself() -> None:
    for code in ("rollsim.open_result", "import rollsim.accessor"):
        line = f"import rollsim, xarray; {code}; print(hasattr(xarray.Dataset, 'rollsim'))"
        said = subprocess.run(
            [sys.executable, "-c", line], capture_output=True, text=True, check=True
        )
        assert said.stdout.strip() == "True"


def test_public_names_are_there_and_no_others() -> None:
    assert set(rollsim.__all__) <= set(dir(rollsim))
    assert all(getattr(rollsim, name) is not None for name in rollsim.__all__)
    with pytest.raises(AttributeError, match="module 'rollsim' has no attribute 'nothing'"):
        _ = rollsim.nothing


def test_it_says_that_it_is_typed() -> None:
    assert Path(rollsim.__file__).with_name("py.typed").exists()


def test_python_and_the_shell_give_the_same_numbers(tmp_path: Path, ds: xr.Dataset) -> None:
    file, out = tmp_path / "two.toml", tmp_path / "shell.nc"
    file.write_text(SCENARIO)
    assert shell(["run", str(file), "--out", str(out), "--workers", "1", "--no-plots"]) == 0
    by_shell = rollsim.open_result(out)
    by_python = rollsim.load(file).run(tmp_path / "python.nc", workers=1)
    for other in (by_python, ds):
        assert set(other.variables) == set(by_shell.variables)
        for name in by_shell.variables:
            xr.testing.assert_identical(other[name].variable, by_shell[name].variable)
    told = {"date_created", "history"}
    for name in by_shell.attrs.keys() - told:
        assert str(by_python.attrs[name]) == str(by_shell.attrs[name])


def test_a_result_in_memory_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    found = rollsim.loads(SCENARIO).run(workers=1)
    assert found.sizes == {"case": 2, "realisation": 4, "t": 121, "heel": 201}
    assert not list(tmp_path.iterdir())


def test_progress_hears_every_run() -> None:
    heard: list[int] = []
    rollsim.loads(SCENARIO).run(workers=1, progress=heard.append)
    assert heard[-1] == 8


def test_faults_of_a_scenario_are_all_told() -> None:
    with pytest.raises(InputError, match=r"study:\d+:\d+: ship.beam_m") as caught:
        rollsim.loads(SCENARIO.replace("beam_m = 14.0", "beam_m = -1.0"), "study")
    assert len(caught.value.faults) == 1


def test_a_result_of_another_scenario_is_not_replaced_unasked(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    rollsim.loads(SCENARIO).run(path, workers=1)
    other = rollsim.loads(SCENARIO.replace("seed = 3", "seed = 4"))
    with pytest.raises(InputError, match="holds the result of another scenario"):
        other.run(path, workers=1)
    assert int(other.run(path, workers=1, replace=True).attrs["seed"]) == 4


def test_a_place_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(MachineError, match="a file stands where its folder should be"):
        rollsim.loads(SCENARIO).run(tmp_path / "file" / "a.nc", workers=1)


def test_an_interruption_comes_through(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, listener: Listener, **__: object) -> bool:
        listener.progress(1)
        return False

    monkeypatch.setattr(library, "run_to_file", interrupted)
    with pytest.raises(KeyboardInterrupt):
        rollsim.loads(SCENARIO).run(workers=1)


def test_check_warns_as_the_shell_does() -> None:
    assert rollsim.loads(SCENARIO).check() == ()
    doubtful = SCENARIO.replace("[run]", "slope_coefficient = 0.7\nshortest_wave_m = 60.0\n\n[run]")
    told = rollsim.loads(doubtful).check()
    assert any("of the wave variance is cut off" in warning for warning in told)


def test_a_study_says_what_it_is() -> None:
    said = "<LoadedStudy 'scenario': 2 cases x 4 realisations of 60 s>"
    assert repr(rollsim.loads(SCENARIO)) == said


def test_the_static_picture_needs_no_run() -> None:
    at_rest = rollsim.loads(SCENARIO).stability()
    assert at_rest["gm"].values == pytest.approx([0.5, 0.2])
    assert len(at_rest.rollsim.plot_stability().axes) > 2


def test_margins_are_those_of_the_summary(ds: xr.Dataset) -> None:
    found = ds.rollsim.margins()
    assert found["gm_m"].values == pytest.approx([0.5, 0.2])
    assert list(found["condition"].values) == ["light", "deck cargo"]
    assert np.isnan(found["loll_angle_deg"].values).all()
    failed = (ds["outcome"] > 1).sum("realisation")
    assert np.array_equal(found["roll_limit"].values + found["capsized"].values, failed)
    assert {"deck cargo"} < set(found.to_dataframe()["condition"])


def test_comparisons_and_summary_say_the_pairs(ds: xr.Dataset) -> None:
    (pair,) = ds.rollsim.comparisons()
    assert (pair["first"], pair["second"]) == ("light", "deck cargo")
    assert "Common storms" in ds.rollsim.summary()
    assert max(map(len, ds.rollsim.summary(width=60).splitlines())) <= 60


@pytest.mark.parametrize(
    "name",
    ["plot_stability", "plot_histories", "plot_phase", "plot_margins", "plot_exceedance"],
)
def test_every_plot_comes_back_and_is_written_where_asked(
    ds: xr.Dataset, tmp_path: Path, name: str
) -> None:
    out = tmp_path / f"{name}.svg"
    figure = getattr(ds.rollsim, name)(out=out)
    assert out.read_text(encoding="utf-8").startswith("<?xml")
    assert figure.axes


def test_no_exceedance_where_nothing_is_random(ds: xr.Dataset) -> None:
    certain = ds.assign(failure_probability=ds["failure_probability"] * np.nan)
    with pytest.raises(InputError, match="nothing is random here"):
        certain.rollsim.plot_exceedance()


def test_animation_and_report_are_written(ds: xr.Dataset, tmp_path: Path) -> None:
    drawn = ds.rollsim.animate(
        tmp_path / "roll.gif", cases=[1], size=(640, 360), fps=5, start=0.0, end=1.0
    )
    assert drawn.runs[0][0] == 1
    assert (tmp_path / "roll.gif").read_bytes().startswith(b"GIF89a")
    ds.rollsim.report(tmp_path / "report.html")
    assert "from a result in memory" in (tmp_path / "report.html").read_text(encoding="utf-8")
