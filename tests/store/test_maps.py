"""Files of searches and maps: a round trip, and refusals of everything else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
import pytest
from store_samples import ATTRIBUTES, AXES, TEXT, write_sample

from rollsim.errors import InputError
from rollsim.map_names import MAPS, SAYS
from rollsim.names import Variable
from rollsim.store.maps import open_map, require_replaceable_map, write_map
from rollsim.store.reading import open_result

Edit = Callable[[netCDF4.Dataset], object]

TABLE = {
    "roll": Variable(("roll",), "degree", "an axis"),
    "outcome": Variable(("case",), "1", "a code", "i1"),
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
        "roll": np.array([-1.0, 0.0, 1.0]),
        "outcome": np.ones(3, np.int8),
        "condition": np.array(["a", "b", "c"]),
        "spare_value": np.ones(3),
        "spare_value_lower": np.ones(3),
        "spare_size": np.ones(3),
    }
    says = {**ATTRIBUTES, "event": "failure", "most_runs": 7}
    monkeypatch.setitem(SAYS, "sample", {"event": ("failure",), "most_runs": float, "title": str})
    write_map(path, "sample", arrays, AXES, says, TEXT, {"value": "m"})
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


def _put(name: str, value: Any, *place: int) -> Edit:
    def edit(file: netCDF4.Dataset) -> None:
        file[name][place or Ellipsis] = value

    return edit


def _retyped(file: netCDF4.Dataset) -> None:
    file.renameVariable("stable", "old")
    file.createVariable("stable", "f4", ("case", "branch", "point"))


EDITS: dict[str, tuple[Edit, str]] = {
    "missing": (lambda file: file.renameVariable("stable", "old"), "stable is missing"),
    "missing beside another": (
        lambda file: file.renameVariable("spare_size", "old"), "spare_size is missing where spare_v"
    ),
    "infinite": (_put("value", np.inf, 0, 0, 0), "value is infinite"),
    "type": (_retyped, "stable is of type"),
    "limit": (_put("spare_value_lower", 1.1, 1), "lower lies on the wrong side of spare_value"),
    "axis": (_put("roll", np.nan), "roll does not rise"),
    "code": (_put("outcome", 99, 1), "outcome holds unknown codes"),
    "command": (lambda file: file.setncattr("rollsim_map", np.arange(3)), "rollsim_map is no text"),
    "no title": (lambda file: file.delncattr("title"), "the attribute title is missing"),
    "word": (lambda file: file.setncattr("event", "sinking"), "the attribute event is missing or"),
    "number": (lambda file: file.setncattr("most_runs", "x"), "the attribute most_runs is missing"),
    "numbers": (lambda file: file.setncattr("most_runs", [1, 2]), "the attribute most_runs is"),
}  # fmt: skip


@pytest.mark.parametrize("name", EDITS)
def test_a_damaged_file_is_refused(path: Path, name: str) -> None:
    edit, words = EDITS[name]
    with netCDF4.Dataset(str(path), "a") as file:
        file.set_auto_maskandscale(False)
        edit(file)
    with pytest.raises(InputError, match=f"damaged or cut short\n  .*{words}"):
        open_map(path, "sample")
