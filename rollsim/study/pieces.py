"""Long work other than a study of runs: a search or a map, in pieces that are kept as they finish.

A work is a function that asks for its pieces by name; what it asks for may depend on what the
pieces before gave. Works go on side by side in threads: engines are compiled and hold no lock.
"""

from __future__ import annotations

import hashlib
import io
import os
import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.store.lock import ResultLock
from rollsim.store.maps import require_replaceable_map
from rollsim.store.unfinished import SUFFIX, Unfinished
from rollsim.study.run import NOBODY, Listener
from rollsim.study.sealed import UNREADABLE, Sealed
from rollsim.study.workers import ALL_CORES, Where, threads

Arrays = dict[str, NDArray[Any]]
Make = Callable[[], Arrays]
Work = Callable[["Pieces"], Arrays]

LAST = 0.8
"""Seconds that works have to finish their pieces after an interruption."""


class StoppedError(Exception):
    """The work was interrupted: what it had finished is kept."""


class Pieces:
    """The pieces of a work by name: read where an earlier, broken run has left them, else made.

    Pieces are made in the threads of `pool`, whoever asks for them; without `kept` nothing is
    written.
    """

    def __init__(self, pool: Executor, kept: Sealed | None = None) -> None:
        self._pool, self._kept = pool, kept
        self._stop = threading.Event()

    def __call__(self, name: str, make: Make) -> Arrays:
        """The arrays of a piece; `name` says all that it depends on besides the scenario."""
        return self.all({name: make})[0]

    def all(self, wanted: Mapping[str, Make]) -> list[Arrays]:
        """The arrays of pieces that can be made side by side, in their order."""
        self.stop_if_asked()
        return [
            each.result() for each in [self._pool.submit(self._one, *w) for w in wanted.items()]
        ]

    def stop_if_asked(self) -> None:
        """Leave the work where an interruption has come; for loops within a long piece."""
        if self._stop.is_set():
            raise StoppedError("interrupted")

    def stop(self) -> None:
        """Ask all who work with these pieces to leave."""
        self._stop.set()

    def _one(self, name: str, make: Make) -> Arrays:
        self.stop_if_asked()
        if self._kept is None:
            return make()
        file = f"{hashlib.sha256(name.encode()).hexdigest()[:32]}{SUFFIX}"
        arrays = _unpacked(self._kept.read(file))
        if arrays is None:
            arrays = make()
            self._kept.write(file, _packed(arrays))
        return arrays


def _packed(arrays: Arrays) -> bytes:
    buffer = io.BytesIO()
    np.savez(buffer, **arrays)  # type: ignore[arg-type]
    return buffer.getvalue()


def _unpacked(data: bytes) -> Arrays | None:
    """Arrays from their bytes, None where these hold something else; nothing is executed."""
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as stored:
            return {name: stored[name] for name in stored.files}
    except UNREADABLE:
        return None


def works_in_memory(works: Sequence[Work], where: Where = ALL_CORES) -> list[Arrays]:
    """What the works give, in their order; nothing is kept on the way."""
    return _done(works, None, where, lambda _: None)


def works_to_file(
    text: str,
    path: Path,
    command: str,
    works: Sequence[Work],
    write: Callable[[list[Arrays]], None],
    *,
    replace: bool = False,
    where: Where = ALL_CORES,
    listener: Listener = NOBODY,
) -> bool:
    """Do the works of a scenario and have `write` put them into `path`; False if interrupted.

    text: the scenario's text with the files it names; the same command on the same text goes on
        where a broken one has stopped.
    write: gets what the works gave, in their order, and writes the file, by `store.maps.write_map`.
    listener: `progress` hears the number of works finished.
    """
    require_replaceable_map(path, command, text, replace)
    with ResultLock(path), Unfinished(path, anew=replace) as folder:
        kept = Sealed(folder, text, command)
        if kept.resumed:
            listener.tell(f"going on with the unfinished work in {folder.path}")
        try:
            write(_done(works, kept, where, listener.progress))
        except KeyboardInterrupt:
            return False
        folder.remove()
    return True


def _done(
    works: Sequence[Work], kept: Sealed | None, where: Where, progress: Callable[[int], None]
) -> list[Arrays]:
    """The works' arrays; the first error of a work comes through, and so does an interruption."""
    count = where.workers or os.cpu_count() or 1
    with threads(count) as pool, threads(count) as askers:
        pieces = Pieces(pool, kept)
        futures = [askers.submit(work, pieces) for work in works]
        try:
            _wait_for(futures, progress)
        except KeyboardInterrupt:
            pieces.stop()
            wait(futures, timeout=LAST)
            raise
        finally:
            pieces.stop()
        return [future.result() for future in futures]


def _wait_for(futures: Sequence[Future[Arrays]], progress: Callable[[int], None]) -> None:
    """Wait for all, telling how many are there; the first error at once."""
    waiting = set(futures)
    while waiting:
        done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
        for future in done:
            future.result()
        progress(len(futures) - len(waiting))
