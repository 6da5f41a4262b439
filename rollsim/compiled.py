"""The one place that sets up numba: how functions are compiled, and where the code is kept."""

from __future__ import annotations

import atexit
import errno
import gc
import grp
import hashlib
import math
import os
import pickle
import pwd
import re
import shutil
import stat
import sys
import tempfile
import warnings
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast
from uuid import uuid4

import llvmlite  # type: ignore[import-untyped]
import numba
import numpy as np
from numba.core import config, event
from numba.core.compiler import CompilerBase, CompileResult, DefaultPassBuilder
from numba.core.serialize import dumps
from numpy.typing import NDArray

F = TypeVar("F", bound=Callable[..., Any])

PACKAGE = Path(__file__).parent
OF_OURS = re.compile(rb"^\s*(?:from|import)\s+rollsim(?:\.|\s+import\s+)(\w+)", re.MULTILINE)
DIGEST_BYTES = 32
CACHE_LINE = 64
UNKEPT = "code is compiled again at every start"


def compiled(function: F) -> F:
    """`function` compiled by numba on first use: float64, no fast-math, no interpreter lock.

    No fast-math: it would let sums differ between processors and hide a NaN. A division by zero
    gives an infinity, as in numpy; runs are checked for finite states.
    """
    return _compile(function)


def inlined(function: F) -> F:
    """`function` compiled like `compiled`, and put whole into its caller: for loops over lanes."""
    return _compile(function, forceinline=True)


def inner(function: F) -> F:
    """`function` compiled like `compiled` for callers that are compiled themselves.

    Without the wrapper that takes Python's arguments apart, which for tuples of many numbers takes
    longer to compile than the function: called from Python it would crash.
    """
    return _compile(function, no_cpython_wrapper=True)


def inner_inlined(function: F) -> F:
    """`function` compiled like `inlined`, and for callers that are compiled, as `inner`."""
    return _compile(function, forceinline=True, no_cpython_wrapper=True)


class _NoAlias(CompilerBase):
    """numba's usual pipeline, with the promise that array arguments do not overlap."""

    def define_pipelines(self) -> list[Any]:
        self.state.flags.noalias = True
        return [DefaultPassBuilder.define_nopython_pipeline(self.state)]


def vectorised(function: F) -> F:
    """`function` compiled for inner loops over lanes: its array arguments must not overlap.

    LLVM does not vectorise table look-ups that a store might change; the promise lets it, for
    three to four times the speed. Products and sums may fuse, the same in every lane, so that a
    run's bits do not depend on its neighbours.
    """
    return _compile(function, pipeline_class=_NoAlias, fastmath={"contract"})


def vectorised_inner(function: F) -> F:
    """`function` compiled like `vectorised`, and for callers that are compiled, as `inner`."""
    return _compile(
        function, pipeline_class=_NoAlias, fastmath={"contract"}, no_cpython_wrapper=True
    )


def merged(function: F) -> F:
    """`function` compiled like `vectorised`, and put whole into its caller, which is compiled: for
    loops over lanes that a step makes only now and then.

    A call hands over every number of its tuples one by one, some two hundred: that costs more than
    such a loop.
    """
    return _compile(
        function,
        pipeline_class=_NoAlias,
        fastmath={"contract"},
        forceinline=True,
        no_cpython_wrapper=True,
    )


def aligned(shape: tuple[int, ...], kind: type) -> NDArray[Any]:
    """Room for an array that begins at a cache line, its numbers not set: for loops over lanes.

    A register of 512 bits is then read from one line, not from two, which makes the steps of the
    block engine a sixth faster.
    """
    size = math.prod(shape) * np.dtype(kind).itemsize
    room = np.empty(size + CACHE_LINE, dtype=np.uint8)
    first = -room.ctypes.data % CACHE_LINE
    return room[first : first + size].view(kind).reshape(shape)


class _Uncollected(event.Listener):
    """No garbage collection while numba compiles: it makes millions of objects that live on, and
    looking through them again and again is an eighth of the time."""

    def __init__(self) -> None:
        self._depth, self._was_on = 0, False

    def on_start(self, event: event.Event) -> None:
        """A function begins to compile, maybe for another one; numba lets one thread do so."""
        if self._depth == 0:
            self._was_on = gc.isenabled()
            gc.disable()
        self._depth += 1

    def on_end(self, event: event.Event) -> None:
        """It is done, or failed."""
        self._depth -= 1
        if self._depth == 0 and self._was_on:
            gc.enable()


