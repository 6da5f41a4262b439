"""Columns of text as tables at any width: whole where they fit, else cut into several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions, RenderableType
    from rich.table import Table

GAP = 2


@dataclass(frozen=True)
class Column:
    """A column as text; words stand to the left and may be folded, numbers to the right."""

    header: str
    cells: Sequence[str]
    words: bool = False

    @property
    def width(self) -> int:
        """The characters it needs: the header breaks at its blanks, words fold at 24."""
        from rich.cells import cell_len

        widest = max((cell_len(cell) for cell in self.cells), default=0)
        header = max(cell_len(word) for word in self.header.split(" "))
        return max(min(widest, 24) if self.words else widest, min(header, 24))


@dataclass(frozen=True)
class Split:
    """One table where the width allows it, else several, each with the columns of `key`.

    `groups` are never torn apart unless one alone is wider than the terminal; then of the key
    only its first column stays.
    """

    key: Sequence[Column]
    groups: Sequence[Sequence[Column]]

    def __rich_console__(
        self, console: Console, options: ConsoleOptions
    ) -> Iterator[RenderableType]:
        """The tables for a console, one below the other."""
        for i, columns in enumerate(self.packed(options.max_width)):
            if i:
                yield ""
            yield _table(columns)

    def packed(self, width: int) -> list[list[Column]]:
        """The columns of each table, at most `width` characters wide where that can be."""
        tables: list[list[Column]] = []
        for group in self.groups:
            if tables and _width([*tables[-1], *group]) <= width:
                tables[-1].extend(group)
            elif _width([*self.key, *group]) <= width:
                tables.append([*self.key, *group])
            else:
                tables += _torn([self.key[0]], group, width)
        return tables


def _torn(key: list[Column], group: Sequence[Column], width: int) -> list[list[Column]]:
    """A group too wide for one table, over as many as it takes."""
    tables = [list(key)]
    for column in group:
        if len(tables[-1]) > len(key) and _width([*tables[-1], column]) > width:
            tables.append(list(key))
        tables[-1].append(column)
    return tables


def _width(columns: Sequence[Column]) -> int:
    return sum(column.width + GAP for column in columns) - GAP


def _table(columns: Sequence[Column]) -> Table:
    """The columns as a plain table; texts are never read as markup."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for column in columns:
        table.add_column(
            Text(column.header),
            justify="left" if column.words else "right",
            vertical="top",
            width=column.width,
            overflow="fold",
        )
    for cells in zip(*(column.cells for column in columns), strict=True):
        table.add_row(*(Text(cell) for cell in cells))
    return table
