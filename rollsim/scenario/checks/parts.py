"""What of a scenario did parse, so that cross-checks run over the sound part of a faulty file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from operator import attrgetter
from typing import Any, get_args, get_origin

from pydantic import BaseModel, TypeAdapter

from rollsim.scenario.schema.catalogue import alternatives, is_model, key_of, kind_of
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.positions import KeyPath


class UnparsedError(Exception):
    """A check needs something that did not parse: the check is left out."""


@dataclass(frozen=True)
class Parts:
    """A scenario, whole or with faults at the paths `bad`: parts("ship.gravity.kg_m") and so on.

    `base_gm` [m] is the base file's, None where levers or gravity have faults. `reads`, where it
    is a set, notes every key that a check reads.
    """

    whole: Scenario | None
    raw: dict[str, Any]
    bad: tuple[KeyPath, ...] = ()
    base_gm: float | None = None
    reads: set[KeyPath] | None = field(default=None, compare=False)

    def __call__(self, key: str) -> Any:
        """The value at a dotted key, its default where it is left out; UnparsedError if faulty."""
        if self.reads is not None:
            self.reads.add(split(key))
        if self.whole is not None:  # the usual case, once for each check of each case: in C
            return _getter(key)(self.whole)
        return self.at(split(key))

    def given(self, key: str) -> bool:
        """Whether a key or table is there at all, sound or not; its own table must be."""
        path = split(key)
        if self.reads is not None:
            self.reads.add(path)
        if self.whole is not None:
            return _followed(self.whole, path) is not None
        here: Any = self.raw
        for part in path[:-1]:
            here = here.get(part)
            if not isinstance(here, dict):
                raise UnparsedError(path)
        return path[-1] in here

    def at(self, path: KeyPath) -> Any:
        """The value at a path, which may hold positions in lists and keys with dots."""
        if self.whole is not None:
            return _followed(self.whole, path)
        for bad in self.bad:
            if bad[: len(path)] == path[: len(bad)]:
                raise UnparsedError(path)
        return _parsed(Scenario, self.raw, path)


@cache
def _getter(key: str) -> Callable[[Scenario], Any]:
    return attrgetter(key)


@cache
def split(key: str) -> KeyPath:
    """A dotted key of the schema as a path."""
    return tuple(int(part) if part.isdigit() else part for part in key.split("."))


def overlap(one: KeyPath, other: KeyPath) -> bool:
    """Whether one of two paths lies within the other."""
    return all(a == b for a, b in zip(one, other, strict=False))


def _followed(value: Any, path: KeyPath) -> Any:
    for part in path:
        if value is None:
            return None
        is_item = isinstance(value, dict | tuple)
        value = value[part] if is_item else getattr(value, str(part))
    return value


@cache
def adapter(annotation: Any) -> TypeAdapter[Any]:
    """What validates a value of a type of the schema."""
    return TypeAdapter(annotation)


def _parsed(annotation: Any, raw: Any, path: KeyPath) -> Any:
    """The value at `path` below `raw`, parsed as the schema's type for it."""
    if not path:
        return adapter(annotation).validate_python(raw)
    part, *rest = path
    if isinstance(part, int):
        return _parsed(item_of(annotation), raw[part], tuple(rest))
    if get_origin(alternatives(annotation)[0]) is dict:
        return _parsed(get_args(annotation)[1], raw[part], tuple(rest))
    key_field = field_of(chosen(annotation, raw), part)
    if part not in raw:
        return _followed(key_field.get_default(), tuple(rest))
    return _parsed(key_field.annotation, raw[part], tuple(rest))


def item_of(annotation: Any) -> Any:
    """The type of the items of a list."""
    return get_args(alternatives(annotation)[0])[0]


def field_of(model: type[BaseModel], key: str) -> Any:
    """The field of a model that a key of the file names."""
    return next(f for name, f in model.model_fields.items() if key_of(name, f) == key)


def chosen(annotation: Any, raw: dict[str, Any]) -> type[BaseModel]:
    """The model of a union that the kind in `raw` names."""
    models: list[type[BaseModel]] = [
        choice for choice in alternatives(annotation) if is_model(choice)
    ]
    if len(models) == 1:
        return models[0]
    for model in models:
        if kind_of(model) == raw.get("kind"):
            return model
    raise UnparsedError
