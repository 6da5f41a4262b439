"""The folder of a study's finished tasks beside its result: marked as ours, locked, no more.

Nothing in it is trusted to be ours by its place: without the marker, or beside a file of another
name, the folder is refused before anything runs, and what is deleted is deleted file by file.
"""

from __future__ import annotations

import json
import os
import re
import stat
from pathlib import Path
from types import TracebackType

from rollsim.errors import MachineError, printable
from rollsim.store.disk import ELSEWHERE, refusal_of, replacing
from rollsim.store.lock import locked_file

MARKER = "rollsim-unfinished.txt"
MARK = "Finished runs of a study that goes on with the same rollsim command; deleted at its end.\n"
MANIFEST = "manifest.json"
SUFFIX = ".runs"
OURS = re.compile(r"manifest\.json|[\w-]+\.runs|\.[\w.-]+\.part", re.ASCII)
"""Names that the program gives to files in the folder, besides the marker."""


def unfinished_folder(result: Path) -> Path:
    """The folder of the unfinished runs of a result, after its whole name; links are followed."""
    real = result.resolve() if result.is_symlink() else result
    return real.with_name(f"{real.name}.unfinished")


class Unfinished:
    """The folder of a result's unfinished runs, held from before a run until its result stands.

    Files in it are named in ASCII and end in SUFFIX, besides the MANIFEST. `anew` throws away what
    an earlier run has left. A folder without any runs is taken away at the end.
    """

    def __init__(self, result: Path, *, anew: bool = False) -> None:
        """Name the folder; nothing is made yet."""
        self.path = unfinished_folder(result)
        self._anew = anew
        self._handle = -1

    def __enter__(self) -> Unfinished:
        """Make or open the folder and lock it; MachineError where it is not ours alone."""
        try:
            while self._handle < 0:
                self.path.parent.mkdir(parents=True, exist_ok=True)
                _require_ours(self.path)
                self._handle = locked_file(self.path / MARKER)
            if os.fstat(self._handle).st_size == 0:
                os.write(self._handle, MARK.encode())
            if self._anew:
                self._clear()
        except BlockingIOError as error:
            raise MachineError(
                f"{printable(str(self.path))}: another run is at work on the same runs\n"
                f"  wait until it has ended, or {ELSEWHERE}"
            ) from error
        except OSError as error:
            self._release()
            raise refusal_of(self.path, error) from error
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Give the folder back; without runs, it goes."""
        try:
            if not self.names():
                self.remove()
        finally:
            self._release()

    def names(self) -> list[str]:
        """The names of the files of runs, in order."""
        try:
            return sorted(name for name in os.listdir(self.path) if name.endswith(SUFFIX))
        except FileNotFoundError:
            return []

    def read(self, name: str) -> bytes | None:
        """The bytes of a file, None where there is none to read."""
        try:
            return (self.path / name).read_bytes()
        except OSError:
            return None

    def write(self, name: str, data: bytes) -> None:
        """Put a file on the disk, whole or not at all."""
        if not OURS.fullmatch(name):
            raise ValueError(f"{name!r} would not be known as a file of unfinished runs")
        with replacing(self.path / name) as part:
            part.write_bytes(data)

    def manifest(self) -> dict[str, str] | None:
        """What the runs belong to, None where it is not said; MachineError if that is no table."""
        data = self.read(MANIFEST)
        if data is None:
            return None
        try:
            held = json.loads(data)
        except (ValueError, RecursionError):
            held = None
        if not isinstance(held, dict):
            raise MachineError(
                f"{printable(str(self.path / MANIFEST))}: is no manifest of unfinished runs\n"
                "  begin anew with --replace"
            )
        return held

    def write_manifest(self, manifest: dict[str, str]) -> None:
        """Say what the runs belong to."""
        self.write(MANIFEST, json.dumps(manifest, indent=2).encode())

    def remove(self) -> None:
        """Delete what is ours, the marker last, and the folder if nothing is left in it.

        Where that is refused the result stands all the same, and the next run reads the runs again.
        """
        try:
            self._clear()
            (self.path / MARKER).unlink(missing_ok=True)
            self.path.rmdir()
        except OSError:
            return

    def _clear(self) -> None:
        # The manifest goes after the runs: they never stand without what they belong to.
        names = [name for name in os.listdir(self.path) if OURS.fullmatch(name)]
        for name in sorted(names, key=lambda name: name == MANIFEST):
            (self.path / name).unlink(missing_ok=True)

    def _release(self) -> None:
        if self._handle >= 0:
            os.close(self._handle)
            self._handle = -1


def _require_ours(folder: Path) -> None:
    """Make the folder if it is missing; MachineError where it holds anything that is not ours."""
    try:
        folder.mkdir()
    except FileExistsError:
        mode = folder.lstat().st_mode
        if not stat.S_ISDIR(mode):
            what = "a link" if stat.S_ISLNK(mode) else "a file"
            raise _not_ours(folder, f"{what} stands where unfinished runs go") from None
    with os.scandir(folder) as held:
        entries = {entry.name: entry.is_file(follow_symlinks=False) for entry in held}
    marked = entries.pop(MARKER, not entries)
    if marked and (folder / MARKER).exists():
        with (folder / MARKER).open("rb") as file:
            marked = MARK.encode().startswith(file.read(len(MARK) + 1))
    strange = sorted(n for n, plain in entries.items() if not (plain and OURS.fullmatch(n)))
    if not marked:
        raise _not_ours(folder, "unfinished runs go there, but that folder is not rollsim's")
    if strange:
        raise _not_ours(folder, f"holds {strange[0]!r}, which rollsim has not written")


def _not_ours(folder: Path, reason: str) -> MachineError:
    return MachineError(
        f"{printable(str(folder))}: {printable(reason)}\n  move it away, or {ELSEWHERE}"
    )
