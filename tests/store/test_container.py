"""Files from elsewhere: refused in bounded time and memory, and nothing outside them is opened."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import netCDF4
import numpy as np
import pytest
from hostile_files import PACKED, claims, text_bomb, unpack
from store_samples import write_sample

from rollsim.errors import InputError
from rollsim.store.container import bounded_memory, strange_part
from rollsim.store.reading import open_result, same_scenario

MEMORY, SECONDS = 4 << 30, 60.0
OPENED = f"""
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({MEMORY}, {MEMORY}))
from pathlib import Path
from rollsim.errors import InputError
from rollsim.store.reading import open_result
try:
    open_result(Path(sys.argv[1]))
except InputError as error:
    print(error)
"""


@pytest.mark.parametrize("kind", PACKED)
def test_what_is_no_array_inside_the_file_is_refused(kind: str, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.h5")  # opened, it would wait for ever
    unpack(kind, tmp_path / "a.nc")
    with pytest.raises(InputError, match=r"is no result of rollsim\n  .*by rollsim run") as caught:
        open_result(tmp_path / "a.nc")
    assert len(str(caught.value).splitlines()) == 2
    assert not same_scenario(tmp_path / "a.nc", "")


def test_a_result_has_no_strange_part(tmp_path: Path) -> None:
    write_sample(tmp_path / "a.nc")
    assert strange_part(tmp_path / "a.nc") == ""
    assert strange_part(tmp_path / "none.nc") == ""


HEAVY: dict[str, Callable[[Path], None]] = {
    "texts": text_bomb,
    "times": partial(claims, dimension="t"),
    "cases": partial(claims, dimension="case"),
    "conditions": partial(claims, dimension="case", text=True),
    "numbers of an axis": partial(claims, dimension="anything"),
    "texts of an axis": partial(claims, dimension="anything", text=True),
}


@pytest.mark.parametrize("kind", HEAVY)
def test_what_claims_more_than_it_holds_is_refused(kind: str, tmp_path: Path) -> None:
    HEAVY[kind](tmp_path / "a.nc")
    done = subprocess.run(
        [sys.executable, "-c", OPENED, str(tmp_path / "a.nc")],
        capture_output=True,
        text=True,
        timeout=SECONDS,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "a.nc: damaged or cut short\n" in done.stdout
    assert len(done.stdout.splitlines()) == 2


def test_many_parts_are_refused(tmp_path: Path) -> None:
    with netCDF4.Dataset(str(tmp_path / "a.nc"), "w") as file:
        for i in range(1001):
            file.createDimension(f"d{i}", 1)
    with pytest.raises(InputError, match="more than 1000 parts"):
        open_result(tmp_path / "a.nc")


def test_groups_and_types_within_netcdf_are_refused(tmp_path: Path) -> None:
    for name in ("group", "type"):
        with netCDF4.Dataset(str(tmp_path / name), "w") as file:
            file.rollsim_format = np.int64(1)
            if name == "group":
                file.createGroup("g")
            else:
                file.createCompoundType(np.dtype([("a", "f8")]), "pair")
        with pytest.raises(InputError, match="is no array"):
            open_result(tmp_path / name)


def test_the_limit_of_memory_holds_and_is_lifted_again() -> None:
    before = resource.getrlimit(resource.RLIMIT_AS)
    with pytest.raises(MemoryError, match="allocate"), bounded_memory(1 << 28):
        np.ones(1 << 27)
    assert resource.getrlimit(resource.RLIMIT_AS) == before
    assert np.ones(1 << 20).size == 1 << 20
