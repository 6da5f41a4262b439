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

MOST_PARTS = 1000
MOST_TEXTS = 16
"""Texts of one attribute: each may be as long as the file, and netCDF reads them all at once."""
MOST_PACKED = 1200
"""Bytes that a byte of the file can stand for: zlib packs no better than 1032 to 1."""
HEADROOM = 1 << 31
"""Bytes of memory for opening a file: what claims to be small and is not ends there."""

HARD, DATASET, VIRTUAL, VARYING = 0, 5, 3, 9
"""HDF5's numbers of a plain link, a dataset, a layout over other files, a type of any length."""


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
        if text and not set(variable.dimensions) <= {"case", "realisation", "opening"}:
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


ID, FLAG = ctypes.c_int64, ctypes.c_int
NAME, SIZE = ctypes.c_char_p, ctypes.c_uint64
FUNCTIONS: dict[str, tuple[Any, ...]] = {
    "H5Eset_auto2": (FLAG, ID, ctypes.c_void_p, ctypes.c_void_p),
    "H5Fopen": (ID, NAME, ctypes.c_uint, ID),
    "H5Fclose": (FLAG, ID),
    "H5Lget_name_by_idx": (ID, ID, NAME, FLAG, FLAG, SIZE, NAME, SIZE, ID),
    "H5Lget_info": (FLAG, ID, NAME, NAME, ID),
    "H5Oopen": (ID, ID, NAME, ID),
    "H5Oclose": (FLAG, ID),
    "H5Iget_type": (FLAG, ID),
    "H5Dget_create_plist": (ID, ID),
    "H5Pget_layout": (FLAG, ID),
    "H5Pget_external_count": (FLAG, ID),
    "H5Pclose": (FLAG, ID),
    "H5Aopen_by_idx": (ID, ID, NAME, FLAG, FLAG, SIZE, ID, ID),
    "H5Aget_type": (ID, ID),
    "H5Aget_space": (ID, ID),
    "H5Aclose": (FLAG, ID),
    "H5Tis_variable_str": (FLAG, ID),
    "H5Tdetect_class": (FLAG, ID, FLAG),
    "H5Tclose": (FLAG, ID),
    "H5Sget_simple_extent_npoints": (ID, ID),
    "H5Sclose": (FLAG, ID),
}
"""The functions of HDF5 that are needed here: what each gives and takes."""


class _Hdf5:
    """Questions to the HDF5 library; AttributeError where it lacks a function."""

    def __init__(self, library: Any) -> None:
        self._call: dict[str, Any] = {}
        for name, (result, *arguments) in FUNCTIONS.items():
            # From HDF5 1.12 on H5Lget_info is a macro for one of two functions.
            function = getattr(library, f"{name}2", None) or getattr(library, name)
            function.restype, function.argtypes = result, arguments
            self._call[name] = function
        self._call["H5Eset_auto2"](0, None, None)  # it would print its own tracebacks

    def strange_part(self, path: Path) -> str:
        """As the function of that name."""
        call = self._call
        file = call["H5Fopen"](os.fsencode(path), 0, 0)
        if file < 0:
            return ""  # whoever opens it next says so
        try:
            if wrong := self._wrong_attributes(file):
                return wrong
            for index in range(MOST_PARTS):
                name = ctypes.create_string_buffer(1024)
                if call["H5Lget_name_by_idx"](file, b".", 0, 0, index, name, len(name), 0) < 0:
                    return ""
                if wrong := self._wrong(file, name.value):
                    return f"{name.value.decode(errors='replace')} {wrong}"
            return f"more than {MOST_PARTS} parts"
        finally:
            call["H5Fclose"](file)

    def _wrong(self, file: int, name: bytes) -> str:
        """What is wrong with the part of this name."""
        call, info = self._call, ctypes.create_string_buffer(256)
        if call["H5Lget_info"](file, name, info, 0) < 0:
            return "cannot be read"
        if int.from_bytes(info.raw[:4], sys.byteorder) != HARD:
            return "lies elsewhere"
        part = call["H5Oopen"](file, name, 0)
        if part < 0:
            return "cannot be read"
        try:
            if call["H5Iget_type"](part) != DATASET:
                return "is no array"
            if self._outside(part):
                return "lies in another file"
            return self._wrong_attributes(part)
        finally:
            call["H5Oclose"](part)

    def _outside(self, part: int) -> bool:
        """Whether an array has its numbers in another file."""
        call = self._call
        plist = call["H5Dget_create_plist"](part)
        layout, count = call["H5Pget_layout"](plist), call["H5Pget_external_count"](plist)
        call["H5Pclose"](plist)
        return bool(layout == VIRTUAL or count != 0)

    def _wrong_attributes(self, part: int) -> str:
        """What is wrong with the attributes of the file or of an array."""
        call = self._call
        for index in range(MOST_PARTS):
            attribute = call["H5Aopen_by_idx"](part, b".", 0, 0, index, 0, 0)
            if attribute < 0:
                return ""
            kind, space = call["H5Aget_type"](attribute), call["H5Aget_space"](attribute)
            varies = call["H5Tis_variable_str"](kind) > 0 or call["H5Tdetect_class"](kind, VARYING)
            count = call["H5Sget_simple_extent_npoints"](space)
            for close, held in (("T", kind), ("S", space), ("A", attribute)):
                call[f"H5{close}close"](held)
            if varies and count > MOST_TEXTS:
                return "has an attribute of many texts"
        return f"more than {MOST_PARTS} attributes"
