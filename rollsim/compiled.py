"""The one place that sets up numba: how functions are compiled, and where the code is kept."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
from numba.core import config
from numba.core.compiler import CompilerBase, DefaultPassBuilder

F = TypeVar("F", bound=Callable[..., Any])

PACKAGE = Path(__file__).parent


def compiled(function: F) -> F:
    """`function` compiled by numba on first use: float64, no fast-math, no interpreter lock.

    No fast-math: it would let sums differ between processors and hide a NaN. A division by zero
    gives an infinity, as in numpy; runs are checked for finite states.
    """
    return _compile(function)


def inlined(function: F) -> F:
    """`function` compiled like `compiled`, and put whole into its caller: for loops over lanes."""
    return _compile(function, forceinline=True)


class _NoAlias(CompilerBase):
    """numba's usual pipeline, with the promise that array arguments do not overlap."""

    def define_pipelines(self) -> list[Any]:
        self.state.flags.noalias = True
        return [DefaultPassBuilder.define_nopython_pipeline(self.state)]


def vectorised(function: F) -> F:
    """`function` compiled for inner loops over lanes: its array arguments must not overlap.

    LLVM does not vectorise table look-ups that a store might change; the promise lets it, for
    three to four times the speed. Products and sums may fuse, the same in every lane, so that a
    run's bits do not depend on its neighbours. numba keys its disk cache by the source and not by
    these settings: one function must not be compiled both ways.
    """
    return _compile(function, pipeline_class=_NoAlias, fastmath={"contract"})


def _compile(function: F, **options: Any) -> F:
    before = getattr(config, "CACHE_DIR")  # noqa: B009 - numba makes its settings at run time
    setattr(config, "CACHE_DIR", str(cache_folder()))  # noqa: B010
    try:
        made = numba.njit(cache=True, nogil=True, error_model="numpy", **options)(function)
    finally:
        setattr(config, "CACHE_DIR", before)  # noqa: B010
    return cast(F, made)


@cache
def cache_folder() -> Path:
    """Where the machine code is kept: a folder of its own for every state of the sources.

    numba looks only at the file of the function itself; a change in a function that it calls from
    another file would go unseen, and a run would use yesterday's physics.
    """
    digest = hashlib.sha256(numba.__version__.encode())
    for source in _sources():
        digest.update(source.read_bytes())
    name = f"rollsim-{digest.hexdigest()[:16]}"
    for base in _bases():
        folder = base / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return Path(tempfile.mkdtemp(prefix="rollsim-"))


def _sources() -> list[Path]:
    """The sources whose state counts: the rooms that hold compiled functions, and what they use."""
    rooms = [PACKAGE / name for name in ("weather", "motion", "forcing", "engines")]
    sources = [source for room in rooms for source in room.rglob("*.py")]
    return sorted([*sources, PACKAGE / "constants.py", PACKAGE / "compiled.py"])


def _bases() -> list[Path]:
    """Folders to try: the one that numba is told, the user's cache, the package itself."""
    told = [Path(os.environ["NUMBA_CACHE_DIR"])] if os.environ.get("NUMBA_CACHE_DIR") else []
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    return [*told, Path(home) / "numba", PACKAGE / "__pycache__"]
