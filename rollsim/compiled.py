"""The one place that sets up numba: compiled, cached on disk, free of the interpreter lock."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    return os.access(folder, os.W_OK)


def _settle_cache_folder() -> None:
    """Name a cache folder where numba would find none: it fails at import otherwise."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return
    package = Path(__file__).parent
    user = Path(os.environ.get("XDG_CACHE_HOME") or Path("~").expanduser() / ".cache") / "numba"
    if not _writable(package / "__pycache__") and not _writable(user):
        os.environ["NUMBA_CACHE_DIR"] = tempfile.mkdtemp(prefix="rollsim-numba-")


_settle_cache_folder()

import numba  # noqa: E402  (the cache folder must stand before numba reads it)


def compiled(function: F) -> F:
    """`function` compiled by numba on first use: float64, no fast-math, no interpreter lock.

    No fast-math: it would let sums differ between processors and hide a NaN.
    """
    return cast(F, numba.njit(cache=True, nogil=True)(function))
