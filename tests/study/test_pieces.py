"""Long work in pieces: nothing finished is lost, nothing foreign is taken for it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from rollsim.errors import MachineError
from rollsim.store.unfinished import unfinished_folder
from rollsim.study.pieces import Arrays, Pieces, StoppedError, works_in_memory, works_to_file
from rollsim.study.workers import Where

TEXT = "format = 1"


def squares(numbers: range, made: list[str], broken_at: int = -1) -> list[Callable[..., Arrays]]:
    """Works of two pieces each, the second from the first; `made` notes what was really made."""

    def work(number: int, pieces: Pieces) -> Arrays:
        def first() -> Arrays:
            made.append(f"{number} first")
            return {"x": np.array([float(number)])}

        def second() -> Arrays:
            if number == broken_at:
                raise KeyboardInterrupt
            made.append(f"{number} second")
            return {"x": x**2}

        x = pieces(f"{number} first", first)["x"]
        return pieces(f"{number} second", second)

    return [lambda pieces, n=n: work(n, pieces) for n in numbers]


def to_file(path: Path, works: list[Callable[..., Arrays]], workers: int = 1) -> bool:
    def write(made: list[Arrays]) -> None:
        path.write_text(" ".join(f"{each['x'][0]:g}" for each in made))

    return works_to_file(TEXT, path, "critical", works, write, where=Where(workers))


@pytest.mark.parametrize("workers", [1, 3])
def test_works_come_in_their_order(workers: int) -> None:
    made = works_in_memory(squares(range(7), []), Where(workers))
    assert [float(each["x"][0]) for each in made] == [n**2 for n in range(7)]


def test_what_is_finished_is_not_made_again(tmp_path: Path) -> None:
    path, made = tmp_path / "x.nc", list[str]()
    assert to_file(path, squares(range(4), made, broken_at=2)) is False
    assert not path.exists()
    before = list(made)
    assert "0 second" in before
    assert to_file(path, squares(range(4), made)) is True
    assert path.read_text() == "0 1 4 9"
    assert len(made) == len(set(made)) == 8
    assert not unfinished_folder(path).exists()


def test_an_altered_piece_is_made_again(tmp_path: Path) -> None:
    path, made = tmp_path / "x.nc", list[str]()
    assert to_file(path, squares(range(2), made, broken_at=1)) is False
    for file in unfinished_folder(path).glob("*.runs"):
        data = bytearray(file.read_bytes())
        data[-1] ^= 1
        file.write_bytes(bytes(data))
    made.clear()
    assert to_file(path, squares(range(2), made)) is True
    assert len(made) == 4


def test_another_commands_work_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.nc"
    assert to_file(path, squares(range(2), [], broken_at=1)) is False
    with pytest.raises(MachineError, match="other command"):
        works_to_file(TEXT, path, "basin", squares(range(2), []), lambda _: None)


def test_an_error_of_a_work_comes_through() -> None:
    def broken(_: Pieces) -> Arrays:
        raise ValueError("no such lever")

    with pytest.raises(ValueError, match="no such lever"):
        works_in_memory([broken], Where(2))


def test_pieces_side_by_side() -> None:
    """Both must be under way at once to pass the barrier."""
    barrier = threading.Barrier(2, timeout=10.0)

    def make() -> Arrays:
        barrier.wait()
        return {"x": np.zeros(1)}

    def work(pieces: Pieces) -> Arrays:
        return pieces.all({"a": make, "b": make})[1]

    assert works_in_memory([work], Where(2))[0]["x"].shape == (1,)


def test_work_leaves_when_it_is_told() -> None:
    class Told(Pieces):
        def __init__(self) -> None:
            self._stop = threading.Event()

    pieces = Told()
    pieces.stop_if_asked()
    pieces.stop()
    with pytest.raises(StoppedError, match="interrupted"):
        pieces.stop_if_asked()
