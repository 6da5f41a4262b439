"""The files of searches and maps: written and read with the same care as results."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from numbers import Real
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import Fault, InputError
from rollsim.map_names import MAPS, SAYS
from rollsim.names import COORDINATES, Variable
from rollsim.store.attributes import MAP, global_attributes
from rollsim.store.container import bounded_memory
from rollsim.store.form import disordered
from rollsim.store.netcdf import FLAGS, AxisCoordinate, write_file
from rollsim.store.reading import DAMAGED, require_ours, require_replaceable

if TYPE_CHECKING:
    import xarray


def write_map(
    path: Path,
    command: str,
    arrays: Mapping[str, NDArray[Any]],
    axes: Sequence[AxisCoordinate],
    attributes: Mapping[str, str | int | float],
    scenario_text: str,
    units: Mapping[str, str] | None = None,
) -> None:
    """Write what `rollsim <command>` has found, in one step.

    arrays: by the names of `MAPS[command]` and of its coordinates, `condition` among them where
        there are cases.
    attributes: global ones, at least "title" and "history", the command.
    units: of variables whose unit is that of a scenario key.
    """
    known = _known(command)
    for name, unit in (units or {}).items():
        known[name] = replace(known[name], units=unit)
    says = {"summary": f"What rollsim {command} found.", MAP: command, **attributes}
    write_file(path, arrays, known, axes, global_attributes(says, scenario_text))


def require_replaceable_map(path: Path, command: str, scenario_text: str, replace: bool) -> None:
    """Refuse to write over what another scenario or command has given, unless told to."""
    require_replaceable(path, scenario_text, replace, command)


def open_map(path: Path, command: str) -> xarray.Dataset:
    """The file that `rollsim <command>` wrote as a labelled Dataset; InputError for any other."""
    import xarray  # takes a third of a second: only who reads pays for it

    if require_ours(path).get(MAP) != command:
        hint = f"give the file that rollsim {command} wrote"
        raise InputError(str(path), [Fault("", f"is no result of rollsim {command}", hint)])
    try:
        with bounded_memory(), xarray.open_dataset(path, decode_times=False) as dataset:
            wrong = _misfit(dataset.load(), command)
    except Exception as error:  # whatever a damaged file makes the libraries raise
        hint = f"{type(error).__name__}: {error}"
        raise InputError(str(path), [Fault("", DAMAGED, hint)]) from error
    if wrong:
        raise InputError(str(path), [Fault("", DAMAGED, wrong)])
    return dataset


def _known(command: str) -> dict[str, Variable]:
    """All variables that a file of this command may hold."""
    return {name: COORDINATES[name] for name in ("case", "condition")} | MAPS[command]


def _misfit(dataset: xarray.Dataset, command: str) -> str:
    """What in the dataset differs from the form of such a file, or nothing."""
    if not isinstance(dataset.attrs.get("scenario_text"), str):
        return "scenario_text is missing"
    for name, variable in _known(command).items():
        if name not in dataset.variables:
            if name in MAPS[command] and not variable.optional:
                return f"{name} is missing"
            continue
        if dataset[name].dims != variable.dims:
            return f"{name} stands along {dataset[name].dims}, expected {variable.dims}"
        kind = "OUT" if variable.dtype == "str" else np.dtype(variable.dtype).kind
        if dataset[name].dtype.kind not in kind:
            return f"{name} is of type {dataset[name].dtype}"
        if kind == "f" and np.isinf(dataset[name].values).any():
            return f"{name} is infinite in some place"
    optional = [name for name, known in MAPS[command].items() if known.optional]
    return (
        _unsaid(dataset.attrs, SAYS.get(command, {}))
        or _wild(dataset, MAPS[command])
        or _alone(dataset, optional)
        or disordered(dataset, MAPS[command])
    )


def _unsaid(attributes: Mapping[str, Any], needed: Mapping[str, type | tuple[str, ...]]) -> str:
    """Which attribute is missing or says what none of ours says, or nothing."""
    for name, kind in needed.items():
        value = attributes.get(name)
        if kind is float:
            sound = isinstance(value, Real) and math.isfinite(value)
        else:
            sound = isinstance(value, str) and (not isinstance(kind, tuple) or value in kind)
        if not sound:
            return f"the attribute {name} is missing or altered"
    return ""


def _wild(dataset: xarray.Dataset, known: Iterable[str]) -> str:
    """Which codes are unknown and which axis does not rise, or nothing."""
    for name in set(known) & set(dataset.variables):
        values = dataset[name].values
        if name in FLAGS and not np.isin(values, list(FLAGS[name])).all():
            return f"{name} holds unknown codes"
        axis = dataset[name].dims == (name,) and values.dtype.kind in "fiu"
        if axis and not (np.isfinite(values).all() and (np.diff(values) > 0).all()):
            return f"{name} does not rise from number to number"
    return ""


def _alone(dataset: xarray.Dataset, optional: Sequence[str]) -> str:
    """Which optional variable is missing beside another that begins with the same word."""
    held = {name.partition("_")[0]: name for name in optional if name in dataset.variables}
    for name in optional:
        beside = held.get(name.partition("_")[0])
        if beside and name not in dataset.variables:
            return f"{name} is missing where {beside} is given"
    return ""