event.register("numba:compile", _Uncollected())


def _compile(function: F, **options: Any) -> F:
    always: dict[str, Any] = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
    made: Any = numba.njit(**always, **options)(function)
    folder = cache_folder()
    if folder is not None and not getattr(config, "DISABLE_JIT"):  # noqa: B009
        made._cache = _Cache(function, options, folder)
    return cast(F, made)


class _Cache:
    """The code of one function on the disk, as numba asks for it: a file for each signature.

    numba's own cache has an index without a checksum: an empty or garbled one ends every run, and
    two processes that start at once can file code under the signature of other code. Here what is
    damaged is compiled again, and what cannot be kept serves this run.
    """

    def __init__(self, function: Callable[..., Any], options: dict[str, Any], folder: Path) -> None:
        code = function.__code__
        name = f"{function.__module__}.{function.__qualname__}-{code.co_firstlineno}"
        self._stem = re.sub(r"[^\w.-]", "", name)
        cells = [cell.cell_contents for cell in function.__closure__ or ()]
        text = f"{code.co_filename} {name} {code.co_code!r} {options}"
        self._function = hashlib.sha256(text.encode() + dumps(cells)).digest()
        self._folder, self._enabled = folder, True

    @property
    def cache_path(self) -> str:
        """The folder, as numba tells of it."""
        return str(self._folder)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The code for a signature, None where there is none or it cannot be read."""
        target_context.refresh()
        path, digest = self._file(sig, target_context.codegen())
        try:
            data = path.read_bytes()
            digest.update(data[DIGEST_BYTES:])
            if digest.digest() != data[:DIGEST_BYTES]:
                return None
            parts = pickle.loads(data[DIGEST_BYTES:])
            return CompileResult._rebuild(target_context, *parts)
        except Exception:  # whatever reading makes of it: it is compiled and written again
            return None

    def save_overload(self, sig: Any, made: Any) -> None:
        """Put the code for a signature on the disk, whole or not at all."""
        if not self._enabled or made.lifted or made.library.has_dynamic_globals:
            return
        path, digest = self._file(sig, made.codegen)
        body = dumps(made._reduce())
        digest.update(body)
        part = path.with_name(f"{path.name}.{uuid4().hex}.part")
        try:
            try:
                part.write_bytes(digest.digest() + body)
                part.replace(path)
            finally:
                part.unlink(missing_ok=True)
        except OSError as error:
            self._enabled = False
            _warn(_reason(self._folder, error), UNKEPT)

    def flush(self) -> None:
        """Forget nothing: another state of the sources has another folder."""

    def _file(self, sig: Any, codegen: Any) -> tuple[Path, Any]:
        """The file for a signature on this processor, and its checksum so far."""
        digest = hashlib.sha256(self._function + repr((sig, codegen.magic_tuple())).encode())
        return self._folder / f"{self._stem}-{digest.hexdigest()[:16]}.code", digest


@cache
def cache_folder() -> Path | None:
    """Where the machine code is kept: a folder of its own for every state of the sources.

    numba looks only at the file of the function itself; a change in a function that it calls from
    another file would go unseen, and a run would use yesterday's physics.
    """
    versions = f"{numba.__version__} {llvmlite.__version__} {sys.implementation.cache_tag}"
    digest = hashlib.sha256(versions.encode())
    for path, text in _sources().items():
        digest.update(f"\n{path.relative_to(PACKAGE)} {len(text)}\n".encode())
        digest.update(text)
    name = f"rollsim-{digest.hexdigest()[:16]}"
    told = os.environ.get("NUMBA_CACHE_DIR")
    refused: list[str] = []
    for base in _bases():
        try:
            folder = _private_folder(base, name)
        except OSError as error:
            refused.append(_reason(base, error))
            continue
        if told and base != Path(told):
            _warn(refused[0], f"compiled code is kept in {folder} instead of NUMBA_CACHE_DIR")
        return folder
    _warn(refused[0], f"{UNKEPT}: set NUMBA_CACHE_DIR to a folder that you alone can write")
    try:
        return _private_folder(_temporary(), name)
    except OSError:
        return None


def _sources() -> dict[Path, bytes]:
    """The sources whose state counts: every room with compiled functions, and all that it uses."""
    texts = {path: path.read_bytes() for path in sorted(PACKAGE.rglob("*.py"))}
    uses: dict[str, set[str]] = {}
    for path, text in texts.items():
        names = {name.decode() for name in OF_OURS.findall(text)}
        uses.setdefault(_room(path), set()).update(names)
    counted: set[str] = set()
    waiting = [room for room, names in uses.items() if "compiled" in names] + ["compiled"]
    while waiting:
        room = waiting.pop()
        if room not in counted:
            counted.add(room)
            waiting.extend(uses.get(room, ()))
    return {path: text for path, text in texts.items() if _room(path) in counted}


def _room(path: Path) -> str:
    """The folder below the package in which a source lies, or its own name at the top."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def _bases() -> list[Path]:
    """Folders to try: the one that numba is told, the user's cache, the package itself."""
    told = [Path(os.environ["NUMBA_CACHE_DIR"])] if os.environ.get("NUMBA_CACHE_DIR") else []
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    return [*told, Path(home) / "numba", PACKAGE / "__pycache__"]


