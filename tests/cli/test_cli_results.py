"""`summary` and `plot`: a result read again, its cases chosen, files that are no results."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
from pathlib import Path

import netCDF4
import pytest
from cli_samples import CALM, Command, held, put

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.names import VARIABLES


def test_summary_is_the_table_of_the_run(result: Path, rollsim: Command, tmp_path: Path) -> None:
    shutil.copy(result.with_suffix(".toml"), tmp_path)
    ran = rollsim("run", "coaster.toml", "--no-plots", "--workers", "1")
    said = rollsim("summary", result)
    assert said.code == 0
    assert said.out == ran.out
    assert said.err == ""


def test_summary_as_json_is_json_with_everything(result: Path, rollsim: Command) -> None:
    said = rollsim("summary", result, "--json")
    assert said.code == 0

    def no_constant(name: str) -> None:
        raise AssertionError(f"{name} is no JSON")

    found = json.loads(said.out, parse_constant=no_constant)
    assert found["title"] == "Two loadings of a coaster"
    assert (found["caution"], found["loll_warning"]) == (CAUTION, LOLL_WARNING)
    assert [(row["case"], row["condition"], row["kg_m"]) for row in found["cases"]] == [
        (0, "light", 5.1), (1, "light", 5.7), (2, "deck cargo", 5.1), (3, "deck cargo", 5.7),
    ]  # fmt: skip
    assert found["cases"][0]["loll_angle_deg"] is None
    assert found["cases"][1]["loll_angle_deg"] == pytest.approx(15.6, abs=1.0)
    assert len(found["pairs"]) == 2


def test_summary_as_csv_can_be_read(result: Path, rollsim: Command) -> None:
    said = rollsim("summary", result, "--csv")
    assert said.code == 0
    rows = list(csv.DictReader(io.StringIO(said.out)))
    assert [row["condition"] for row in rows] == ["light", "light", "deck cargo", "deck cargo"]
    assert [float(row["gm_m"]) for row in rows] == pytest.approx([0.559, -0.041] * 2, abs=1e-9)
    assert all(row["caution"].startswith(CAUTION) for row in rows)
    assert None not in rows[0]


def test_json_and_csv_at_once_are_refused(result: Path, rollsim: Command) -> None:
    said = rollsim("summary", result, "--json", "--csv")
    assert (said.code, said.out) == (2, "")
    assert "--json and --csv at once: take one of them" in said.err


def test_plot_draws_beside_the_result(result: Path, rollsim: Command, tmp_path: Path) -> None:
    path = Path(shutil.copy(result, tmp_path / "a result.nc"))
    said = rollsim("plot", path.name)
    assert said.code == 0
    drawn = [f"a result-{what}.png" for what in ("stability", "histories", "phase", "margins")]
    assert said.out.splitlines()[: len(drawn)] == drawn
    assert sorted(os.listdir(tmp_path)) == sorted([*said.out.splitlines(), "a result.nc"])
    for name in drawn:
        assert (tmp_path / name).read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(("suffix", "mark"), [("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_plot_draws_what_and_where_and_how_it_is_asked(
    suffix: str, mark: bytes, result: Path, rollsim: Command, tmp_path: Path
) -> None:
    said = rollsim("plot", result, "--what", "margins", "-o", "new/folder", "--format", suffix)
    assert (said.code, said.out) == (0, f"new/folder/coaster-margins.{suffix}\n")
    assert (tmp_path / "new" / "folder" / f"coaster-margins.{suffix}").read_bytes().startswith(mark)


def test_pictures_of_some_runs_leave_those_of_all(
    result: Path, rollsim: Command, tmp_path: Path
) -> None:
    common = ["plot", result, "--what", "histories", "-o", tmp_path]
    for chosen in ([], ["--case", "3", "--case", "0"], ["--realisation", "2"], ["--case", "1"]):
        assert rollsim(*common, *chosen).code == 0
    assert rollsim(*common, "--case", "1", "--realisation", "0").code == 0
    assert held(tmp_path) == sorted(
        f"coaster{chosen}-histories.png"
        for chosen in ("", "-case-3-0", "-realisation-2", "-case-1", "-case-1-realisation-0")
    )


def test_the_exceedance_curve_is_drawn_where_it_is_asked_for(
    result: Path, rollsim: Command, tmp_path: Path
) -> None:
    said = rollsim("plot", result, "--what", "exceedance", "-o", tmp_path)
    assert (said.code, held(tmp_path)) == (0, ["coaster-exceedance.png"])
    put(tmp_path, CALM)
    assert rollsim("run", "coaster.toml", "-o", "calm.nc", "--no-plots").code == 0
    said = rollsim("plot", "calm.nc", "--what", "exceedance")
    assert said.code == 2
    assert "nothing is random here: no probability to draw\n  an irregular sea" in said.err


@pytest.mark.parametrize("wanted", ["3", "condition=light,kg=5.10", " kg = 5.7 "])
def test_a_case_is_chosen_by_number_or_by_what_it_is(
    wanted: str, result: Path, rollsim: Command, tmp_path: Path
) -> None:
    chosen = ["--case", wanted, "--case", "0"]
    said = rollsim("plot", result, "--what", "histories", "-o", tmp_path, *chosen)
    assert said.code == 0
    assert said.err == ""


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ("4", "'4': no such case\n  the result holds cases 0 to 3"),
        ("9" * 5000, "no such case\n  the result holds cases 0 to 3"),
        ("-1", "'-1': cannot read '-1'"),
        ("1.0", "cannot read '1.0'"),
        ("²", "cannot read '²'"),
        ("", "cannot read ''"),
        ("light", "cannot read 'light'"),
        ("condition=heavy", "no case is like that\n  condition = "),
        ("kg=5.2", "no case is like that"),
        ("kg=many", "no case is like that"),
        ("kg=nan", "no case is like that"),
        ("gm=0.5", "cannot read 'gm=0.5'"),
        ("case=1", "cannot read 'case=1'"),
        ("kg=5.1,kg=5.7", "no case is like that"),
        ("kg=5.1,,", "'kg=5.1,,': "),
        ("\x1b[31mred", "'\\x1b[31mred': cannot read"),
    ],
)
def test_a_case_that_is_not_there_is_told(
    wanted: str, words: str, result: Path, rollsim: Command, tmp_path: Path
) -> None:
    said = rollsim("plot", result, "--case", wanted, "-o", tmp_path)
    assert (said.code, said.out, held(tmp_path)) == (2, "", [])
    assert said.err.startswith("--case: ")
    assert words in said.err
    assert "\x1b" not in said.err


def test_a_realisation_is_chosen_or_told(result: Path, rollsim: Command, tmp_path: Path) -> None:
    common = ["plot", result, "--what", "phase", "-o", tmp_path]
    assert rollsim(*common, "--realisation", "2", "--case", "1").code == 0
    said = rollsim(*common, "--realisation", "3")
    assert (said.code, said.out) == (2, "")
    assert (
        said.err
        == "--realisation: no such realisation: 3\n  the result holds realisations 0 to 2\n"
    )
    assert rollsim(*common, "--realisation", "-1").code == 2


def test_nothing_can_be_animated_where_no_history_was_kept(
    rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path, CALM + '[output]\nhistories = "none"\n')
    assert rollsim("run", "coaster.toml", "-o", "bare.nc", "--no-plots").code == 0
    said = rollsim("animate", "bare.nc")
    assert (said.code, said.out) == (2, "")
    assert "holds no history\n  rollsim replay makes any run again" in said.err


@pytest.mark.parametrize("what", [(), ("margins", "phase")])
def test_histories_that_were_not_kept_are_told(
    what: tuple[str, ...], rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path, CALM + '[output]\nhistories = "none"\n')
    assert rollsim("run", "coaster.toml", "-o", "bare.nc").code == 0
    said = rollsim("plot", "bare.nc", *(part for kind in what for part in ("--what", kind)))
    drawn = [kind for kind in what or ("stability", "margins") if kind == "margins" or not what]
    assert said.out == "".join(f"bare-{kind}.png\n" for kind in drawn)
    assert said.code == (2 if what else 0)
    assert said.err == (
        "bare.nc: holds no history of these runs\n  rollsim replay makes any run again\n"
        if what
        else ""
    )


def not_ours(folder: Path, result: Path) -> dict[str, str]:
    """Files that are no results, and what is said of them."""
    whole = result.read_bytes()
    (folder / "text.nc").write_text("a result\n")
    (folder / "empty.nc").write_bytes(b"")
    (folder / "cut.nc").write_bytes(whole[: len(whole) // 2])
    (folder / "head.nc").write_bytes(whole[:64])
    (folder / "folder.nc").mkdir()
    os.mkfifo(folder / "pipe.nc")
    with netCDF4.Dataset(folder / "other.nc", "w") as file:
        file.createDimension("x", 3)
        file.createVariable("depth", "f8", ("x",))[:] = 1.0
    with netCDF4.Dataset(folder / "old.nc", "w", format="NETCDF3_CLASSIC") as file:
        file.title = "old"
    shutil.copy(result, folder / "newer.nc")
    with netCDF4.Dataset(folder / "newer.nc", "a") as file:
        file.rollsim_format = 99
    shutil.copy(result, folder / "bare.nc")
    with netCDF4.Dataset(folder / "bare.nc", "a") as file:
        file.delncattr("scenario_text")
    shutil.copy(result, folder / "codes.nc")
    with netCDF4.Dataset(folder / "codes.nc", "a") as file:
        file["outcome"][0, 0] = 77
    return {
        "text.nc": "not a netCDF-4 file",
        "empty.nc": "not a netCDF-4 file",
        "cut.nc": "damaged or cut short",
        "head.nc": "damaged or cut short",
        "folder.nc": "is a folder, not a result",
        "pipe.nc": "is no ordinary file",
        "other.nc": "is no result of rollsim",
        "old.nc": "not a netCDF-4 file",
        "newer.nc": "was written by a newer rollsim",
        "bare.nc": "scenario_text is missing",
        "codes.nc": "outcome holds unknown codes",
        "nothing.nc": "no such file",
    }


@pytest.mark.parametrize("command", ["summary", "plot"])
def test_what_is_no_result_is_told(
    command: str, result: Path, rollsim: Command, tmp_path: Path
) -> None:
    files = not_ours(tmp_path, result)
    before = held(tmp_path)
    for name, words in files.items():
        said = rollsim(command, name)
        assert (said.code, said.out) == (2, ""), (name, said)
        assert said.err.startswith(f"{name}: ")
        assert words in said.err
        assert "Traceback" not in said.err
        assert len(said.err.splitlines()) <= 4
    assert held(tmp_path) == before


@pytest.mark.parametrize("position", [0.2, 0.4, 0.6, 0.8, 0.95])
def test_a_damaged_result_is_never_a_bug_of_ours(
    position: float, result: Path, rollsim: Command, tmp_path: Path
) -> None:
    whole = bytearray(result.read_bytes())
    start = int(position * len(whole))
    whole[start : start + 200] = bytes(200)
    (tmp_path / "damaged.nc").write_bytes(whole)
    said = rollsim("summary", "damaged.nc")
    assert said.code in (0, 2)
    assert "Traceback" not in said.err


def test_a_result_without_a_variable_can_still_be_read(
    result: Path, rollsim: Command, tmp_path: Path
) -> None:
    shutil.copy(result, tmp_path / "less.nc")
    with netCDF4.Dataset(tmp_path / "less.nc", "a") as file:
        for name in ("gm", "energy_margin", "capsize_probability"):
            assert name in VARIABLES
            file.renameVariable(name, f"other_{name}")
    said = rollsim("summary", "less.nc")
    assert said.code in (0, 2)
    assert "Traceback" not in said.err
