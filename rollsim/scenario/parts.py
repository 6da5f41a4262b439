"""What of a scenario did parse, so that cross-checks run over the sound part of a faulty file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from operator import attrgetter
from typing import Any, get_args, get_origin

from pydantic import BaseModel, TypeAdapter

from rollsim.scenario.catalogue import alternatives, is_model, key_of, kind_of
from rollsim.scenario.positions import KeyPath
from rollsim.scenario.schema import Scenario


class UnparsedError(Exception):
    """A check asked for something that did not parse: the check is left out."""


@dataclass(frozen=True)
class Parts:
    """A scenario, whole or with faults at the paths `bad`: parts("ship.gravity.kg_m") and so on."""

    whole: Scenario | None
    raw: dict[str, Any]
    bad: tuple[KeyPath, ...] = ()

    def __call__(self, key: str) -> Any:
        """The value at a dotted key, its default where it is left out; UnparsedError if faulty."""
        if self.whole is not None:  # the usual case, once for each check of each case: in C
            return _getter(key)(self.whole)
        return self.at(split(key))

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


def _followed(value: Any, path: KeyPath) -> Any:
    for part in path:
        if value is None:
            return None
        is_item = isinstance(value, dict | tuple)
        value = value[part] if is_item else getattr(value, str(part))
    return value


@cache
def _adapter(annotation: Any) -> TypeAdapter[Any]:
    return TypeAdapter(annotation)


def _parsed(annotation: Any, raw: Any, path: KeyPath) -> Any:
    """The value at `path` below `raw`, parsed as the schema's type for it."""
    if not path:
        return _adapter(annotation).validate_python(raw)
    part, *rest = path
    if isinstance(part, int):
        item = get_args(alternatives(annotation)[0])[0]
        return _parsed(item, raw[part], tuple(rest))
    if get_origin(alternatives(annotation)[0]) is dict:
        return _parsed(get_args(annotation)[1], raw[part], tuple(rest))
    model = _chosen(annotation, raw)
    field = next(f for name, f in model.model_fields.items() if key_of(name, f) == part)
    if part not in raw:
        return _followed(field.get_default(), tuple(rest))
    return _parsed(field.annotation, raw[part], tuple(rest))


def _chosen(annotation: Any, raw: dict[str, Any]) -> type[BaseModel]:
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
