"""What all tables of the scenario file share: strict types, and tags for values of two types."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, InstanceOf

from rollsim.scenario.text.beside import NamedFile

WORD_TAG, NUMBER_TAG, LIST_TAG = "word", "number", "list"


def word_or_number(value: Any) -> str:
    """The tag of a value that may be a word or a number."""
    return WORD_TAG if isinstance(value, str) else NUMBER_TAG


File = Annotated[NamedFile, InstanceOf()]
"""The name of a file beside the scenario, which carries its text."""


class Table(BaseModel):
    """A table of the file: strict types, no unknown keys, finite numbers, never changed."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
