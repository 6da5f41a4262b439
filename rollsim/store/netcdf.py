"""Writing a result: one netCDF-4 file after the CF and ACDD conventions, without xarray.

The netCDF library is not thread safe: one writer in a process.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd, FoundBy, Search
from rollsim.names import (
    COORDINATES,
    HISTORY,
    KEPT,
    VARIABLES,
    Outcome,
    SeverityFound,
    Variable,
    histories_kept,
)
from rollsim.store.attributes import global_attributes
from rollsim.store.disk import replacing

CHUNK_BYTES = 1 << 20
TEXT_BYTES = 64
"""What a text takes, roughly; texts are references into the file and cannot be compressed."""
FLAGS = {
    "outcome": {int(code): code.label for code in Outcome},
    "failed_before_settle": {0: "no", 1: "yes"},
    "branch_end": {int(code): code.name.lower() for code in BranchEnd},
    "found_by": {int(code): code.name.lower() for code in FoundBy},
    "severity_found": {int(code): code.label for code in SeverityFound},
    "critical_search": {int(code): code.name.lower() for code in Search},
    "critical_rises": {0: "no", 1: "yes"},
}


@dataclass(frozen=True)
class AxisCoordinate:
    """A sweep axis: its name in the file, scenario key, CF unit, and one value for each case.

    The values of an `offset` axis were added to what the key holds otherwise. `item` names the
    weight or tank that the key belongs to.
    """

    name: str
    key: str
    unit: str
    values: Sequence[float | str]
    offset: bool = False
    item: str = ""


def write_result(
    path: Path,
    variables: Mapping[str, NDArray[Any]],
    coordinates: Sequence[AxisCoordinate],
    attributes: Mapping[str, str | int | float],
    scenario_text: str,
) -> None:
    """Write a result in one step: afterwards `path` holds all of it, or what it held before.

    variables: arrays by the names of `names.VARIABLES` in the units of that table, `outcome`
        among them, besides the coordinates "t", "heel", "condition" ("base" when left out), "case"
        and "realisation" (from 0 when left out).
    attributes: global ones, at least "title"; "history" is the command, a time is put before it.
    """
    arrays = {"condition": np.full(np.shape(variables["outcome"])[:1], "base"), **variables}
    known = COORDINATES | VARIABLES
    if "kept_case" in arrays:
        known |= histories_kept()
    table = COORDINATES | {name: known[name] for name in VARIABLES}
    write_file(path, arrays, table, coordinates, global_attributes(attributes, scenario_text))


def write_file(
    path: Path,
    arrays: Mapping[str, NDArray[Any]],
    known: Mapping[str, Variable],
    axes: Sequence[AxisCoordinate],
    attributes: Mapping[str, Any],
) -> None:
    """Write arrays by the names of the table `known`, with sweep axes along the cases.

    The file holds them in the order of the table, the axes before the first that is no coordinate;
    "case" and "realisation" are counted from 0 where a dimension of that name has no array.
    """
    if unknown := arrays.keys() - known.keys():
        raise ValueError(f"no variables of a result: {sorted(unknown)}")
    table = _table(known, axes)
    arrays = dict(arrays) | {axis.name: _axis_values(axis) for axis in axes}
    sizes = _sizes(arrays, table)
    counted = {name: np.arange(sizes[name]) for name in ("case", "realisation") if name in sizes}
    arrays = counted | arrays
    beside = ["condition", *(axis.name for axis in axes)]
    with (
        replacing(path) as part,
        netCDF4.Dataset(str(part), "w", clobber=False, format="NETCDF4") as file,
    ):
        file.setncatts(attributes)
        for dimension, size in sizes.items():
            file.createDimension(dimension, size)
        for name in sorted(arrays, key=list(table).index):
            _put(file, name, table[name], arrays[name], beside)
        for axis in axes:
            file[axis.name].scenario_key = axis.key
            if axis.offset:
                file[axis.name].scenario_offset = 1
            if axis.item:
                file[axis.name].scenario_item = axis.item


OUTLINE = 64
"""Points of a midship section, about."""


def estimate_bytes(cases: int, realisations: int, samples: int, heels: int, kept: int = 0) -> int:
    """Size of a result before compression [bytes]: TEXT_BYTES for each text, 1 MB for the rest."""
    sizes = {"case": cases, "realisation": realisations, "kept": kept, "t": samples}
    sizes |= {"heel": heels, "filling": 0, "outline": OUTLINE}
    return (1 << 20) + sum(
        prod(sizes[dimension] for dimension in variable.dims) * _item_bytes(variable)
        for variable in (*VARIABLES.values(), *COORDINATES.values())
    )


def _item_bytes(variable: Variable) -> int:
    return TEXT_BYTES if variable.dtype == "str" else np.dtype(variable.dtype).itemsize


def _axis_values(axis: AxisCoordinate) -> NDArray[Any]:
    """The values as float64, or as text where one is a word (`roll_deg = [0, "static"]`)."""
    if any(isinstance(value, str) for value in axis.values):
        return np.array([v if isinstance(v, str) else f"{v:.12g}" for v in axis.values])
    return np.array(axis.values, dtype=np.float64)


def _table(
    known: Mapping[str, Variable], coordinates: Sequence[AxisCoordinate]
) -> dict[str, Variable]:
    """All that the file may hold, in its order: coordinates, sweep axes, variables."""
    names = [axis.name for axis in coordinates]
    if taken := {name for name in names if name in known or names.count(name) > 1}:
        raise ValueError(f"names of sweep axes are taken: {sorted(taken)}")
    axes = {
        axis.name: Variable(
            ("case",),
            axis.unit,
            axis.name.replace("_", " ") + " offset" * axis.offset,
            "str" if _axis_values(axis).dtype.kind == "U" else "f8",
        )
        for axis in coordinates
    }
    first = {name: variable for name, variable in known.items() if name in COORDINATES}
    return first | axes | {name: known[name] for name in known if name not in COORDINATES}


def _sizes(arrays: Mapping[str, NDArray[Any]], table: Mapping[str, Variable]) -> dict[str, int]:
    """The length of each dimension; every array must agree."""
    sizes: dict[str, int] = {}
    for name, array in arrays.items():
        dims = table[name].dims
        if len(dims) != array.ndim or 0 in array.shape:
            raise ValueError(f"{name} has shape {array.shape}, expected {dims}")
        for dimension, size in zip(dims, array.shape, strict=True):
            if sizes.setdefault(dimension, size) != size:
                raise ValueError(f"{name} has {size} along {dimension}, not {sizes[dimension]}")
    order = ("case", "realisation", "kept", "t", "heel")
    others = [dimension for dimension in sizes if dimension not in order]
    return {name: sizes[name] for name in (*order, *others) if name in sizes}


def _chunks(shape: Sequence[int], item_bytes: int) -> list[int]:
    """Even chunks of at most CHUNK_BYTES, whole along the last dimensions: a run reads at once."""
    room = max(1, CHUNK_BYTES // item_bytes)
    chunks: list[int] = []
    for size in reversed(shape):
        pieces = -(-size // room)
        chunks.insert(0, -(-size // pieces))
        room = max(1, room // chunks[0])
    return chunks


def _measured(name: str, beside: Sequence[str]) -> bool:
    """Whether a variable is a result, no coordinate."""
    return name not in COORDINATES and name not in beside


def _put(
    file: netCDF4.Dataset,
    name: str,
    variable: Variable,
    array: NDArray[Any],
    beside: Sequence[str],
) -> None:
    """Write one variable with its attributes, chunk by chunk, so that Ctrl-C need not wait."""
    text = variable.dtype == "str"
    chunks = _chunks(array.shape, TEXT_BYTES if text else np.dtype(variable.dtype).itemsize)
    missing = np.nan if _measured(name, beside) and variable.dtype.startswith("f") else None
    zlib: dict[str, Any] = {"compression": "zlib", "complevel": 1, "shuffle": True}
    stored = file.createVariable(
        name,
        str if text else variable.dtype,
        variable.dims,
        fill_value=missing,
        chunksizes=chunks,
        chunk_cache=2 * CHUNK_BYTES,  # what lies there is packed on closing, Ctrl-C or not
        **({} if text else zlib),
    )
    stored.set_auto_maskandscale(False)
    stored.setncatts(_attributes(name, variable, beside))
    for place in _places(array.shape, chunks):
        if text:
            _put_texts(stored, place, array[place].astype(object))
        else:
            stored[place] = array[place]


def _put_texts(
    stored: netCDF4.Variable[Any], place: tuple[slice, ...], texts: NDArray[Any]
) -> None:
    """Write the texts of a chunk; an empty one that is never written takes no room and reads ""."""
    if 8 * np.count_nonzero(texts) > texts.size:  # one by one it would take too long
        stored[place] = texts
        return
    first = [part.start for part in place]
    for index in np.argwhere(texts):
        stored[tuple(first + index)] = texts[tuple(index)]


def _places(shape: Sequence[int], chunks: Sequence[int]) -> Iterator[tuple[slice, ...]]:
    """Where the chunks of an array lie."""
    starts = (range(0, size, chunk) for size, chunk in zip(shape, chunks, strict=True))
    for corner in product(*starts):
        yield tuple(slice(a, a + chunk) for a, chunk in zip(corner, chunks, strict=True))


def _attributes(name: str, variable: Variable, beside: Sequence[str]) -> dict[str, Any]:
    """The CF attributes of a variable; `beside` are the coordinates that stand along `case`."""
    flags = FLAGS.get(name, {})
    found: dict[str, Any] = {
        "standard_name": variable.standard_name,
        "long_name": variable.long_name,
        "units": "" if flags else variable.units,
    }
    if flags:
        found["flag_values"] = np.array(list(flags), dtype=np.int8)
        found["flag_meanings"] = " ".join(flags.values())
    if variable.dims in (HISTORY, KEPT):
        found |= {"cell_methods": "t: point", "ancillary_variables": "outcome"}
    if _measured(name, beside):
        found["coverage_content_type"] = "qualityInformation" if flags else "modelResult"
        found["coordinates"] = " ".join(beside) if "case" in variable.dims else ""
        if variable.dims == KEPT:
            found["coordinates"] = "kept_case kept_realisation"
    else:
        found["coverage_content_type"] = "coordinate"
    return {key: value for key, value in found.items() if len(value)}
