"""The one place that sets up numba: how functions are compiled, and where the code is kept."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numba.core import config
from numpy.typing import NDArray

from rollsim.compiled.cache import Cache, cache_folder
from rollsim.compiled.pipeline import NoAlias, Pipeline

F = TypeVar("F", bound=Callable[..., Any])

CACHE_LINE = 64

EXACT = {"fastmath": False}
FUSED = {"fastmath": {"contract"}}
"""One of both always: else a function takes after whichever caller is compiled first, and a run's
last bits with it."""
WHOLE = {**FUSED, "forceinline": True}
INNER = {**FUSED, "no_cpython_wrapper": True}
LANES = {**FUSED, "pipeline_class": NoAlias}


def compiled(function: F) -> F:
    """`function` compiled by numba on first use: float64, no fast-math, no interpreter lock.

    No fast-math: it would let sums differ between processors and hide a NaN. A division by zero
    gives an infinity, as in numpy; runs are checked for finite states.
    """
    return _compile(function, **EXACT)


def inlined(function: F) -> F:
    """`function` put whole into its caller: for loops over lanes, so that products and sums may
    fuse in it."""
    return _compile(function, **WHOLE)


def inner(function: F) -> F:
    """`function` compiled for callers that are loops over lanes: products and sums may fuse in it.

    Without the wrapper that takes Python's arguments apart, which for tuples of many numbers takes
    longer to compile than the function, and without machine code of its own (`pipeline`): Python
    cannot call it.
    """
    return _compile(function, **INNER)


def inner_inlined(function: F) -> F:
    """`function` compiled like `inlined`, and for callers that are compiled, as `inner`."""
    return _compile(function, **{**WHOLE, **INNER})


def vectorised(function: F) -> F:
    """`function` compiled for inner loops over lanes: its array arguments must not overlap.

    LLVM does not vectorise table look-ups that a store might change; the promise lets it, for
    three to four times the speed. Products and sums may fuse, the same in every lane, so that a
    run's bits do not depend on its neighbours.
    """
    return _compile(function, **LANES)


def vectorised_inner(function: F) -> F:
    """`function` compiled like `vectorised`, and for callers that are compiled, as `inner`."""
    return _compile(function, **{**LANES, **INNER})


def merged(function: F) -> F:
    """`function` compiled like `vectorised`, and put whole into its caller, which is compiled: for
    loops over lanes that a step makes only now and then.

    A call hands over every number of its tuples one by one, some two hundred: that costs more than
    such a loop.
    """
    return _compile(function, **{**LANES, **WHOLE, **INNER})


def aligned(shape: tuple[int, ...], kind: type) -> NDArray[Any]:
    """Room for an array that begins at a cache line, its numbers not set: for loops over lanes.

    A register of 512 bits is then read from one line, not from two, which makes the steps of the
    block engine a sixth faster.
    """
    size = math.prod(shape) * np.dtype(kind).itemsize
    room = np.empty(size + CACHE_LINE, dtype=np.uint8)
    first = -room.ctypes.data % CACHE_LINE
    return room[first : first + size].view(kind).reshape(shape)


def _compile(function: F, **options: Any) -> F:
    always: dict[str, Any] = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
    made: Any = numba.njit(**{**always, "pipeline_class": Pipeline, **options})(function)
    folder = cache_folder()
    if folder is not None and not getattr(config, "DISABLE_JIT"):  # noqa: B009
        made._cache = Cache(function, options, folder)
    return cast(F, made)
