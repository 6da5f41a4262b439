"""Records as people have them: headers, marks between cells, and rows that are wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rollsim.decay.record import read_record
from rollsim.errors import InputError

TIMES = np.arange(0.0, 4.0, 0.1)
ANGLES = np.round(20.0 * np.cos(TIMES), 3)


def lines(mark: str = ",", comma: bool = False) -> list[str]:
    """The rows of a record, with a decimal comma where wanted."""
    each = [f"{time:.1f}{mark}{angle:.3f}" for time, angle in zip(TIMES, ANGLES, strict=True)]
    return [row.replace(".", ",") for row in each] if comma else each


def file(folder: Path, *rows: str) -> Path:
    path = folder / "decay.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "rows",
    [
        lines(),
        ["time_s,roll_deg", *lines()],
        ["# a ship", "", "t [s];phi [deg]", *lines(";")],
        ["Time\tAngle", *lines("\t", comma=True)],
        lines(";", comma=True),
        lines("   "),
        ["\ufefftime,angle", *lines()],
    ],
)
def test_records_are_read_as_people_write_them(rows: list[str], tmp_path: Path) -> None:
    record = read_record(file(tmp_path, *rows))
    assert record.time == pytest.approx(TIMES)
    assert np.degrees(record.angle) == pytest.approx(ANGLES)


def test_columns_are_found_by_their_headers(tmp_path: Path) -> None:
    rows = [f"7,{row.split(',')[1]},{row.split(',')[0]}" for row in lines()]
    path = file(tmp_path, "n,roll_angle_deg,t_s", *rows)
    assert read_record(path).time == pytest.approx(TIMES)
    by_name = read_record(path, ("t_s", "roll_angle_deg"))
    by_number = read_record(path, ("3", "2"))
    assert by_name.angle == pytest.approx(by_number.angle)


def test_radians_are_said_or_found(tmp_path: Path) -> None:
    path = file(tmp_path, "time,angle_rad", *lines())
    assert read_record(path).angle == pytest.approx(ANGLES)
    plain = file(tmp_path, *lines())
    assert read_record(plain, radians=True).angle == pytest.approx(ANGLES)


FAULTY = {
    "nan": (5, "0.5,nan", r"decay.csv:6:1: the angle is no finite number, got 'nan'"),
    "words": (5, "0.5,calm", r"decay.csv:6:1: the angle is no finite number, got 'calm'"),
    "empty": (5, "0.5,", r"decay.csv:6:1: the angle is no finite number, its cell is empty"),
    "short": (5, "0.5", r"decay.csv:6:1: the angle .*its cell is empty"),
    "back": (5, "0.3,1.0", r"decay.csv:6:1: time must grow from row to row, got 0.3 s after 0.4 s"),
    "twice": (5, "0.4,1.0", r"decay.csv:6:1: time must grow"),
    "infinite": (5, "inf,1.0", r"decay.csv:6:1: the time is no finite number, got 'inf'"),
}


@pytest.mark.parametrize("name", FAULTY)
def test_faulty_rows_are_told_with_their_row(name: str, tmp_path: Path) -> None:
    at, row, words = FAULTY[name]
    rows = lines()
    rows[at] = row
    with pytest.raises(InputError, match=words):
        read_record(file(tmp_path, *rows))


def test_all_faulty_rows_are_told_up_to_a_score(tmp_path: Path) -> None:
    rows = ["time,angle", *(row.split(",")[0] + ",x" for row in lines())]
    with pytest.raises(InputError, match="and 20 more faulty rows") as caught:
        read_record(file(tmp_path, *rows))
    assert len(caught.value.faults) == 21


def test_files_that_are_no_record(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such file"):
        read_record(tmp_path / "none.csv")
    with pytest.raises(InputError, match="is a directory"):
        read_record(tmp_path)
    with pytest.raises(InputError, match="holds no rows"):
        read_record(file(tmp_path, "# nothing"))
    with pytest.raises(InputError, match="has one column only"):
        read_record(file(tmp_path, *(row.split(",")[0] for row in lines())))
    with pytest.raises(InputError, match="holds 5 rows, at least 20 are needed"):
        read_record(file(tmp_path, *lines()[:5]))
    binary = tmp_path / "a.csv"
    binary.write_bytes(b"\x00\x01")
    with pytest.raises(InputError, match="is a binary file"):
        read_record(binary)
    with pytest.raises(InputError, match="no such column: roll"):
        read_record(file(tmp_path, "time,angle", *lines()), ("time", "roll"))


def test_a_header_that_names_too_few_columns(tmp_path: Path) -> None:
    path = file(tmp_path, "time", *lines())
    with pytest.raises(InputError, match="header names 1 of 2 columns\n  a name for each"):
        read_record(path)
    assert read_record(path, ("1", "2")).angle == pytest.approx(np.radians(ANGLES))


def test_a_huge_file_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = file(tmp_path, *lines())
    monkeypatch.setattr("rollsim.decay.record.MOST_BYTES", 100)
    with pytest.raises(InputError, match="holds more than 0 MB"):
        read_record(path)
    monkeypatch.setattr("rollsim.decay.record.MOST_BYTES", 10_000)
    monkeypatch.setattr("rollsim.decay.record.MOST_ROWS", 30)
    with pytest.raises(InputError, match="holds more than 30 rows"):
        read_record(path)
