"""A decay record as a text file: columns of time and angle, faults told with their row."""

from __future__ import annotations

import math
import os
import re
import stat
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import Fault, InputError

Floats = NDArray[np.float64]

MOST_BYTES = 100_000_000
MOST_ROWS = 2_000_000
MOST_FAULTS = 20
"""Faulty rows that are told one by one."""
LEAST_ROWS = 20
TIMES = re.compile(r"^(t|time|zeit|seconds?)\b|^time|^t_", re.I)
ANGLES = re.compile(r"roll_angle|^(phi|angle|roll|heel)", re.I)


@dataclass(frozen=True, eq=False)
class Record:
    """Time [s] and angle [rad] of a record, with the row of the file that each stands in."""

    time: Floats
    angle: Floats
    row: NDArray[np.int64]
    radians: bool = False

    def between(self, start: float, end: float) -> Record:
        """The part from `start` to `end` [s]."""
        inside = (self.time >= start) & (self.time <= end)
        return Record(self.time[inside], self.angle[inside], self.row[inside], self.radians)


def read_record(
    path: Path, columns: tuple[str, str] | None = None, *, radians: bool = False
) -> Record:
    """The record in a text file; InputError with the rows of all that is wrong.

    `columns` names time and angle by their headers or by their numbers from 1; where left out they
    are found by their headers, else the first two. Cells stand apart by commas, semicolons, tabs or
    blanks; lines that begin with # are passed over. Angles are degrees unless `radians`, or a
    header with "rad" in it, says otherwise.
    """
    name = os.fspath(path)
    lines = [
        (number, line)
        for number, line in enumerate(_text(path).splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) > MOST_ROWS:
        raise _refused(name, f"holds more than {MOST_ROWS:,} rows", "thin it out, or cut it")
    if not lines:
        raise _refused(name, "holds no rows", "a row for each moment: time in s, angle in degrees")
    split = _splitter(lines[-1][1])
    header = split(lines[0][1])
    named = any(_number(cell) is None for cell in header[:2]) and not _numbers(header)
    time, angle = _places(name, header if named else [], len(split(lines[-1][1])), columns)
    if named:
        title = header[angle].lower() if angle < len(header) else ""
        radians = radians or ("rad" in title and "deg" not in title)
        lines = lines[1:]
    return _checked(name, [(row, split(line)) for row, line in lines], (time, angle), radians)


def _text(path: Path) -> str:
    name = os.fspath(path)
    try:
        status = os.stat(path)
        if not stat.S_ISREG(status.st_mode):
            kind = "is a directory" if stat.S_ISDIR(status.st_mode) else "is not a regular file"
            raise _refused(name, kind, "name a text file of times and angles")
        if status.st_size > MOST_BYTES:
            hint = "a decay needs some hundred points a roll: thin it out"
            raise _refused(name, f"holds more than {MOST_BYTES // 1_000_000} MB", hint)
        data = path.read_bytes()
    except FileNotFoundError:
        raise _refused(name, "there is no such file") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _refused(name, f"cannot be read: {reason}") from None
    if b"\0" in data:
        raise _refused(name, "is a binary file", "a record is a text file of times and angles")
    return data.decode("utf-8-sig", errors="replace")


class _Splitter:
    """Cuts a line into cells; a comma is the decimal sign where something else stands between."""

    def __init__(self, mark: str | None) -> None:
        self._mark = mark

    def __call__(self, line: str) -> list[str]:
        cells = [cell.strip().strip('"') for cell in line.strip().split(self._mark)]
        return cells if self._mark == "," else [cell.replace(",", ".") for cell in cells]


def _splitter(line: str) -> _Splitter:
    return _Splitter(next((mark for mark in (";", "\t", ",") if mark in line), None))


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _numbers(cells: Sequence[str]) -> bool:
    """Whether any cell is a number: such a row is no header."""
    return any(_number(cell) is not None for cell in cells)


def _places(
    name: str, header: Sequence[str], width: int, columns: tuple[str, str] | None
) -> tuple[int, int]:
    """The places of time and angle among the columns."""
    if width < 2:
        hint = "two columns, apart by comma, semicolon, tab or blanks: time in s, angle in degrees"
        raise _refused(name, "has one column only", hint)
    if columns is None:
        times = [i for i, cell in enumerate(header) if TIMES.search(cell)]
        angles = [i for i, cell in enumerate(header) if ANGLES.search(cell)]
        time = times[0] if times else 0
        others = [i for i in angles if i != time]
        angle = others[0] if others else (1 if time == 0 else 0)
        if 0 < len(header) <= max(time, angle):
            problem = f"its header names {len(header)} of {width} columns"
            raise _refused(name, problem, "a name for each column, or take them by --columns")
        return time, angle
    first, second = (_place(name, header, width, each) for each in columns)
    return first, second


def _place(name: str, header: Sequence[str], width: int, column: str) -> int:
    if column in header:
        return header.index(column)
    if column.isdecimal() and 1 <= int(column) <= width:
        return int(column) - 1
    known = ", ".join(header) if header else "no header"
    hint = f"by its header ({known}) or by its number, 1 to {width}"
    raise InputError(name, [Fault("--columns", f"no such column: {column}", hint)])


def _checked(
    name: str, rows: Sequence[tuple[int, list[str]]], places: tuple[int, int], radians: bool
) -> Record:
    """The numbers of the rows; InputError with every row that is faulty."""
    faults: list[Fault] = []
    good: list[tuple[float, float, int]] = []
    last = -math.inf
    for row, cells in rows:
        problem, hint, time, angle = _values(cells, places)
        if not problem and time <= last:
            problem = f"time must grow from row to row, got {time:g} s after {last:g} s"
            hint = "sort the rows, take doubled ones out, or name the columns by --columns"
        if problem:
            faults.append(Fault("", problem, hint, row, 1))
            continue
        last = time
        good.append((time, angle, row))
    if faults:
        more = len(faults) - MOST_FAULTS
        faults = faults[:MOST_FAULTS]
        if more > 0:
            faults.append(Fault("", f"and {more} more faulty rows", "correct the first ones first"))
        raise InputError(name, faults)
    if len(good) < LEAST_ROWS:
        hint = "some hundred points over several rolls"
        raise _refused(name, f"holds {len(good)} rows, at least {LEAST_ROWS} are needed", hint)
    times, angles, numbers = (np.array(column) for column in zip(*good, strict=True))
    return Record(times, angles if radians else np.radians(angles), numbers, radians)


def _values(cells: Sequence[str], places: tuple[int, int]) -> tuple[str, str, float, float]:
    """What is wrong with a row and how to mend it, its time and its angle."""
    values: list[float] = []
    for what, place in zip(("time", "angle"), places, strict=True):
        cell = cells[place] if place < len(cells) else ""
        number = _number(cell)
        if number is None or not math.isfinite(number):
            got = f"got {cell!r}" if cell else "its cell is empty"
            return f"the {what} is no finite number, {got}", "take such rows out", 0.0, 0.0
        values.append(number)
    return "", "", values[0], values[1]


def _refused(name: str, problem: str, hint: str = "") -> InputError:
    return InputError(name, [Fault("", problem, hint)])