def _temporary() -> Path:
    """A folder of this process alone, deleted at its end."""
    folder, owner = tempfile.mkdtemp(prefix="rollsim-"), os.getpid()

    def delete() -> None:
        if os.getpid() == owner:  # a copy of this process ends while this one still needs it
            shutil.rmtree(folder, ignore_errors=True)

    atexit.register(delete)
    return Path(folder)


def _private_folder(base: Path, name: str) -> Path:
    """The folder `name` below `base`, made if need be; OSError where others can put files there.

    What is read from it is executed: it must be this user's own, and no folder above it may let
    another user replace it.
    """
    base.mkdir(parents=True, exist_ok=True)
    folder = Path(os.path.realpath(base)) / name
    with suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    state = folder.lstat()
    if not stat.S_ISDIR(state.st_mode):
        raise _unsafe("is no folder", folder)
    if state.st_uid != os.geteuid():
        raise _unsafe("belongs to somebody else", folder)
    if _open_to_others(state):
        raise _unsafe("can be written by others", folder)
    for parent in folder.parents:
        above = parent.stat()
        if above.st_uid not in _trusted_owners():
            raise _unsafe("belongs to somebody else", parent)
        if _open_to_others(above) and not above.st_mode & stat.S_ISVTX:
            raise _unsafe("can be written by others", parent)
    if stat.S_IMODE(state.st_mode) != 0o700:
        folder.chmod(0o700)
    if not os.access(folder, os.W_OK | os.X_OK):
        raise _unsafe("cannot be written", folder)
    return folder


def _open_to_others(state: os.stat_result) -> bool:
    """Whether others may write, a group of this user alone not counted."""
    group = state.st_mode & stat.S_IWGRP and not _of_one_user(state.st_gid)
    return bool(group or state.st_mode & stat.S_IWOTH)


@cache
def _of_one_user(gid: int) -> bool:
    """Whether a group bears this user's name and has no other member: many systems give such."""
    try:
        user, group = pwd.getpwuid(os.geteuid()).pw_name, grp.getgrgid(gid)
    except KeyError:
        return False
    return group.gr_name == user and set(group.gr_mem) <= {user}


@cache
def _trusted_owners() -> frozenset[int]:
    """Who may own the folders above: root, this user; in a container, the system outside."""
    owners = {0, os.geteuid()}
    with suppress(OSError, ValueError):
        if Path("/proc/self/uid_map").read_text().split() != ["0", "0", str(2**32 - 1)]:
            owners.add(int(Path("/proc/sys/kernel/overflowuid").read_text()))
    return frozenset(owners)


def _unsafe(reason: str, folder: Path) -> OSError:
    return PermissionError(errno.EPERM, reason, str(folder))


def _reason(folder: Path | str, error: OSError) -> str:
    """What the system has against a folder of compiled code."""
    return f"{error.filename or folder}: {(error.strerror or str(error)).lower()}"


@cache
def _warn(reason: str, consequence: str) -> None:
    """Say once what is wrong with a folder of compiled code, and what follows from it."""
    warnings.warn(f"{reason}; {consequence}", stacklevel=2)
