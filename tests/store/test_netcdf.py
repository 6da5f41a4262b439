"""What is written: it comes back as it was, in the form that the conventions ask for."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
import pytest
import xarray
from hypothesis import given, settings
from hypothesis import strategies as st
from store_samples import ATTRIBUTES, AXES, TEXT, made_up, write_sample

from rollsim.cautions import CAUTION
from rollsim.names import VARIABLES
from rollsim.store.netcdf import AxisCoordinate, _chunks, estimate_bytes, write_result
from rollsim.store.reading import open_result

SIZES = st.integers(1, 5)
WORDS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


def _same(found: xarray.Dataset, arrays: dict[str, Any]) -> None:
    for name, array in arrays.items():
        np.testing.assert_array_equal(found[name].values, array, err_msg=name)


@given(SIZES, SIZES, SIZES, SIZES, st.integers(0, 1000), st.data())
@settings(max_examples=25, deadline=None)
def test_round_trip(
    tmp_path_factory: pytest.TempPathFactory,
    cases: int,
    realisations: int,
    samples: int,
    heels: int,
    seed: int,
    data: st.DataObject,
) -> None:
    path = tmp_path_factory.mktemp("trip") / "a.nc"
    arrays = made_up(cases, realisations, samples, heels, seed)
    text = st.lists(WORDS, min_size=cases, max_size=cases)
    arrays["condition"] = np.array(data.draw(text))
    arrays["message"][0, 0] = data.draw(WORDS)[:14]
    scenario = data.draw(WORDS)
    write_result(path, arrays, [], {"title": "trip"}, scenario)
    with xarray.open_dataset(path) as plain:
        _same(plain, arrays)
    found = open_result(path)
    _same(found, arrays)
    assert found.attrs["scenario_text"] == scenario


def test_opens_in_plain_xarray_with_readable_coordinates(tmp_path: Path) -> None:
    arrays = write_sample(tmp_path / "a.nc")
    with xarray.open_dataset(tmp_path / "a.nc") as found:  # warnings are errors here
        axes = {axis.name for axis in AXES}
        assert set(found.coords) == {"case", "realisation", "t", "heel", "condition"} | axes
        assert set(found.data_vars) == set(VARIABLES)
        assert found["kg"].values.tolist() == [5.1, 5.3, 5.45]
        assert found["kg"].attrs["units"] == "m"
        assert found["kg"].attrs["scenario_key"] == "ship.gravity.kg_m"
        assert found["spectrum"].values.tolist() == list(AXES[1].values)
        assert found["start_roll"].values.tolist() == ["0", "static", "-12.5"]
        assert found["condition"].values.tolist() == arrays["condition"].tolist()
        assert found["t"].dtype == np.float64
        assert found["roll_angle"].sel(t=slice(2.0, 4.0)).sizes["t"] == 5
        for name, variable in VARIABLES.items():
            if variable.dtype != "str":
                assert found[name].dtype == np.dtype(variable.dtype), name


def test_plain_xarray_lays_the_cases_out_as_a_grid(tmp_path: Path) -> None:
    arrays = made_up(cases=4)
    arrays["message"][2, 1] = "step too small"
    grid = [
        AxisCoordinate("kg", "ship.gravity.kg_m", "m", [5.1, 5.1, 5.3, 5.3]),
        AxisCoordinate("spectrum", "sea.spectrum", "", ["jonswap", "bretschneider"] * 2),
    ]
    write_result(tmp_path / "a.nc", arrays, grid, ATTRIBUTES, TEXT)
    with xarray.open_dataset(tmp_path / "a.nc") as plain:
        found = plain.set_index(case=["kg", "spectrum"]).unstack("case")
        one = found.sel(kg=5.3, spectrum="jonswap")
        assert one["message"].values.tolist() == arrays["message"][2].tolist()
        assert one["condition"].item() == arrays["condition"][2]
        np.testing.assert_array_equal(one["roll_angle"].values, arrays["roll_angle"][2])


def test_an_axis_of_offsets_says_that_it_is_one(tmp_path: Path) -> None:
    axes = [AxisCoordinate("kg", "ship.gravity.kg_m", "m", [-0.1, 0.0, 0.1], offset=True)]
    write_result(tmp_path / "a.nc", made_up(), axes, ATTRIBUTES, TEXT)
    with xarray.open_dataset(tmp_path / "a.nc") as plain:
        assert plain["kg"].attrs["scenario_offset"] == 1
        assert plain["kg"].attrs["long_name"] == "kg offset"


def test_empty_messages_cost_next_to_nothing(tmp_path: Path) -> None:
    sizes = []
    for runs, words in ((1, {}), (1_000_000, {}), (1_000_000, {7: "step too small", 600_000: "ü"})):
        message = np.full((1, runs), "", dtype=object)
        for run, word in words.items():
            message[0, run] = word
        arrays = {"outcome": np.ones((1, runs), np.int8), "message": message}
        write_result(tmp_path / "a.nc", arrays, [], ATTRIBUTES, TEXT)
        sizes.append((tmp_path / "a.nc").stat().st_size)
        with xarray.open_dataset(tmp_path / "a.nc") as plain:
            found = plain["message"].values
        np.testing.assert_array_equal(found, message)
    assert sizes[1] - sizes[0] < 100_000
    assert sizes[2] - sizes[1] < 3_000_000


@pytest.mark.parametrize("share", [0.0, 0.01, 0.5, 1.0])
def test_messages_of_any_share_of_the_runs_come_back(share: float, tmp_path: Path) -> None:
    arrays = made_up(cases=2, realisations=20_000, samples=2)
    words = np.array([f"gave up at {i} s" for i in range(20_000)])
    with_words = np.random.default_rng(1).random((2, 20_000)) < share
    arrays["message"] = np.where(with_words, words, "")
    write_result(tmp_path / "a.nc", arrays, [], ATTRIBUTES, TEXT)
    np.testing.assert_array_equal(open_result(tmp_path / "a.nc")["message"], arrays["message"])


def test_condition_is_always_there(tmp_path: Path) -> None:
    arrays = made_up(cases=2)
    del arrays["condition"]
    write_result(tmp_path / "a.nc", arrays, [], ATTRIBUTES, TEXT)
    assert open_result(tmp_path / "a.nc")["condition"].values.tolist() == ["base", "base"]


def test_file_explains_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    arrays = made_up()
    attributes = ATTRIBUTES | {"seed": 2**64 - 1}
    write_result(tmp_path / "a.nc", arrays, AXES, attributes, TEXT)
    with netCDF4.Dataset(str(tmp_path / "a.nc")) as file:
        assert file.Conventions == "CF-1.11, ACDD-1.3"
        assert file.history == "1970-01-01T00:00:00Z rollsim run trial.toml"
        assert file.date_created == "1970-01-01T00:00:00Z"
        assert file.comment == CAUTION
        assert file.scenario_text == TEXT
        assert file.seed == 2**64 - 1
        assert file.relative_tolerance == 1e-8
        assert "netCDF4" in file.versions
        outcome = file["outcome"]
        assert outcome.flag_meanings.split()[4] == "capsized"
        assert outcome.flag_values.tolist() == [0, 1, 2, 3, 4, 5]
        assert outcome.flag_values.dtype == outcome.dtype == np.int8
        filled = {name for name in file.variables if "_FillValue" in file[name].ncattrs()}
        assert filled == {n for n, variable in VARIABLES.items() if variable.dtype[0] == "f"}
        roll = file["roll_angle"]
        assert roll.filters()["zlib"]
        assert roll.filters()["shuffle"]
        assert roll.filters()["complevel"] == 1


def test_long_scenario_text_is_kept_whole(tmp_path: Path) -> None:
    text = TEXT + "# a remark\n" * 100_000
    write_sample(tmp_path / "a.nc", text=text)
    assert open_result(tmp_path / "a.nc").attrs["scenario_text"] == text


@pytest.mark.filterwarnings("ignore")  # the checker's own
def test_public_checker_finds_it_compliant(tmp_path: Path) -> None:
    from compliance_checker.runner import CheckSuite, ComplianceChecker

    write_sample(tmp_path / "a.nc")
    CheckSuite.load_all_available_checkers()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        passed, failed_to_run = ComplianceChecker.run_checker(
            str(tmp_path / "a.nc"),
            ["cf:1.11"],
            0,
            "strict",
            output_filename=str(tmp_path / "report.txt"),
        )
    report = (tmp_path / "report.txt").read_text()
    assert passed, report
    assert not failed_to_run
    assert "All tests passed" in report


def test_same_inputs_give_the_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    write_sample(tmp_path / "a.nc")
    write_sample(tmp_path / "b.nc")
    first = (tmp_path / "a.nc").read_bytes()
    assert first == (tmp_path / "b.nc").read_bytes()
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "no number")  # the clock then, not a lost result
    write_sample(tmp_path / "b.nc")
    assert first != (tmp_path / "b.nc").read_bytes()
    with (
        netCDF4.Dataset(str(tmp_path / "a.nc")) as one,
        netCDF4.Dataset(str(tmp_path / "b.nc")) as two,
    ):
        for file in (one, two):
            file.set_auto_maskandscale(False)
        for name in one.variables:
            np.testing.assert_array_equal(one[name][:], two[name][:], err_msg=name)


@given(st.lists(st.integers(1, 3000), min_size=1, max_size=3), st.sampled_from([1, 4, 8]))
def test_chunks_cover_evenly_within_a_megabyte(shape: list[int], item: int) -> None:
    chunks = _chunks(shape, item)
    assert item * np.prod(chunks) <= 1 << 20
    for size, chunk in zip(shape, chunks, strict=True):
        pieces = -(-size // chunk)
        assert 1 <= chunk <= size
        assert pieces * chunk - size < pieces  # no chunk is padded by more than a row


def test_chunk_holds_whole_histories() -> None:
    assert _chunks((30, 50, 7201), 4) == [1, 25, 7201]
    assert _chunks((2, 2, 1_000_000), 4) == [1, 1, 250_000]


def test_estimate_is_above_what_noise_takes(tmp_path: Path) -> None:
    write_sample(tmp_path / "a.nc", cases=2, realisations=20, samples=5000, heels=91)
    size = (tmp_path / "a.nc").stat().st_size
    assert size < estimate_bytes(2, 20, 5000, 91) < 2 * size


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"surprise": np.zeros(3)}, r"no variables of a result: \['surprise'\]"),
        ({"gm": np.zeros((3, 4))}, "gm has shape"),
        ({"gm": np.zeros(2)}, "gm has 2 along case, not 3"),
        ({"t": np.zeros(0)}, "t has shape"),
    ],
)
def test_wrong_arrays_are_refused(tmp_path: Path, change: dict[str, Any], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        write_result(tmp_path / "a.nc", {**made_up(), **change}, [], ATTRIBUTES, TEXT)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["t", "gm", "kg"])
def test_taken_names_of_axes_are_refused(tmp_path: Path, name: str) -> None:
    axes = [*AXES, AxisCoordinate(name, "a.b", "m", [1.0, 2.0, 3.0])]
    with pytest.raises(ValueError, match="names of sweep axes are taken"):
        write_result(tmp_path / "a.nc", made_up(), axes, ATTRIBUTES, TEXT)
    assert list(tmp_path.iterdir()) == []
