"""A scenario file as text, refused in words where it is no plain text file."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from rollsim.errors import Fault, InputError

MOST_BYTES = 10_000_000
TEXT_HINT = "a scenario is a small text file in TOML"


def read_text(path: str | os.PathLike[str]) -> str:
    """The text of a scenario file; InputError for whatever is no plain text file."""
    name = os.fspath(path)
    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise _refused(name, "is a directory", "name a scenario file in it")
        if not stat.S_ISREG(status.st_mode):
            raise _refused(name, "is not a regular file", "save the scenario as a text file")
        if status.st_size > MOST_BYTES:
            raise _refused(name, f"holds more than {MOST_BYTES // 1_000_000} MB", TEXT_HINT)
        data = Path(path).read_bytes()
    except FileNotFoundError:
        raise _refused(name, "there is no such file", _beside(Path(path))) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _refused(name, f"cannot be read: {reason}") from None
    return _decoded(data, name)


def _refused(name: str, problem: str, hint: str = "") -> InputError:
    return InputError(name, [Fault("", problem, hint)])


def _beside(path: Path) -> str:
    """A hint that names the scenario files in the folder, if there are some."""
    try:
        others = sorted(other.name for other in path.parent.glob("*.toml"))
    except (OSError, ValueError):
        return ""
    return f"in that folder: {', '.join(others[:8])}" if others else ""


def _decoded(data: bytes, name: str) -> str:
    if b"\0" in data:
        raise _refused(name, "is a binary file", TEXT_HINT)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig", errors="replace")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        problem = f"is not UTF-8 text: byte 0x{data[error.start]:02x}"
        raise InputError(
            name, [Fault("", problem, "save the file as UTF-8", line, column)]
        ) from None
