"""What a report is made of, as plain values; the template alone makes HTML of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from markupsafe import Markup

from rollsim.show.tables.columns import Column

ACROSS = 6
"""So many cases stand beside each other as columns; more stand below each other."""


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of text."""

    text: str
    kind: ClassVar[str] = "paragraph"


@dataclass(frozen=True)
class Heading:
    """A heading within a section."""

    text: str
    kind: ClassVar[str] = "heading"


@dataclass(frozen=True)
class Items:
    """A list of sentences."""

    items: Sequence[str]
    kind: ClassVar[str] = "items"


@dataclass(frozen=True)
class Table:
    """A table; words stand to the left, numbers to the right.

    `same` is what goes on after the caption: what all cases have alike.
    """

    caption: str
    columns: Sequence[Column]
    same: str = ""
    kind: ClassVar[str] = "table"

    @property
    def headers(self) -> list[str]:
        """The names of the columns."""
        return [column.header for column in self.columns]

    @property
    def words(self) -> list[bool]:
        """Of every column whether it holds words."""
        return [column.words for column in self.columns]

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """The cells, row by row."""
        return list(zip(*(column.cells for column in self.columns), strict=True))


@dataclass(frozen=True)
class Picture:
    """A picture, drawn here, with its caption; a `tall` one has more of a sheet."""

    svg: Markup
    caption: str
    tall: bool = False
    kind: ClassVar[str] = "picture"


@dataclass(frozen=True)
class Verbatim:
    """A text of a file as it stands there, folded away until it is wanted."""

    summary: str
    text: str
    kind: ClassVar[str] = "verbatim"

    @property
    def lines(self) -> list[str]:
        """Its lines."""
        return self.text.splitlines()


Block = Paragraph | Heading | Items | Table | Picture | Verbatim


@dataclass(frozen=True)
class Section:
    """A part of the report with its heading."""

    heading: str
    blocks: Sequence[Block]


NAMES = frozenset({"case", "condition", "loading"})
"""Columns of a key that hold names; all others are places on an axis."""


def _called(column: Column) -> list[str]:
    """The cells of a column as parts of a name: a place with its axis and unit, "KG 5.2 m"."""
    if column.header in NAMES:
        return list(column.cells)
    axis, _, unit = column.header.rstrip("]").partition(" [")
    after = unit if unit in ("", "°", "%") else f" {unit}"
    return [f"{axis} {cell}{after}" for cell in column.cells]


def by_case(caption: str, key: Sequence[Column], columns: Sequence[Column]) -> Table:
    """The numbers of cases: few cases beside each other, many below each other.

    Of cases beside each other what is the same in all is told once, in the caption.

    `key` says which case a row is, `columns` are the numbers, one row a case.
    """
    names = [" · ".join(cells) for cells in zip(*map(_called, key), strict=True)]
    if not 1 < len(names) <= ACROSS:
        return Table(caption, [*key, *columns])
    differing = [column for column in columns if len(set(column.cells)) > 1] or columns
    alike = [f"{column.header} {column.cells[0]}" for column in columns if column not in differing]
    same = f"The same in all: {'; '.join(alike)}." if alike else ""
    quantities = Column("", [column.header for column in differing], words=True)
    cases = [
        Column(name, [column.cells[i] for column in differing]) for i, name in enumerate(names)
    ]
    return Table(caption, [quantities, *cases], same)
