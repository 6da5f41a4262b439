"""Which runs of a result a command is about: `--case 3`, `--case condition=light,kg=5.3`."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import numpy as np

from rollsim.errors import Fault, InputError

if TYPE_CHECKING:
    import xarray as xr


def choose_case(ds: xr.Dataset, wanted: str) -> int:
    """The one case that `wanted` names, by number or coordinates; InputError if not just one."""
    matches = choose_cases(ds, wanted)
    if len(matches) > 1:
        raise _fault(wanted, f"names {len(matches)} cases", f"say more: {_choices(ds)}")
    return matches[0]


def choose_cases(ds: xr.Dataset, wanted: str | None) -> list[int]:
    """All cases that `wanted` names, every case where it is None; InputError if there is none."""
    count = ds.sizes["case"]
    if wanted is None:
        return list(range(count))
    number = wanted.strip()
    if number.isdecimal():
        position = _position(ds, "case", int(number)) if len(number) < 10 else None
        if position is not None:
            return [position]
        raise _fault(wanted, "no such case", f"the result holds {numbers_of(ds, 'case')}")
    matches = set(range(count))
    for part in _parts(ds, wanted):
        matches &= _matches(ds, part, wanted)
    if not matches:
        raise _fault(wanted, "no case is like that", _choices(ds))
    return sorted(matches)


def choose_realisation(ds: xr.Dataset, wanted: int) -> int:
    """Where the realisation `wanted` is, if the result holds it."""
    position = _position(ds, "realisation", wanted)
    if position is not None:
        return position
    hint = f"the result holds {numbers_of(ds, 'realisation')}"
    raise InputError("", [Fault("--realisation", f"no such realisation: {wanted}", hint)])


def _position(ds: xr.Dataset, dimension: str, number: int) -> int | None:
    """Where a case or realisation of this number is; a replayed run keeps its number."""
    positions = np.flatnonzero(ds[dimension].values == number)
    return int(positions[0]) if positions.size else None


def numbers_of(ds: xr.Dataset, dimension: str) -> str:
    """Which cases or realisations the result holds, in words."""
    first, last = (int(ds[dimension].values[end]) for end in (0, -1))
    return f"{dimension} {first} only" if first == last else f"{dimension}s {first} to {last}"


def _matches(ds: xr.Dataset, part: str, wanted: str) -> set[int]:
    name, equals, value = (piece.strip() for piece in part.partition("="))
    if not equals or name not in _axes(ds):
        raise _fault(wanted, f"cannot read {part!r}", f"a number, or names of: {_choices(ds)}")
    return {i for i, stored in enumerate(ds[name].values) if _same(stored, value)}


def _parts(ds: xr.Dataset, wanted: str) -> list[str]:
    """The `name=value` parts; a comma cuts only where a coordinate's name and = follow it."""
    names = "|".join(map(re.escape, _axes(ds)))
    return re.split(rf",(?=\s*(?:{names})\s*=)", wanted)


def _same(stored: object, value: str) -> bool:
    if isinstance(stored, str):
        return stored == value
    try:
        return math.isclose(float(stored), float(value), rel_tol=1e-9, abs_tol=1e-12)  # type: ignore[arg-type]
    except ValueError:
        return False


def _axes(ds: xr.Dataset) -> list[str]:
    return [
        str(name)
        for name, column in ds.coords.items()
        if column.dims == ("case",) and name != "case"
    ]


def _choices(ds: xr.Dataset) -> str:
    parts = []
    for name in _axes(ds):
        words = [f"'{v}'" if isinstance(v, str) else f"{v:g}" for v in ds[name].values]
        values = list(dict.fromkeys(words))
        more = ", .." if len(values) > 8 else ""
        parts.append(f"{name} = {', '.join(values[:8])}{more}")
    return "; ".join(parts)


def _fault(wanted: str, problem: str, hint: str) -> InputError:
    return InputError("", [Fault("--case", f"{wanted!r}: {problem}", hint)])
