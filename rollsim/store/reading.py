"""Reading a result back: only files that are ours and whole, everything else is a named fault."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import netCDF4
import numpy as np

from rollsim.errors import Fault, InputError, printable
from rollsim.names import Outcome
from rollsim.store.attributes import FORMAT, MAP, scenario_digest
from rollsim.store.container import bloated, bounded_memory, strange_part
from rollsim.store.disk import ELSEWHERE
from rollsim.store.form import misfit

if TYPE_CHECKING:
    import xarray

SIGNATURE = b"\x89HDF\r\n\x1a\n"
MEMORY_BYTES = 1 << 29
"""Results up to this size are read whole and their file is closed; larger ones stay on disk."""

OR_REPLACE = "give --replace to replace it, or another place with --out FILE"
DAMAGED = "damaged or cut short"
OURS = "results are written by rollsim run"


def open_result(path: Path) -> xarray.Dataset:
    """A result as a labelled Dataset, in the units of the file; InputError for anything else.

    A result above MEMORY_BYTES is read on demand and keeps its file open until `.close()`.
    """
    import xarray  # takes a third of a second: only who reads pays for it

    if command := require_ours(path).get(MAP):
        hint = f"it is what rollsim {printable(str(command)[:40])} has written"
        raise _fault(path, "is no result of rollsim run", hint)
    with ExitStack() as stack:
        try:
            with bounded_memory():
                dataset = xarray.open_dataset(path, engine="netcdf4", decode_times=False)
                stack.callback(dataset.close)
                small = dataset.nbytes <= MEMORY_BYTES
                wrong = misfit(dataset.load() if small else _texts_loaded(dataset))
        except Exception as error:  # whatever a damaged file makes the libraries raise
            raise _fault(path, DAMAGED, f"{type(error).__name__}: {error}") from error
        if wrong:
            raise _fault(path, DAMAGED, wrong)
        if not (dataset["outcome"].values != Outcome.NOT_RUN).any():
            raise _fault(path, "holds no finished run", "run its scenario again")
        if not small:
            stack.pop_all()
    return dataset


def _texts_loaded(dataset: xarray.Dataset) -> xarray.Dataset:
    """The dataset with its texts in memory: what they take is only known once they are read."""
    for variable in dataset.variables.values():
        if variable.dtype.kind in "OUT":
            variable.load()
    return dataset


def same_scenario(path: Path, scenario_text: str, command: str = "") -> bool:
    """Whether `path` holds the result of exactly this scenario by this command, "" for a run."""
    try:
        attributes = require_ours(path)
    except InputError:
        return False
    digest, wrote = attributes.get("scenario_sha256"), attributes.get(MAP, "")
    return (str(digest), str(wrote)) == (scenario_digest(scenario_text), command)


def require_replaceable(
    path: Path, scenario_text: str, replace: bool, command: str = "", hint: str | None = None
) -> None:
    """Refuse to write over a result of another scenario unless told to, and over any other file.

    `hint`: the ways out of a command that cannot be told to.
    """
    if not path.exists() or same_scenario(path, scenario_text, command):
        return
    try:
        other = str(require_ours(path).get(MAP, "")) != command
    except InputError as error:
        fault = error.faults[0]
        ways = f"it is not replaced: remove it yourself, or {ELSEWHERE}"
        raise _fault(path, fault.problem, ways) from error
    if not replace:
        what = "command" if other else "scenario"
        raise _fault(path, f"holds the result of another {what}", hint or OR_REPLACE)


def _fault(path: Path, problem: str, hint: str) -> InputError:
    return InputError(str(path), [Fault("", problem, hint)])


def require_ours(path: Path) -> dict[str, Any]:
    """The global attributes of a file of ours of a known form; InputError for every other."""
    _require_hdf(path)
    if strange := strange_part(path):
        raise _fault(path, "is no result of rollsim", f"{printable(strange[:200])}: {OURS}")
    try:
        with bounded_memory(), netCDF4.Dataset(str(path)) as file:
            attributes = {name: file.getncattr(name) for name in file.ncattrs()}
            wrong = bloated(file, path.stat().st_size)
    except (OSError, RuntimeError, ValueError, AttributeError, MemoryError) as error:
        hint = "if it is whole, its folder may lack file locks: set HDF5_USE_FILE_LOCKING=FALSE"
        raise _fault(path, DAMAGED, hint) from error
    number = attributes.get("rollsim_format")
    if not isinstance(number, np.integer) or number < 1:
        raise _fault(path, "is no result of rollsim", OURS)
    if number > FORMAT:
        hint = f"it has format {number}, this program reads up to {FORMAT}: use a newer one"
        raise _fault(path, "was written by a newer rollsim", hint)
    if not isinstance(attributes.get(MAP, ""), str):
        wrong = f"{MAP} is no text"
    if wrong:
        raise _fault(path, DAMAGED, wrong)
    return attributes


def _require_hdf(path: Path) -> None:
    """Refuse a file that is not even HDF5, the container of netCDF-4, before a library opens it."""
    hint = "give the file that rollsim run wrote, by default results/<scenario>.nc"
    if path.is_dir():
        raise _fault(path, "is a folder, not a result", hint)
    if path.exists() and not path.is_file():  # a pipe would wait for ever
        raise _fault(path, "is no ordinary file", hint)
    try:
        with path.open("rb") as file:
            signature = file.read(len(SIGNATURE))
    except OSError as error:
        raise _fault(path, f"cannot be read: {(error.strerror or '').lower()}", hint) from error
    if signature != SIGNATURE:
        raise _fault(path, "is no result: not a netCDF-4 file", hint)
