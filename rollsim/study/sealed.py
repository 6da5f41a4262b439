"""Files of a folder of unfinished work under a checksum, and what that work belongs to.

A file counts only under its own name and for the very same scenario, command and versions; one
that is cut short, altered or of another study reads as empty.
"""

from __future__ import annotations

import hashlib
import platform
from importlib.metadata import version
from zipfile import BadZipFile

from rollsim.errors import MachineError
from rollsim.store.attributes import scenario_digest
from rollsim.store.unfinished import Unfinished

DIGEST_BYTES = 32
PACKAGES = ("rollsim", "numpy", "scipy", "numba")
UNREADABLE = (OSError, EOFError, ValueError, KeyError, TypeError, BadZipFile, NotImplementedError)
"""What reading arrays raises where the bytes hold something else."""


class Sealed:
    """The files of one study's unfinished work; `resumed`: whether some were there before.

    MachineError where the folder holds the work of another scenario, command or version.
    """

    def __init__(self, folder: Unfinished, text: str, command: str) -> None:
        self._folder = folder
        manifest = _manifest(text, command)
        self._study = repr(manifest).encode()
        earlier = folder.manifest()
        self.resumed = bool(folder.names())
        if earlier is not None and earlier != manifest and self.resumed:
            raise MachineError(
                f"{folder.path} holds the unfinished runs of another state of this study "
                f"({_difference(earlier, manifest)})\n"
                "  finish that one first, or begin anew with --replace"
            )
        if earlier != manifest:
            folder.write_manifest(manifest)

    def read(self, name: str) -> bytes:
        """What a file holds, nothing where it is not sound."""
        data = self._folder.read(name) or b""
        body = data[DIGEST_BYTES:]
        return body if self._digest(name, body) == data[:DIGEST_BYTES] else b""

    def write(self, name: str, body: bytes) -> None:
        """Put a file on the disk, whole or not at all."""
        self._folder.write(name, self._digest(name, body) + body)

    def _digest(self, name: str, body: bytes) -> bytes:
        digest = hashlib.sha256(self._study + name.encode())
        digest.update(body)
        return digest.digest()


def _manifest(text: str, command: str) -> dict[str, str]:
    """What must be the same for work to belong together."""
    versions = {package: version(package) for package in PACKAGES}
    return {
        "scenario_sha256": scenario_digest(text),
        "command": command,
        "machine": platform.machine(),
        **versions,
    }


def _difference(earlier: dict[str, str], manifest: dict[str, str]) -> str:
    names = [name for name in manifest if earlier.get(name) != manifest[name]]
    return "another scenario" if "scenario_sha256" in names else f"other {', '.join(names)}"
