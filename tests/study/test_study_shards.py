"""Files of finished tasks: none that is damaged, forged or of elsewhere is ever believed."""

from __future__ import annotations

import io
import pickle
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from study_samples import HERE, TASKS, Tasks, assert_same_bytes, finished, study

from rollsim.engines.block.lanes import LANES
from rollsim.engines.runs import HISTORIES, NUMBERS
from rollsim.store.unfinished import Unfinished, unfinished_folder
from rollsim.study.plan import Plan
from rollsim.study.run import Listener, run_to_file
from rollsim.study.runs import Chunk
from rollsim.study.sampling import FixedNumber
from rollsim.study.shards import Shards

Arrays = dict[str, NDArray[Any]]
RUNS, OUTPUTS = LANES, 31
KEPT = 4
"""Tasks done before the study breaks off."""


class Trap:
    """What makes a folder where it is unpickled."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __reduce__(self) -> tuple[Callable[[Path], None], tuple[Path]]:
        return Path.mkdir, (self.folder,)


@pytest.fixture
def tasks(monkeypatch: pytest.MonkeyPatch) -> Tasks:
    """A counter of tasks of one block."""
    return Tasks(monkeypatch)


@pytest.fixture
def plan(tasks: Tasks) -> Plan:
    """The study, cut into small tasks."""
    return study()


@pytest.fixture
def broken(plan: Plan, tasks: Tasks, tmp_path: Path) -> Path:
    """A study that broke off after KEPT tasks, beside the whole one."""
    finished(tmp_path / "whole.nc", plan)
    path = tmp_path / "broken.nc"
    assert not run_to_file(plan, path, where=HERE, listener=tasks.interrupt_after(KEPT))
    tasks.made = 0
    return path


def files(path: Path) -> list[Path]:
    """Files of finished tasks of a result."""
    return sorted(unfinished_folder(path).glob("*.runs"))


def chunks(plan: Plan) -> list[Chunk]:
    """The tasks of the first case."""
    batch = FixedNumber(plan, [0], plan.realisations).batch()
    assert batch is not None
    return list(batch)


def zipped(arrays: Arrays) -> bytes:
    """Arrays as the files hold them."""
    buffer = io.BytesIO()
    np.savez(buffer, **arrays)  # type: ignore[arg-type]
    return buffer.getvalue()


def sound() -> Arrays:
    """Arrays of the right names and shapes."""
    arrays: Arrays = {name: np.ones(RUNS) for name in NUMBERS}
    arrays["message"] = np.full(RUNS, "")
    arrays["sizes"] = np.array([RUNS])
    return arrays | {"histories": np.zeros((len(HISTORIES), RUNS, OUTPUTS), np.float32)}


def without(name: str) -> bytes:
    """A file that lacks an array."""
    return zipped({key: held for key, held in sound().items() if key != name})


def single(folder: Path) -> bytes:
    """One array that is no archive."""
    buffer = io.BytesIO()
    np.save(buffer, np.zeros(3))
    return buffer.getvalue()


FORGED: dict[str, Callable[[Path], bytes]] = {
    "pickle": lambda folder: pickle.dumps(Trap(folder)),
    "objects": lambda folder: zipped(sound() | {"message": np.array([Trap(folder)] * RUNS)}),
    "more objects": lambda folder: zipped(sound() | {"histories": np.array(Trap(folder))}),
    "no histories": lambda _: without("histories"),
    "no outcome": lambda _: without("outcome"),
    "no sizes": lambda _: without("sizes"),
    "other sizes": lambda _: zipped(sound() | {"sizes": np.array([RUNS - 1, 1])}),
    "one run": lambda _: zipped(sound() | {"roll_max": np.ones(1)}),
    "other outputs": lambda _: zipped(sound() | {"histories": np.zeros((4, RUNS, 1), np.float32)}),
    "one array": single,
    "no archive": lambda _: b"PK\x03\x04 and nothing else",
    "nothing": lambda _: b"",
}


@pytest.mark.parametrize("kind", FORGED)
def test_a_forged_file_is_made_again_and_nothing_in_it_is_executed(
    kind: str,
    broken: Path,
    plan: Plan,
    tasks: Tasks,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shards, trap = Shards(Unfinished(broken), plan), tmp_path / "trap"
    chunk = chunks(plan)[1]
    runs = shards.read(chunk)
    assert runs is not None
    body = FORGED[kind](trap)
    with monkeypatch.context() as patch:  # the checksum is right: the file is written by the study
        patch.setattr(np, "savez", lambda file, **_: file.write(body))
        shards.write([(chunk, runs)])
    assert any(body in file.read_bytes() for file in files(broken))
    assert shards.read(chunk) is None
    assert_same_bytes(finished(broken, plan), tmp_path / "whole.nc")
    assert tasks.made == TASKS - KEPT + 1
    assert not trap.exists()


def plain_pickle(file: Path, trap: Path) -> None:
    """A pickle in the place of the file."""
    file.write_bytes(pickle.dumps(Trap(trap)))


def plain_arrays(file: Path, _: Path) -> None:
    """Arrays of the right form without a checksum."""
    file.write_bytes(zipped(sound()))


def neighbour(file: Path, _: Path) -> None:
    """The sound file of another task."""
    shutil.copyfile(files(file.parent.with_suffix(""))[2], file)


def last_byte(file: Path, _: Path) -> None:
    """One byte altered at the end."""
    file.write_bytes(file.read_bytes()[:-1] + b"\x01")


def first_byte(file: Path, _: Path) -> None:
    """One byte of the checksum altered."""
    held = file.read_bytes()
    file.write_bytes(bytes([held[0] ^ 1]) + held[1:])


def only_checksum(file: Path, _: Path) -> None:
    """Cut short to the checksum."""
    file.write_bytes(file.read_bytes()[:32])


def longer(file: Path, _: Path) -> None:
    """Something behind the end."""
    file.write_bytes(file.read_bytes() + b"\x00")


@pytest.mark.parametrize(
    "damage",
    [plain_pickle, plain_arrays, neighbour, last_byte, first_byte, only_checksum, longer],
)
def test_a_damaged_file_is_made_again(
    damage: Callable[[Path, Path], None], broken: Path, plan: Plan, tasks: Tasks, tmp_path: Path
) -> None:
    trap = tmp_path / "trap"
    damage(files(broken)[1], trap)
    assert_same_bytes(finished(broken, plan), tmp_path / "whole.nc")
    assert tasks.made == TASKS - KEPT + 1
    assert not trap.exists()
    assert not unfinished_folder(broken).exists()


def test_runs_of_another_study_do_not_count_where_the_manifest_is_lost(
    broken: Path, tasks: Tasks, tmp_path: Path
) -> None:
    """As a deletion that was broken off leaves them."""
    (unfinished_folder(broken) / "manifest.json").unlink()
    broken.unlink()
    other = study(start="roll_deg = 3.0")
    finished(broken, other)
    assert tasks.made == TASKS
    assert_same_bytes(broken, finished(tmp_path / "other.nc", other))


def test_every_task_is_on_the_disk_before_it_is_told_of(
    plan: Plan, tasks: Tasks, tmp_path: Path
) -> None:
    path = tmp_path / "result.nc"
    told: list[int] = []

    def look(done: int) -> None:
        told.append(done)
        assert len(files(path)) == len(told) == tasks.made

    assert run_to_file(plan, path, where=HERE, listener=Listener(look))
    assert told == list(range(RUNS, RUNS * TASKS + 1, RUNS))
    assert [file.name for file in tmp_path.iterdir()] == ["result.nc"]


def test_a_study_in_its_place_is_not_disturbed_by_strange_files(
    broken: Path, plan: Plan, tasks: Tasks, tmp_path: Path
) -> None:
    held = unfinished_folder(broken)
    (held / ".000000-000000000-000000032.runs.part").write_bytes(b"cut short by a kill")
    (held / "000009-000000000-000000032.runs").write_bytes(b"no such case")
    assert_same_bytes(finished(broken, plan), tmp_path / "whole.nc")
    assert tasks.made == TASKS - KEPT
