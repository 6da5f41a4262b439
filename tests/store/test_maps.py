"""Files of searches and maps: a round trip, and refusals of everything else."""

from __future__ import annotations

from pathlib import Path

import netCDF4
import numpy as np
import pytest
from store_samples import ATTRIBUTES, AXES, TEXT, write_sample

from rollsim.errors import InputError
from rollsim.map_names import MAPS
from rollsim.names import Variable
from rollsim.store.maps import open_map, require_replaceable_map, write_map
from rollsim.store.reading import open_result

TABLE = {
    "value": Variable(("case", "branch", "point"), "", "value of the key"),
    "stable": Variable(("case", "branch", "point"), "1", "whether she stays there", "i1"),
    "note": Variable(("case",), "", "what else there is", "str", optional=True),
    "spare_value": Variable(("case",), "", "what may be given", optional=True),
    "spare_value_lower": Variable(("case",), "", "its lower limit", optional=True),
    "spare_size": Variable(("case",), "", "what goes with it", optional=True),
}


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setitem(MAPS, "sample", TABLE)
    path = tmp_path / "x-sample.nc"
    arrays = {
        "value": np.arange(24.0).reshape(3, 2, 4),
        "stable": np.ones((3, 2, 4), np.int8),
        "condition": np.array(["a", "b", "c"]),
        "spare_value": np.ones(3),
        "spare_value_lower": np.ones(3),
        "spare_size": np.ones(3),
    }
    write_map(path, "sample", arrays, AXES, ATTRIBUTES, TEXT, {"value": "m"})
    return path


def test_round_trip(path: Path) -> None:
    dataset = open_map(path, "sample")
    assert dataset["value"].dims == ("case", "branch", "point")
    assert dataset["value"].attrs["units"] == "m"
    assert dataset["value"].attrs["long_name"] == "value of the key"
    assert list(dataset["condition"].values) == ["a", "b", "c"]
    assert dataset["kg"].attrs["scenario_key"] == "ship.gravity.kg_m"
    assert dataset.attrs["scenario_text"] == TEXT
    assert dataset["case"].values.tolist() == [0, 1, 2]


def test_it_is_no_result_of_a_run(path: Path) -> None:
    with pytest.raises(InputError, match="no result of rollsim run"):
        open_result(path)


def test_a_result_of_a_run_is_no_map(path: Path) -> None:
    result = path.with_name("run.nc")
    write_sample(result)
    with pytest.raises(InputError, match="no result of rollsim sample"):
        open_map(result, "sample")


def test_only_the_same_command_on_the_same_scenario_replaces_it(path: Path) -> None:
    require_replaceable_map(path, "sample", TEXT, False)
    with pytest.raises(InputError, match="another scenario"):
        require_replaceable_map(path, "sample", TEXT + " ", False)
    with pytest.raises(InputError, match="another command"):
        require_replaceable_map(path, "other", TEXT, False)
    require_replaceable_map(path, "other", TEXT, True)


@pytest.mark.parametrize(
    "change", ["missing", "missing beside another", "infinite", "type", "command", "limit"]
)
def test_a_damaged_file_is_refused(path: Path, change: str) -> None:
    with netCDF4.Dataset(str(path), "a") as file:
        if change == "missing":
            file.renameVariable("stable", "unstable")
        elif change == "missing beside another":
            file.renameVariable("spare_size", "other")
        elif change == "limit":
            file["spare_value_lower"][1] = 1.1
        elif change == "command":
            file.setncattr("rollsim_map", np.arange(3))
        elif change == "infinite":
            file["value"][0, 0, 0] = np.inf
        else:
            file.renameVariable("stable", "old")
            file.createVariable("stable", "f4", ("case", "branch", "point"))
    with pytest.raises(InputError, match="damaged"):
        open_map(path, "sample")
