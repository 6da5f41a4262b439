"""A scenario file as text, refused in words where it is no plain text file."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from pathlib import Path

from rollsim.errors import Fault, InputError

MOST_BYTES = 10_000_000
TEXT_HINT = "a scenario is a small text file in TOML"


def read_text(
    path: str | os.PathLike[str],
    most: int = MOST_BYTES,
    hint: str = TEXT_HINT,
    missing: Callable[[], str] | None = None,
) -> str:
    """The text of a scenario file; InputError for whatever is no plain text file.

    `most` bytes are read; `hint` says what the file should be, `missing` what to do where there is
    none, by default what other scenarios lie there.
    """
    name = os.fspath(path)
    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise _refused(name, "is a directory", "name a scenario file in it")
        if not stat.S_ISREG(status.st_mode):
            raise _refused(name, "is not a regular file", "save it as a text file")
        if status.st_size > most:
            raise _refused(name, f"holds more than {most // 1_000_000} MB", hint)
        data = Path(path).read_bytes()
    except FileNotFoundError:
        other = missing() if missing else _beside(Path(path))
        raise _refused(name, "there is no such file", other) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _refused(name, f"cannot be read: {reason}") from None
    return _decoded(data, name, hint)


def _refused(name: str, problem: str, hint: str = "") -> InputError:
    return InputError(name, [Fault("", problem, hint)])


def _beside(path: Path) -> str:
    """A hint that names the scenario files in the folder, if there are some."""
    try:
        others = sorted(other.name for other in path.parent.glob("*.toml"))
    except (OSError, ValueError):
        return ""
    return f"in that folder: {', '.join(others[:8])}" if others else ""


def _decoded(data: bytes, name: str, hint: str) -> str:
    if b"\0" in data:
        raise _refused(name, "is a binary file", hint)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig", errors="replace")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        problem = f"is not UTF-8 text: byte 0x{data[error.start]:02x}"
        raise InputError(
            name, [Fault("", problem, "save the file as UTF-8", line, column)]
        ) from None
