"""A file from elsewhere as a container, looked at before anything in it is read.

HDF5 lets a file name other files as the place of its data, and claim sizes that it does not have.
"""

from __future__ import annotations

import ctypes
import os
import resource
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from math import prod
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np

MOST_LINKS = 1000
MOST_PACKED = 1200
"""Bytes that a byte of the file can stand for: zlib packs no better than 1032 to 1."""
HEADROOM = 1 << 31
"""Bytes of memory for opening a file: what claims to be small and is not ends there."""

HARD, DATASET, VIRTUAL = 0, 5, 3
"""HDF5's numbers of an ordinary link, of a dataset, and of a layout that draws on other files."""


@contextmanager
def bounded_memory(extra: int = HEADROOM) -> Iterator[None]:
    """Let this process take at most `extra` bytes more, where the system can see to that."""
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[0])
    except OSError:  # no Linux
        yield
        return
    limit = pages * os.sysconf("SC_PAGE_SIZE") + extra
    if soft != resource.RLIM_INFINITY and soft < limit:
        yield
        return
    resource.setrlimit(resource.RLIMIT_AS, (limit, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def bloated(file: netCDF4.Dataset, size: int) -> str:
    """What an open file of `size` bytes claims to hold beyond what it can, or nothing."""
    if file.groups or file.cmptypes or file.vltypes or file.enumtypes:
        return "holds groups or types of its own"
    claimed = 0
    for name, variable in file.variables.items():
        text = variable.dtype is str
        if text and not set(variable.dimensions) <= {"case", "realisation"}:
            return f"{name} is text along {variable.dimensions}"
        claimed += prod(variable.shape) * (1 if text else np.dtype(variable.dtype).itemsize)
    if claimed > MOST_PACKED * size:
        return f"claims to hold {claimed:.3g} bytes in a file of {size}"
    return ""


def strange_part(path: Path) -> str:
    """What in an HDF5 file is no plain array inside it, or nothing.

    It asks the HDF5 library that netCDF4 itself has loaded: netCDF follows a link to another file
    before it says that there is one, and waits for ever where that is a pipe. Where the library's
    functions cannot be reached, nothing is found.
    """
    try:
        library = _Hdf5(ctypes.PyDLL(netCDF4._netCDF4.__file__))  # type: ignore[attr-defined]
    except (AttributeError, OSError):
        return ""
    return library.strange_part(path)


class _Hdf5:
    """The few functions of the HDF5 library that are needed here."""

    def __init__(self, library: Any) -> None:
        number, text, size = ctypes.c_int64, ctypes.c_char_p, ctypes.c_uint64
        plain = ctypes.c_int
        self._open = _function(library.H5Fopen, number, text, ctypes.c_uint, number)
        self._close = _function(library.H5Fclose, plain, number)
        self._name = _function(
            library.H5Lget_name_by_idx,
            number, number, text, plain, plain, size, text, size, number,
        )  # fmt: skip
        info = getattr(library, "H5Lget_info2", None) or library.H5Lget_info
        self._info = _function(info, plain, number, text, text, number)
        self._object = _function(library.H5Oopen, number, number, text, number)
        self._release = _function(library.H5Oclose, plain, number)
        self._kind = _function(library.H5Iget_type, plain, number)
        self._plist = _function(library.H5Dget_create_plist, number, number)
        self._drop = _function(library.H5Pclose, plain, number)
        self._layout = _function(library.H5Pget_layout, plain, number)
        self._outside = _function(library.H5Pget_external_count, plain, number)
        quiet = _function(
            library.H5Eset_auto2, plain, number, ctypes.c_void_p, ctypes.c_void_p
        )  # fmt: skip
        quiet(0, None, None)

    def strange_part(self, path: Path) -> str:
        """As the function of that name."""
        file = self._open(os.fsencode(path), 0, 0)
        if file < 0:
            return ""  # whoever opens it next says so
        try:
            for index in range(MOST_LINKS):
                name = ctypes.create_string_buffer(1024)
                if self._name(file, b".", 0, 0, index, name, len(name), 0) < 0:
                    return ""
                if wrong := self._wrong(file, name.value):
                    return f"{name.value.decode(errors='replace')} {wrong}"
            return f"more than {MOST_LINKS} parts"
        finally:
            self._close(file)

    def _wrong(self, file: int, name: bytes) -> str:
        """What is wrong with the part of this name."""
        info = ctypes.create_string_buffer(256)
        if self._info(file, name, info, 0) < 0:
            return "cannot be read"
        if int.from_bytes(info.raw[:4], sys.byteorder) != HARD:
            return "lies elsewhere"
        part = self._object(file, name, 0)
        if part < 0:
            return "cannot be read"
        try:
            if self._kind(part) != DATASET:
                return "is no array"
            plist = self._plist(part)
            outside = self._outside(plist) != 0 or self._layout(plist) == VIRTUAL
            self._drop(plist)
            return "lies in another file" if outside else ""
        finally:
            self._release(part)


def _function(function: Any, result: Any, *arguments: Any) -> Any:
    function.restype, function.argtypes = result, arguments
    return function
