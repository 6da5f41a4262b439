"""The lock that keeps two runs from writing the same result."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path
from types import TracebackType

from rollsim.errors import MachineError, printable
from rollsim.store.disk import ELSEWHERE, prepare_folder, refusal_of


class ResultLock:
    """Held from before a run until its result is written; makes the result's folder if need be.

    The lock belongs to the open file and not to its name, so that a killed run leaves none behind.
    """

    def __init__(self, path: Path) -> None:
        """Name the result; nothing is locked yet."""
        self._path = path
        self._handle = -1
        self._file = path

    def __enter__(self) -> ResultLock:
        """Take the lock; MachineError if another run holds it."""
        real = prepare_folder(self._path)
        self._file = real.with_name(f".{real.name}.lock")
        try:
            while self._handle < 0:
                self._handle = locked_file(self._file)
        except BlockingIOError as error:
            raise MachineError(
                f"{printable(str(self._path))}: another run is at work on the same result\n"
                f"  wait until it has ended, or {ELSEWHERE}"
            ) from error
        except OSError as error:
            raise refusal_of(self._path, error) from error
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Give the lock back and delete its file."""
        self._file.unlink(missing_ok=True)  # while it is still held: see locked_file
        os.close(self._handle)
        self._handle = -1


def locked_file(file: Path) -> int:
    """A handle that holds the lock of a file, made if need be, no link followed.

    -1 if the file was deleted between opening and locking; BlockingIOError where it is held.
    """
    handle = os.open(file, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o666)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if _is_at(handle, file):
            return handle
    except BaseException:
        os.close(handle)
        raise
    os.close(handle)
    return -1


def _is_at(handle: int, file: Path) -> bool:
    """Whether the open file is still the one that bears the name."""
    try:
        return os.path.samestat(os.fstat(handle), os.stat(file))
    except FileNotFoundError:
        return False
