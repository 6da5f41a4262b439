"""Where a result or a picture is written: free space, replacement in one step, refusals."""

from __future__ import annotations

import errno
import math
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import MachineError, printable

BLOCK_BYTES = 1 << 20
ELSEWHERE = "give another place with --out FILE"
FIXES = {
    errno.ENOSPC: "free some space there",
    errno.EDQUOT: "free some of your quota there",
    errno.EFBIG: "raise the limit on the size of a file (ulimit -f)",
    errno.EACCES: "make that folder writable for you",
    errno.EPERM: "make that folder writable for you",
}


def target(path: Path) -> Path:
    """The file that `path` stands for: links are followed, a broken one to where it points."""
    return Path(os.path.realpath(path))


def size_text(count: float) -> str:
    """A number of bytes as people read it: 12.3 MB."""
    for unit in ("bytes", "kB", "MB"):
        if count < 1000.0:
            return f"{count:.3g} {unit}"
        count /= 1000.0
    return f"{count:.1f} GB"


def _existing_folder(path: Path) -> Path:
    """The nearest folder above `path` that exists."""
    return next(folder for folder in path.parents if folder.is_dir())


def refusal(path: Path, reason: str, fix: str = ELSEWHERE) -> MachineError:
    """The error that says what is refused, in which folder, how much is free there, and one fix."""
    folder = _existing_folder(target(path))
    free = size_text(shutil.disk_usage(folder).free)
    return MachineError(
        f"{printable(str(path))}: cannot be written: {printable(reason)}\n"
        f"  folder {printable(str(folder))}, {free} free: {fix}"
    )


def refusal_of(path: Path, error: OSError, elsewhere: str = ELSEWHERE) -> MachineError:
    """The refusal that an error of the operating system stands for; `elsewhere` is a way out."""
    reason = error.strerror or str(error)
    fix = FIXES.get(error.errno or 0)
    ways = f"{fix}, or {elsewhere}" if fix else elsewhere
    return refusal(path, reason[:1].lower() + reason[1:], ways)


def require_space(path: Path, size: int) -> None:
    """Refuse, before anything runs, results of `size` bytes that do not fit on the disk."""
    if size > shutil.disk_usage(_existing_folder(target(path))).free:
        fix = f"{FIXES[errno.ENOSPC]}, or {ELSEWHERE}"
        raise refusal(path, f"about {size_text(size)} of results do not fit", fix)


def prepare_folder(path: Path) -> Path:
    """Make the folder of the result, refuse what is no ordinary file; return the real target."""
    real = target(path)
    try:
        real.parent.mkdir(parents=True, exist_ok=True)
        mode = real.stat().st_mode
    except FileNotFoundError:
        return real
    except (FileExistsError, NotADirectoryError) as error:
        raise refusal(path, "a file stands where its folder should be") from error
    except OSError as error:
        raise refusal_of(path, error) from error
    if stat.S_ISDIR(mode):
        raise refusal(path, "a folder stands at that name")
    if not stat.S_ISREG(mode):  # a device or a pipe would be replaced by the rename
        raise refusal(path, "no ordinary file stands at that name")
    return real


def _cause(part: Path, error: OSError | RuntimeError) -> OSError:
    """What the system had against a write; where netCDF hides that, it is tried again.

    netCDF calls whatever keeps it from making a file "permission denied", a full disk too.
    """
    known = error if isinstance(error, OSError) else OSError(str(error))
    if (known.errno or 0) > 0 and known.errno != errno.EACCES:
        return known
    try:
        with part.open("ab") as file:
            file.write(bytes(1 << 20))
            file.flush()
            os.fsync(file.fileno())
    except OSError as cause:
        return cause
    return known


def _sync(path: Path) -> None:
    """Bring a file, or the names in a folder, from the memory to the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def room_on_disk(shape: tuple[int, ...], folder: Path) -> NDArray[np.float32]:
    """An array of NaN in a file without a name in `folder`, gone with the process however it ends.

    All of it is written at once: a full disk would kill the process when a page is first used.
    """
    size = math.prod(shape) * np.dtype(np.float32).itemsize
    empty = np.full(BLOCK_BYTES // 4, math.nan, np.float32).tobytes()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder, prefix=".room-", suffix=".part") as file:
            if hasattr(os, "posix_fallocate"):  # not on every system; it says at once what is full
                os.posix_fallocate(file.fileno(), 0, size)
            for start in range(0, size, BLOCK_BYTES):
                file.write(empty[: size - start])
            file.flush()
            return np.memmap(file, dtype=np.float32, mode="r+", shape=shape)
    except OSError as error:
        raise refusal_of(folder, error) from error


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a name aside to write to; at the end it takes the place of `path` in one step.

    Whatever goes wrong, an interruption too, deletes what stands aside and leaves `path` as it was.
    The name is always the same, so that what a killed process left is written over by the next run;
    two runs at once are kept apart by `ResultLock`.
    """
    real = prepare_folder(path)
    part = real.with_name(f".{real.name}.part")
    try:
        part.unlink(missing_ok=True)
        yield part
        _sync(part)
        os.replace(part, real)
        _sync(real.parent)
    except (OSError, RuntimeError) as error:
        if isinstance(error, RuntimeError) and not str(error).startswith("NetCDF:"):
            raise
        raise refusal_of(path, _cause(part, error)) from error
    finally:
        _discard(part)


def _discard(part: Path) -> None:
    """Delete what stands aside; where even that is refused, the first error is the one to tell."""
    try:
        part.unlink(missing_ok=True)
    except OSError:
        return
