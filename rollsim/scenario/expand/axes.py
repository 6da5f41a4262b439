"""The axes of a sweep: their values, and their names as coordinates of the result."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from keyword import iskeyword
from typing import Any

from rollsim.names import COORDINATES, VARIABLES
from rollsim.scenario.checks.explain import nearest_dotted
from rollsim.scenario.schema.catalogue import entry_at, keys_in, resolve
from rollsim.scenario.schema.units import split_unit
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath

TAKEN = frozenset({"roll"})
"""Short names of keys that an xarray Dataset has an attribute for (a test compares them)."""


FIXED_TABLES = frozenset(
    {
        "format",
        "files",
        "output",
        "severity",
        "critical",
        "equilibria",
        "basin",
        "response",
        "observed",
        "sweep",
        "conditions",
    }
)
"""Tables and keys that hold for all cases, whatever stands in them."""


@dataclass(frozen=True)
class Axis:
    """A sweep axis: its key, its name and CF unit in the result ("" for words), its values.

    The values of an `offset` axis are added to what each condition, or else the base file, gives.
    `item` names the weight, the tank or whatever of a list the key belongs to.
    """

    key: str
    name: str
    units: str
    values: tuple[float | str, ...]
    offset: bool = False
    item: str = ""


def spaced(first: float, last: float, steps: int) -> tuple[float, ...]:
    """`steps` even values, both ends included, without the noise of the 13th digit and beyond."""
    inner = (first + (last - first) * i / (steps - 1) for i in range(1, steps - 1))
    return (first, *(float(f"{value:.12g}") for value in inner), last)


def as_coordinate(values: Sequence[float | str]) -> tuple[float | str, ...]:
    """Values of one type: all numbers, or all words."""
    if all(not isinstance(value, str) for value in values):
        return tuple(float(value) for value in values)
    return tuple(value if isinstance(value, str) else f"{value:.12g}" for value in values)


def item_at(raw: Any, path: KeyPath) -> str:
    """The name of the innermost item of a list of the file that a path leads into; mostly none."""
    item, node = "", raw
    for part in path[:-1]:
        try:
            node = node[part]
        except (KeyError, IndexError, TypeError):
            return item
        if isinstance(part, int) and isinstance(node, dict):
            item = str(node.get("name", item))
    return item


def axis_of(
    key: str, name: str, values: Sequence[float | str], *, offset: bool, item: str = ""
) -> Axis:
    """The axis of a swept key."""
    coordinate = as_coordinate(values)
    words = any(isinstance(value, str) for value in coordinate)
    return Axis(
        key, name, "" if words else split_unit(_last_word(key))[1], coordinate, offset, item
    )


def _last_word(key: str) -> str:
    return next(part for part in reversed(key.split(".")) if not part.isdigit())


def coordinate_names(keys: Sequence[str]) -> list[str]:
    """A name for each key: its last part without unit, or as much more of it as it needs."""
    lengths = [1] * len(keys)
    while True:
        names = [_short(key, length) for key, length in zip(keys, lengths, strict=True)]
        counts = Counter(names)
        longer = [
            length < key.count(".") + 1 and (counts[name] > 1 or not _free(name))
            for key, name, length in zip(keys, names, lengths, strict=True)
        ]
        if not any(longer):
            return names
        lengths = [length + more for length, more in zip(lengths, longer, strict=True)]


def _short(key: str, length: int) -> str:
    """The last `length` parts of a key joined by _, the unit suffix taken off."""
    parts = key.split(".")
    word = max(i for i, part in enumerate(parts) if not part.isdigit())
    parts[word] = split_unit(parts[word])[0]
    return "_".join(parts[-length:])


def _free(name: str) -> bool:
    taken = name in TAKEN or name in VARIABLES or name in COORDINATES
    return name.isidentifier() and not iskeyword(name) and not taken


def axis_fault(key: str, value: Any, *, near: bool = True) -> Finding | None:
    """What is wrong with the key of a sweep axis, if anything; with the nearest key, if wanted."""
    at: KeyPath = ("sweep", key)
    path = resolve(key)
    if isinstance(value, dict) and keys_in((key,)):
        hint = 'put the whole key in quotes: "ship.gravity.kg_m" = [5.1, 5.3]'
        return Finding(at, "is a table, not an axis", hint, at_key=True)
    if path is None:
        return Finding(at, "unknown key", nearest_dotted(key) if near else "", at_key=True)
    entry = entry_at(path)
    if entry is None or not entry.is_leaf or path == ("sweep",):
        hint = "an axis is a key that holds one number or one word; use [[conditions]] for more"
        return Finding(at, "cannot be an axis", hint, at_key=True)
    if hint := not_varied(path):
        return Finding(at, "cannot be an axis", hint, at_key=True)
    return None


def not_varied(path: KeyPath) -> str:
    """Why a key takes no values of an axis or a search; empty where it does."""
    if path[0] == "lesson":
        return "use [[conditions]] for a lesson"
    if fixed(path) or path in (("title",), ("ship", "name")):
        return (
            "format, title, names, [severity] and [run] keys other than method are the same for "
            "all cases"
        )
    return ""


def fixed(path: KeyPath) -> bool:
    """Whether a key must be the same for all cases: they share one file form and one clock."""
    return path[0] in FIXED_TABLES or (path[0] == "run" and path != ("run", "method"))
