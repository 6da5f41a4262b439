"""`rollsim replay`: any run again, bit for bit, from a result file alone."""

from __future__ import annotations

import json
from pathlib import Path

import netCDF4
import numpy as np
import pytest
from study_files import array_bytes, arrays, scenario, written

from rollsim.cli.main import run
from rollsim.engines.runs import HISTORIES, NUMBERS
from rollsim.scenario.schema import METHODS
from rollsim.store.reading import open_result

SHORT = "duration_s = 10.0\nrealisations = 3\nseed = 5\n"
BIG = "duration_s = 30.0\noutput_step_s = 1.0\nrealisations = 400\nseed = 5\n"
DIFFER = "warning: its numbers differ from those in the result"


def study(folder: Path, text: str, name: str = "study.nc") -> Path:
    """The result of a scenario."""
    folder.mkdir(exist_ok=True)
    path = folder / name
    assert run(["run", str(written(folder, text)), "-o", str(path), "--no-plots"]) == 0
    return path


def replayed(result: Path, case: int, realisation: int) -> Path:
    """The file of one run made again."""
    out = result.with_name("one.nc")
    where = ["--case", str(case), "--realisation", str(realisation)]
    assert run(["replay", str(result), *where, "-o", str(out)]) == 0
    return out


def assert_run(one: Path, of: Path, case: int, realisation: int) -> None:
    """Histories and numbers of `one` are those of that run, byte for byte."""
    single, whole = arrays(one), arrays(of)
    for name in (*HISTORIES, *NUMBERS):
        if name == "message":
            continue
        assert single[name].shape[:2] == (1, 1)
        assert single[name][0, 0].tobytes() == whole[name][case, realisation].tobytes(), name
    for name in whole.keys() - {*HISTORIES, *NUMBERS}:
        if "probability" not in name and not name.startswith(("capsize_rate", "failure_rate")):
            assert array_bytes(single[name]) == array_bytes(whole[name][case : case + 1]), name


