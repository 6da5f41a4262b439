"""What is read: our own whole results, and a plain word about every other file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
import pytest
from store_samples import TEXT, write_sample

from rollsim.errors import InputError
from rollsim.store import reading
from rollsim.store.reading import open_result, require_replaceable, same_scenario


def _open_files() -> int:
    return len(os.listdir("/proc/self/fd"))


@pytest.fixture
def result(tmp_path: Path) -> Path:
    write_sample(tmp_path / "a.nc")
    return tmp_path / "a.nc"


def _change(path: Path, **attributes: Any) -> None:
    with netCDF4.Dataset(str(path), "a") as file:
        file.setncatts(attributes)


def test_small_result_is_in_memory_and_its_file_closed(result: Path) -> None:
    before = _open_files()
    dataset = open_result(result)
    assert _open_files() == before
    result.unlink()
    assert dataset["roll_angle"].notnull().any()


def test_large_result_is_read_on_demand(result: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = open_result(result)
    monkeypatch.setattr(reading, "MEMORY_BYTES", 100)
    before = _open_files()
    with open_result(result) as dataset:
        assert _open_files() > before
        np.testing.assert_array_equal(dataset["roll_angle"][1, 2], whole["roll_angle"][1, 2])
    assert _open_files() == before


def _text(path: Path) -> None:
    path.write_text("format = 1\n")


def _empty(path: Path) -> None:
    path.touch()


def _nothing(path: Path) -> None:
    assert not path.exists()


def _folder(path: Path) -> None:
    path.mkdir()


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _broken_link(path: Path) -> None:
    path.symlink_to("nowhere.nc")


def _classic(path: Path) -> None:
    with netCDF4.Dataset(str(path), "w", format="NETCDF3_CLASSIC") as file:
        file.rollsim_format = 1


def _other_netcdf(path: Path) -> None:
    with netCDF4.Dataset(str(path), "w") as file:
        file.title = "somebody else's"


def _worded_format(path: Path) -> None:
    with netCDF4.Dataset(str(path), "w") as file:
        file.rollsim_format = "1"


def _newer(path: Path) -> None:
    write_sample(path)
    _change(path, rollsim_format=np.int64(2))


def _hollow(path: Path) -> None:
    with netCDF4.Dataset(str(path), "w") as file:
        file.rollsim_format = np.int64(1)
        file.scenario_text = ""


def _unknown_outcome(path: Path) -> None:
    write_sample(path)
    with netCDF4.Dataset(str(path), "a") as file:
        file["outcome"][0, 0] = 77


def _odd_encoding(path: Path) -> None:
    write_sample(path)
    with netCDF4.Dataset(str(path), "a") as file:
        file["condition"].setncattr("_Encoding", "no such \x1b[31mencoding")


def _odd_fill(path: Path) -> None:
    write_sample(path)
    with netCDF4.Dataset(str(path), "a") as file:
        file["outcome"].scale_factor = 0.5


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (_nothing, "cannot be read: no such file or directory"),
        (_broken_link, "cannot be read: no such file or directory"),
        (_folder, "is a folder, not a result"),
        (_pipe, "is no ordinary file"),
        (_empty, "not a netCDF-4 file"),
        (_text, "not a netCDF-4 file"),
        (_classic, "not a netCDF-4 file"),
        (_other_netcdf, "is no result of rollsim"),
        (_worded_format, "is no result of rollsim"),
        (_newer, "was written by a newer rollsim"),
        (_hollow, "damaged or cut short"),
        (_unknown_outcome, "outcome holds unknown codes"),
        (_odd_encoding, "damaged or cut short"),
        (_odd_fill, "outcome is of type float"),
    ],
)
def test_what_is_no_result_is_refused(tmp_path: Path, make: Any, match: str) -> None:
    path = tmp_path / "b.nc"
    make(path)
    before = _open_files()
    with pytest.raises(InputError, match=match) as caught:
        open_result(path)
    assert _open_files() == before
    assert "\x1b" not in str(caught.value)
    assert len(str(caught.value).splitlines()) == 2


@pytest.mark.parametrize("share", [0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99, 0.9999])
def test_cut_file_is_refused(result: Path, share: float) -> None:
    whole = result.read_bytes()
    result.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(InputError, match="damaged or cut short"):
        open_result(result)
    assert not same_scenario(result, TEXT)


def test_hostile_text_does_nothing(result: Path) -> None:
    _change(result, title="\x1b]0;x\x07", units="days since 0000-00-00", coordinates="a b c")
    dataset = open_result(result)
    assert dataset.attrs["title"] == "\x1b]0;x\x07"
    assert dataset["t"].dtype == np.float64


def test_result_knows_its_scenario(result: Path, tmp_path: Path) -> None:
    assert same_scenario(result, TEXT)
    assert not same_scenario(result, TEXT + " ")
    assert not same_scenario(tmp_path / "none.nc", TEXT)


def test_only_a_result_of_the_same_scenario_is_replaced_unasked(
    result: Path, tmp_path: Path
) -> None:
    require_replaceable(tmp_path / "none.nc", "other", replace=False)
    require_replaceable(result, TEXT, replace=False)
    require_replaceable(result, "other", replace=True)
    with pytest.raises(InputError, match="another scenario\n  give --replace"):
        require_replaceable(result, "other", replace=False)


@pytest.mark.parametrize("replace", [False, True])
def test_no_other_file_is_ever_replaced(tmp_path: Path, replace: bool) -> None:
    path = tmp_path / "notes.toml"
    path.write_text(TEXT)
    with pytest.raises(InputError, match="not a netCDF-4 file\n  it is not replaced"):
        require_replaceable(path, TEXT, replace)
    assert path.read_text() == TEXT.replace("\r\n", "\n")
