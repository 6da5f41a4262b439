"""What a person is told of every key: its meaning, what it may hold, its unit and its default."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from rollsim.names import unit_text
from rollsim.scenario.checks.explain import BOUNDS
from rollsim.scenario.schema.catalogue import (
    KeyEntry,
    alternatives,
    is_model,
    key_of,
    kind_of,
    words,
)
from rollsim.scenario.schema.study import Condition, Offsets, Range, Scenario
from rollsim.scenario.schema.units import WRITTEN, split_unit, with_unit
from rollsim.scenario.text.beside import NamedFile
from rollsim.scenario.text.faults import listed


@dataclass(frozen=True)
class Described:
    """A key of a table; `allowed` and `default` as text, `allowed` empty for a table of its own."""

    key: str
    meaning: str
    allowed: str
    default: str

    @property
    def unit(self) -> str:
        """The unit as a person writes it, empty where it has none."""
        units = split_unit(self.key)[1]
        return WRITTEN.get(units) or ("" if units == "1" else unit_text(units))


@dataclass(frozen=True)
class TableDescribed:
    """A table of the file: its dotted name, whether it is one of a list, its kind if it has one."""

    name: str
    in_list: bool
    kind: str
    meaning: str
    keys: tuple[Described, ...]

    @property
    def title(self) -> str:
        """The table as the file heads it, with its kind."""
        title = f"[[{self.name}]]" if self.in_list else f"[{self.name}]"
        if not self.name:
            title = "at the top of the file"
        return f'{title}, kind = "{self.kind}"' if self.kind else title


AXES = (
    "Axes of a grid of cases. An axis is a whole key in quotes, "
    '"ship.gravity.kg_m" = [5.1, 5.3], or that key with a table of the keys below.'
)
CONDITIONS = (
    "Named sets of overrides, crossed with the sweep: any value, list or table of the file by its "
    'whole key in quotes, "ship.gravity.kg_m" = 5.3.'
)


FILES = (
    "Texts of the files that the scenario names, by their names. A stored scenario carries them; "
    "where the table is left out, they are read from the scenario's own folder."
)


@cache
def tables() -> tuple[TableDescribed, ...]:
    """Every table of the file in the schema's order, one for each kind."""
    top = TableDescribed("", False, "", doc(Scenario), tuple(leaves(Scenario)))
    each = [top]
    for name, field in Scenario.model_fields.items():
        if name not in ("sweep", "conditions", "files"):
            each += _tables(field.annotation, key_of(name, field), in_list=False)
    axes = (*described(Range), *described(Offsets))
    each.append(TableDescribed("sweep", False, "", AXES, axes))
    names = tuple(described(Condition))
    each.append(TableDescribed("conditions", True, "", CONDITIONS, names))
    each.append(TableDescribed("files", False, "", FILES, ()))
    return tuple(each)


def _tables(annotation: Any, name: str, *, in_list: bool) -> Iterator[TableDescribed]:
    choices = alternatives(annotation)
    for choice in choices:
        if get_origin(choice) is tuple:
            yield from _tables(get_args(choice)[0], name, in_list=True)
    for model in filter(is_model, choices):
        keys = tuple(leaves(model))
        yield TableDescribed(name, in_list, kind_of(model) or "", doc(model), keys)
        for inner, field in model.model_fields.items():
            yield from _tables(field.annotation, f"{name}.{key_of(inner, field)}", in_list=False)


def leaves(model: type[BaseModel]) -> list[Described]:
    """The keys of a table that are no tables of their own."""
    return [row for row in described(model) if row.allowed]


def described(model: type[BaseModel]) -> Iterator[Described]:
    """Every key of a table."""
    for name, field in model.model_fields.items():
        key = key_of(name, field)
        allowed = _allowed(key, field.annotation, field.metadata)
        yield Described(key, field.description or "", allowed, _default(field))


def _allowed(key: str, annotation: Any, metadata: list[Any]) -> str:
    """What a key may hold, empty for a table."""
    numbers = []
    for choice in alternatives(annotation):
        if get_origin(choice) is tuple:
            item = alternatives(get_args(choice)[0])[0]
            numbers += [] if is_model(item) else [f"a list of {_items(item)}"]
        elif choice in (float, int):
            number = "a whole number" if choice is int else "a number"
            bounds = _bounds(key, [*metadata, *_inner(annotation)])
            numbers.append(f"{number} {bounds}".rstrip())
        elif choice is bool:
            numbers += ["true", "false"]
        elif choice is str:
            numbers.append("text")
        elif choice is NamedFile:
            numbers.append("the name of a file beside the scenario")
    entry = KeyEntry(FieldInfo(), alternatives(annotation))
    choices = [*(f'"{word}"' for word in words(entry)), *numbers]
    return listed(choices, "or") if choices else ""


def _items(item: Any) -> str:
    """What a list holds."""
    if get_origin(item) is Literal:
        return listed([f'"{word}"' for word in get_args(item)], "or")
    if get_origin(item) is tuple:
        return "lists of numbers" if Ellipsis in get_args(item) else "pairs of numbers"
    return "texts" if item is str else "numbers"


def _inner(annotation: Any) -> list[Any]:
    """What annotates the number among the alternatives of a key that holds a number or a word."""
    metadata: list[Any] = []
    for part in get_args(annotation):
        if float in alternatives(part):
            for item in getattr(part, "__metadata__", ()):
                metadata += item.metadata if isinstance(item, FieldInfo) else []
    return metadata


def _bounds(key: str, metadata: list[Any]) -> str:
    """The bounds in words, the unit once."""
    bounds = [
        (word, getattr(item, name))
        for name, word in BOUNDS.values()
        for item in metadata
        if getattr(item, name, None) is not None
    ]
    *first, (word, last) = bounds or [("", None)]
    if last is None:
        return ""
    return " and ".join([*(f"{w} {b}" for w, b in first), f"{word} {with_unit(last, key)}"])


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "required"
    value = field.get_default()
    if value is None or value == "":
        return "none"
    if isinstance(value, tuple):
        return str([*value]).replace("'", '"')
    return f'"{value}"' if isinstance(value, str) else str(value)


def doc(model: type[BaseModel]) -> str:
    """What a table is, in one line."""
    return " ".join((model.__doc__ or "").split())