@pytest.mark.parametrize("method", METHODS)
def test_a_run_is_the_same_bit_for_bit_by_every_method(
    method: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = study(tmp_path, scenario(f'{SHORT}method = "{method}"\n'))
    for case, realisation in ((0, 0), (1, 2)):
        assert_run(replayed(result, case, realisation), result, case, realisation)
    assert DIFFER not in capsys.readouterr().err


def test_a_run_in_the_middle_of_a_study_without_histories(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = study(tmp_path / "whole", scenario(BIG))
    result = study(tmp_path / "none", scenario(BIG, 'histories = "none"'))
    for case, realisation in ((0, 131), (1, 257), (1, 399)):
        assert_run(replayed(result, case, realisation), whole, case, realisation)
    assert DIFFER not in capsys.readouterr().err


def test_a_result_moved_elsewhere_is_enough(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    result = study(tmp_path / "here", scenario(BIG))
    there = tmp_path / "there"
    there.mkdir()
    moved = result.rename(there / "moved.nc")
    for left in (tmp_path / "here").iterdir():
        left.unlink()
    monkeypatch.chdir(there)
    assert run(["replay", "moved.nc", "--case", "condition=deep", "--realisation", "77"]) == 0
    assert capsys.readouterr().err.endswith("wrote moved-1-77.nc\n")
    assert_run(there / "moved-1-77.nc", moved, 1, 77)


def test_the_file_of_a_run_is_one_that_other_commands_take(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = study(tmp_path, scenario(BIG, 'histories = "none"'))
    one = replayed(result, 1, 257)
    with open_result(one) as ds:
        assert dict(ds.sizes)["case"] == dict(ds.sizes)["realisation"] == 1
        assert (int(ds["case"][0]), int(ds["realisation"][0])) == (1, 257)
        assert ds["condition"].values.tolist() == ["deep"]
        assert ds.attrs["history"].endswith("rollsim replay of case 1, realisation 257")
    capsys.readouterr()
    assert run(["summary", str(one), "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["cases"]
    assert (row["case"], row["condition"]) == (1, "deep")
    assert run(["plot", str(one)]) == 0
    made = capsys.readouterr().out.split()
    kinds = ("stability", "histories", "phase", "margins")
    assert made == [str(tmp_path / f"one-{kind}.png") for kind in kinds]
    assert run(["plot", str(one), "--case", "1", "--what", "margins"]) == 0
    assert capsys.readouterr().out.split() == [str(tmp_path / "one-case-1-margins.png")]
    animated = ["--size", "640x360", "--fps", "5", "--to", "1"]
    assert run(["animate", str(one), *animated]) == 0
    assert "case 1, realisation 257: " in capsys.readouterr().err
    assert one.with_name("one-animation.gif").exists()
    assert run(["export", str(one), "--case", "1", "--realisation", "257", "--notes"]) == 0
    text = Path(capsys.readouterr().out.strip()).read_text()
    assert "realisation 257: " in text
    assert run(["export", str(one), "--case", "0"]) == 2
    assert "no such case\n  the result holds case 1 only" in capsys.readouterr().err


def test_a_run_made_again_can_be_made_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its file holds one case and one realisation, by the numbers that they have in the study."""
    result = study(tmp_path, scenario(BIG))
    one = replayed(result, 1, 257)
    again = tmp_path / "again.nc"
    assert run(["replay", str(one), "-o", str(again)]) == 0
    assert DIFFER not in capsys.readouterr().err
    assert_run(again, result, 1, 257)


@pytest.mark.parametrize("name", ["roll_max", "outcome", "energy_margin", "failed_before_settle"])
def test_numbers_that_differ_are_warned_of(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = study(tmp_path, scenario(SHORT))
    with netCDF4.Dataset(str(result), "a") as file:
        held = file[name]
        held.set_auto_maskandscale(False)
        value = held[1, 2]
        held[1, 2] = np.nextafter(value, np.inf) if value.dtype.kind == "f" else value ^ 2
    replayed(result, 1, 1)
    assert DIFFER not in capsys.readouterr().err
    replayed(result, 1, 2)
    assert DIFFER in capsys.readouterr().err


def test_a_run_that_was_not_needed_is_made_without_a_warning(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    until = 'until = { relative_error = 0.4, most = 200, of = "capsize" }\n'
    more = '[sweep]\n"limits.capsize_deg" = [8.0, 60.0]\n'
    text = scenario(BIG.replace("= 400", "= 40") + until, more=more)
    result = study(tmp_path, text)
    assert arrays(result)["outcome"][0, 150] == 0
    one = replayed(result, 0, 150)
    assert arrays(one)["outcome"][0, 0] != 0
    assert DIFFER not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["--case", "2"], "no such case\n  the result holds cases 0 to 1"),
        (["--case", "condition=empty"], "no case is like that\n  condition = "),
        (["--case", "depth=3"], "cannot read 'depth=3'"),
        (["--case", "-1"], "cannot read '-1'"),
        (["--realisation", "3"], "no such realisation: 3\n  the result holds realisations 0 to 2"),
        (["--realisation", "-1"], "is not in the range"),
        (["-o", "study.nc"], "study.nc: is the result itself"),
    ],
)
def test_what_is_not_there_is_refused(
    given: list[str],
    words: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    result = study(tmp_path, scenario(SHORT))
    before = result.read_bytes()
    monkeypatch.chdir(tmp_path)
    capsys.readouterr()
    assert run(["replay", "study.nc", *given]) == 2
    assert words in capsys.readouterr().err
    assert result.read_bytes() == before
    assert sorted(file.name for file in tmp_path.iterdir()) == ["study.nc", "trial.toml"]


def test_another_file_is_not_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = study(tmp_path, scenario(SHORT))
    (tmp_path / "notes.nc").write_text("mine")
    assert run(["replay", str(result), "-o", str(tmp_path / "notes.nc")]) == 2
    assert "is no result" in capsys.readouterr().err
    assert (tmp_path / "notes.nc").read_text() == "mine"
    (tmp_path / "other").mkdir()
    other = study(tmp_path / "other", scenario(SHORT, more=""))
    assert run(["replay", str(result), "-o", str(other)]) == 2
    said = capsys.readouterr().err
    assert said.endswith("the result of another scenario\n  give another place with --out FILE\n")


def test_a_result_without_its_scenario_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = study(tmp_path, scenario(SHORT))
    with netCDF4.Dataset(str(result), "a") as file:
        file.scenario_text = "format = 1\n"
    assert run(["replay", str(result), "-o", str(tmp_path / "one.nc")]) == 2
    assert "missing\n  add the table [ship]" in capsys.readouterr().err
    assert not (tmp_path / "one.nc").exists()
