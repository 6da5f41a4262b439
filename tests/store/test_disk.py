"""When the machine refuses: one screen of text, nothing left behind, the old result whole."""

from __future__ import annotations

import errno
import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from store_samples import ATTRIBUTES, TEXT, made_up, write_sample

from rollsim.errors import MachineError
from rollsim.store import netcdf
from rollsim.store.disk import replacing, require_space, room_on_disk, size_text
from rollsim.store.netcdf import write_result
from rollsim.store.reading import open_result

HERE = str(Path(__file__).parent)


def _write(path: Path) -> None:
    write_result(path, made_up(), [], ATTRIBUTES, TEXT)


def _fail(path: Path, text: str) -> None:
    """Fail in the middle of writing, as the netCDF library does."""
    with replacing(path) as part:
        part.touch()
        raise RuntimeError(text)


def _child(code: str, *arguments: str) -> subprocess.Popen[str]:
    """A process of its own that runs `code` with the samples at hand."""
    head = f"import sys; sys.path.insert(0, {HERE!r})\nfrom pathlib import Path\n"
    return subprocess.Popen(
        [sys.executable, "-c", head + code, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


DISK_FULL = """
import resource
from store_samples import write_sample
from rollsim.errors import MachineError
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]),) * 2)
try:
    write_sample(Path(sys.argv[1]), samples=20_000)
except MachineError as error:
    print(error)
"""

SLOW = """
import time
from store_samples import write_sample
from rollsim.store import netcdf
put = netcdf._put
def slow(file, name, *rest):
    put(file, name, *rest)
    if name == "wave_slope":
        file.sync()
        print("half way", flush=True)
        time.sleep(60)
netcdf._put = slow
write_sample(Path(sys.argv[1]), seed=2)
"""


LARGE = """
import numpy as np
from store_samples import ATTRIBUTES, TEXT, made_up
from rollsim.names import VARIABLES
from rollsim.store import netcdf
arrays = made_up(cases=2, realisations=2, samples=10)
noise = np.random.default_rng(1).normal(size=(2, 2, 10_000_000)).astype("f4")
histories = ("roll_angle", "roll_rate", "wave_slope", "heeling_lever")
arrays |= {name: noise for name in histories} | {"t": np.arange(1e7)}
paths = [name for name, known in VARIABLES.items() if known.dims == ("case", "t")]
arrays |= {name: np.zeros((2, 10_000_000)) for name in paths}
print("writes", flush=True)
netcdf.write_result(Path(sys.argv[1]), arrays, [], ATTRIBUTES, TEXT)
"""


def test_ctrl_c_while_a_large_result_is_written_ends_it_at_once(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    write_sample(path)
    before = path.read_bytes()
    child = _child(LARGE, str(path))
    assert child.stdout is not None
    assert child.stdout.readline() == "writes\n"
    part = tmp_path / ".a.nc.part"
    while not (part.exists() and part.stat().st_size > 1 << 22):
        assert child.poll() is None
        time.sleep(0.01)
    start = time.monotonic()
    child.send_signal(signal.SIGINT)
    err = child.communicate(timeout=60)[1]
    assert time.monotonic() - start < 2.0
    assert err.endswith("KeyboardInterrupt\n")
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("room", ["0", "200_000"])  # netCDF calls the first one forbidden
def test_no_room_for_the_file(room: str, tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    write_sample(path)
    before = path.read_bytes()
    child = _child(DISK_FULL, str(path), room)
    out, err = child.communicate(timeout=60)
    assert (child.returncode, err) == (0, "")
    assert "a.nc: cannot be written: file too large" in out
    assert f"folder {tmp_path}, " in out
    assert "free: raise the limit on the size of a file" in out
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_killed_in_the_middle_leaves_the_old_result(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    write_sample(path)
    before = path.read_bytes()
    child = _child(SLOW, str(path))
    assert child.stdout is not None
    assert child.stdout.readline() == "half way\n"
    child.send_signal(signal.SIGKILL)
    child.communicate(timeout=60)
    assert child.returncode == -signal.SIGKILL
    assert path.read_bytes() == before
    assert (tmp_path / ".a.nc.part").exists()
    _write(path)  # what the killed run left is in nobody's way
    assert list(tmp_path.iterdir()) == [path]
    assert open_result(path).sizes["realisation"] == 4


def test_interruption_leaves_the_old_result(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.nc"
    write_sample(path)
    before = path.read_bytes()

    def interrupted(file: Any, name: str, *rest: Any) -> None:
        raise KeyboardInterrupt(name)

    monkeypatch.setattr(netcdf, "_put", interrupted)
    with pytest.raises(KeyboardInterrupt, match="case"):
        _write(path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("number", "fix"),
    [
        (errno.ENOSPC, "free some space there"),
        (errno.EDQUOT, "free some of your quota there"),
        (errno.EACCES, "make that folder writable for you"),
        (errno.EROFS, "give another place with --out FILE"),
        (errno.EIO, "give another place with --out FILE"),
    ],
)
@pytest.mark.parametrize("step", ["replace", "fsync"])
def test_refusal_names_folder_space_and_fix(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, fix: str, step: str
) -> None:
    def refused(*_: Any) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, step, refused)
    with pytest.raises(MachineError, match=fix) as caught:
        _write(tmp_path / "a.nc")
    reason = os.strerror(number)
    reason = reason[0].lower() + reason[1:]
    first, second = str(caught.value).splitlines()
    assert first == f"{tmp_path}/a.nc: cannot be written: {reason}"
    assert second.startswith(f"  folder {tmp_path}, ")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not Path("/sys/kernel").is_dir(), reason="needs a folder closed to everybody")
def test_folder_closed_to_writing() -> None:
    with pytest.raises(MachineError, match=r"permission denied\n  folder /sys/kernel, .*writable"):
        _write(Path("/sys/kernel/a.nc"))


def test_bug_while_writing_is_not_the_machines(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="a bug"):
        _fail(tmp_path / "a.nc", "a bug")
    assert list(tmp_path.iterdir()) == []


def test_hidden_cause_without_a_second_failure_is_told_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match="cannot be written: netCDF: HDF error"):
        _fail(tmp_path / "a.nc", "NetCDF: HDF error")
    assert list(tmp_path.iterdir()) == []


def test_missing_folders_are_made(tmp_path: Path) -> None:
    _write(tmp_path / "new" / "er" / "a.nc")
    assert open_result(tmp_path / "new" / "er" / "a.nc").sizes["case"] == 3


def test_link_is_followed_even_when_broken(tmp_path: Path) -> None:
    link = tmp_path / "link.nc"
    link.symlink_to(tmp_path / "other" / "real.nc")
    for _ in range(2):
        _write(link)
        assert link.is_symlink()
        assert (tmp_path / "other" / "real.nc").is_file()


def test_what_is_no_file_is_left_alone(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match="a folder stands at that name"):
        _write(tmp_path)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(MachineError, match="no ordinary file stands at that name"):
        _write(tmp_path / "pipe")
    (tmp_path / "file").touch()
    for deeper in ("a.nc", "b/a.nc"):
        with pytest.raises(MachineError, match="a file stands where its folder should be"):
            _write(tmp_path / "file" / deeper)
    with pytest.raises(MachineError, match="file name too long"):
        _write(tmp_path / ("n" * 300))


def test_results_must_fit_before_anything_runs(tmp_path: Path) -> None:
    path = tmp_path / "not" / "there" / "a.nc"
    require_space(path, 1000)
    with pytest.raises(MachineError, match=r"about 1000000\.0 GB of results do not fit\n") as e:
        require_space(path, 10**15)
    assert f"folder {tmp_path}, " in str(e.value)
    assert list(tmp_path.iterdir()) == []


def _full(*_: Any) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize("allocates", [True, False])
def test_room_on_disk_is_nan_and_has_no_name(
    allocates: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not allocates:
        monkeypatch.delattr(os, "posix_fallocate", raising=False)
    room = room_on_disk((3, 1000, 101), tmp_path / "new")
    assert np.isnan(room).all()
    room[1, 2] = 7.0
    assert np.nansum(room) == 7.0 * 101
    assert list((tmp_path / "new").iterdir()) == []


@pytest.mark.parametrize("allocates", [True, False])
def test_no_room_on_disk_is_said_at_once(
    allocates: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if allocates:
        monkeypatch.setattr(os, "posix_fallocate", _full, raising=False)
    else:
        monkeypatch.delattr(os, "posix_fallocate", raising=False)
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
    try:
        with pytest.raises(MachineError, match=r"written: (no space left|file too large)"):
            room_on_disk((1000, 1000), tmp_path)
    finally:
        if not allocates:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_sizes_read_well() -> None:
    sizes = [size_text(n) for n in (0, 999, 1000, 12_345_678, 2.5e9)]
    assert sizes == ["0 bytes", "999 bytes", "1 kB", "12.3 MB", "2.5 GB"]
