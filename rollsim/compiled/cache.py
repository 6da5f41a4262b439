"""Where machine code is kept: files with a checksum in a folder that this user alone can write."""

from __future__ import annotations

import atexit
import errno
import grp
import hashlib
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
from typing import Any
from uuid import uuid4

import llvmlite  # type: ignore[import-untyped]
import numba
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

from rollsim.compiled.pipeline import rebuilt_within

PACKAGE = Path(__file__).parent.parent
OF_OURS = re.compile(rb"^\s*(?:from|import)\s+rollsim(?:\.|\s+import\s+)(\w+)", re.MULTILINE)
DIGEST_BYTES = 32
UNKEPT = "code is compiled again at every start"


class Cache:
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
        self._within = bool(options.get("no_cpython_wrapper"))

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
            if self._within:
                return rebuilt_within(target_context, parts)
            return CompileResult._rebuild(target_context, *parts)
        except Exception:  # whatever reading makes of it: it is compiled and written again
            return None

    def save_overload(self, sig: Any, made: Any) -> None:
        """Put the code for a signature on the disk, whole or not at all."""
        if not self._enabled or made.lifted or made.library.has_dynamic_globals:
            return
        path, digest = self._file(sig, made.codegen)
        # Without the types in words, which take longer to write than the code itself.
        body = dumps(made._replace(type_annotation="")._reduce())
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
