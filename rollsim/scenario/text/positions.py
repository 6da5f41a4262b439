"""Line and column of every key and value of a TOML text that tomllib has accepted.

tomllib tells no positions; this scanner finds them, and is used only once something is wrong. It
may trust that the text is valid TOML, and so looks only for where things begin and end.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from typing import NamedTuple

KeyPath = tuple[str | int, ...]
"""A key of the file as its parts; a number is the position in a list, from 0."""

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_STRING = re.compile(
    r'"""[^"\\]*+(?:(?:\\.|"(?!""))[^"\\]*+)*+"{3,5}'
    r"|'''[^']*+(?:'(?!'')[^']*+)*+'{3,5}"
    r'|"[^"\\]*+(?:\\.[^"\\]*+)*+"'
    r"|'[^']*+'",
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}#\r\n]*")


class Position(NamedTuple):
    """Where a value (or a table's header) begins, and where its key does; both from 1."""

    line: int
    column: int
    key_line: int
    key_column: int


def positions(text: str) -> dict[KeyPath, Position]:
    """The place of every table, key and list item of `text`, by its path."""
    return _Scanner(text).run()


def missing_place(places: dict[KeyPath, Position], path: KeyPath) -> Position:
    """The place of the nearest table above `path` that is there; the first line for the file."""
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            return places[path[:length]]
    return Position(1, 1, 1, 1)


class _Scanner:
    """One pass over the text; `at` is where it stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places: dict[KeyPath, Position] = {}
        self.list_length: dict[KeyPath, int] = {}
        self.line_starts = [0, *(m.end() for m in re.finditer("\n", text))]

    def run(self) -> dict[KeyPath, Position]:
        table: KeyPath = ()
        while self.skip(_BLANK) < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
        return self.places

    def skip(self, pattern: re.Pattern[str]) -> int:
        """Step over `pattern`, which may match nothing."""
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return self.at

    def note(self, path: KeyPath, value: int, key: int) -> None:
        """Keep the place of `path`, unless an earlier one is known."""
        if path not in self.places:
            line = bisect_right(self.line_starts, value)
            key_line = bisect_right(self.line_starts, key)
            self.places[path] = Position(
                line,
                value - self.line_starts[line - 1] + 1,
                key_line,
                key - self.line_starts[key_line - 1] + 1,
            )

    def header(self) -> KeyPath:
        """Read [a.b] or [[a.b]]; the path of the table that it opens."""
        begin = self.at
        of_list = self.text.startswith("[[", begin)
        self.at += 2 if of_list else 1
        keys = self.dotted()
        self.at += 2 if of_list else 1
        path: KeyPath = ()
        for index, (name, _) in enumerate(keys):
            path += (name,)
            last = index == len(keys) - 1
            if last and not of_list:  # the table's own header outdoes one that only implies it
                self.places.pop(path, None)
            self.note(path, begin, begin)
            if path in self.list_length or (last and of_list):
                count = self.list_length.get(path, 0) + (last and of_list)
                self.list_length[path] = count
                path += (count - 1,)
                self.note(path, begin, begin)
        return path

    def dotted(self) -> list[tuple[str, int]]:
        """Read a dotted key: its parts, each with where it begins."""
        parts = []
        while True:
            begin = self.skip(_SPACE)
            if self.text[begin] in "\"'":
                self.skip(_STRING)
                name = next(iter(tomllib.loads(f"{self.text[begin : self.at]} = 0")))
            else:
                name = self.text[begin : self.skip(_BARE_KEY)]
            parts.append((name, begin))
            self.skip(_SPACE)
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def pair(self, table: KeyPath) -> None:
        """Read key = value into `table`."""
        keys = self.dotted()
        self.at += 1
        value = self.skip(_SPACE)
        path = table
        for name, begin in keys[:-1]:
            path += (name,)
            self.note(path, begin, begin)
        self.value((*path, keys[-1][0]), value, keys[-1][1])

    def value(self, path: KeyPath, begin: int, key: int) -> None:
        """Read the value at `begin`, the items of a list and the keys of a table with it."""
        self.note(path, begin, key)
        first = self.text[begin]
        if first == "[":
            self.items(path)
        elif first == "{":
            self.pairs(path)
        elif first in "\"'":
            self.skip(_STRING)
        else:  # always onwards: what is no value here must not be looked at for ever
            self.at = max(self.skip(_SCALAR), begin + 1)

    def items(self, path: KeyPath) -> None:
        self.at += 1
        index = 0
        while self.text[self.skip(_BLANK)] != "]":
            if self.text[self.at] == ",":
                self.at += 1
            else:
                self.value((*path, index), self.at, self.at)
                index += 1
        self.at += 1

    def pairs(self, path: KeyPath) -> None:
        self.at += 1
        while self.text[self.skip(_BLANK)] != "}":
            if self.text[self.at] == ",":
                self.at += 1
            else:
                self.pair(path)
        self.at += 1
