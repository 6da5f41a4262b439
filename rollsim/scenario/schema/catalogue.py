"""Every key that a scenario file may hold, read off the models of the schema."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.positions import KeyPath

ITEM = "*"
"""Stands in a pattern for the position in a list."""

Pattern = tuple[str, ...]


@dataclass(frozen=True)
class KeyEntry:
    """A key: its field in the schema, what it may hold, and the kinds of table that have it."""

    field: FieldInfo
    alternatives: tuple[Any, ...]
    kinds: tuple[str, ...] = ()

    @property
    def is_leaf(self) -> bool:
        """Whether it may hold a number or a word, not only a table or a list."""
        return any(not is_model(a) and get_origin(a) is not tuple for a in self.alternatives)

    @property
    def description(self) -> str:
        """What it is, with its unit."""
        return self.field.description or ""


def alternatives(annotation: Any) -> tuple[Any, ...]:
    """The types that an annotation allows, bare and without None."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return alternatives(get_args(annotation)[0])
    if origin in (Union, UnionType):
        return tuple(a for part in get_args(annotation) for a in alternatives(part))
    return () if annotation is NoneType else (annotation,)


def is_model(annotation: Any) -> bool:
    """Whether a type is a table of the schema."""
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def key_of(name: str, field: FieldInfo) -> str:
    """The key in the file of a model's field."""
    return field.alias or name


def kind_of(model: type[BaseModel]) -> str | None:
    """The word that tells this table from the others of its union, or None."""
    field = model.model_fields.get("kind")
    return None if field is None else str(get_args(field.annotation)[0])


def _walk(annotation: Any, pattern: Pattern) -> Iterator[tuple[Pattern, KeyEntry]]:
    for choice in alternatives(annotation):
        if is_model(choice):
            kind = kind_of(choice)
            for name, field in choice.model_fields.items():
                here = (*pattern, key_of(name, field))
                yield here, KeyEntry(field, alternatives(field.annotation), (kind,) if kind else ())
                yield from _walk(field.annotation, here)
        elif get_origin(choice) is tuple:
            item = get_args(choice)[0]
            field = FieldInfo.from_annotation(item)
            yield (*pattern, ITEM), KeyEntry(field, alternatives(item))
            yield from _walk(item, (*pattern, ITEM))


@cache
def catalogue() -> dict[Pattern, KeyEntry]:
    """Pattern of each key, `*` for a position in a list, to its entry; in the schema's order."""
    entries: dict[Pattern, KeyEntry] = {}
    for pattern, entry in _walk(Scenario, ()):
        earlier = entries.get(pattern)
        if earlier:
            entry = KeyEntry(
                earlier.field,
                earlier.alternatives + entry.alternatives,
                earlier.kinds + entry.kinds,
            )
        entries[pattern] = entry
    return entries


def pattern_of(path: KeyPath) -> Pattern:
    """The pattern of a path: its list positions become `*`."""
    return tuple(ITEM if isinstance(part, int) else part for part in path)


def entry_at(path: KeyPath) -> KeyEntry | None:
    """The entry of a path, None for a key that the schema does not know."""
    return catalogue().get(pattern_of(path))


def keys_in(path: KeyPath, kind: str | None = None) -> tuple[str, ...]:
    """The keys of the table at `path`; only those of its kind, if one is given."""
    parent = pattern_of(path)
    return tuple(
        pattern[-1]
        for pattern, entry in catalogue().items()
        if pattern[:-1] == parent
        and pattern[-1] != ITEM
        and (kind is None or not entry.kinds or kind in entry.kinds)
    )


def resolve(key: str) -> KeyPath | None:
    """The path of a dotted key such as "events.0.mass_t", None where the schema has no such key."""
    path: KeyPath = ()
    for part in key.split("."):
        is_item = part.isascii() and part.isdigit() and len(part) < 7
        path += (int(part),) if is_item else (part,)
        if entry_at(path) is None:
            return None
    return path


def words(entry: KeyEntry) -> tuple[str, ...]:
    """The words that a key may hold, if it holds one of a set."""
    literals = [a for a in entry.alternatives if get_origin(a) is Literal]
    return tuple(dict.fromkeys(word for literal in literals for word in get_args(literal)))
