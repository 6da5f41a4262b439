"""The animation's figures as rows of the table."""

from __future__ import annotations

from collections.abc import Iterator

from tests.bench import animation
from tests.bench.table import Row


def rows() -> Iterator[Row]:
    """How many times less CPU than matplotlib's own writer, encoder counted on both sides."""
    for name, ratio, note in animation.rows():
        print(f"  {name}: {note}")
        yield Row(name, ratio, "", least=10)
