"""Finished chunks on disk while a study runs, so that a kill at any moment loses none of them.

A folder beside the result: a manifest that names the scenario, and a file for every chunk, each
with a checksum of its own. A file that is cut short, altered or of another study is made again.
"""

from __future__ import annotations

import hashlib
import io
import platform
from importlib.metadata import version
from typing import Any
from zipfile import BadZipFile

import numpy as np

from rollsim.batch.plan import Chunk, Plan
from rollsim.batch.runs import HISTORIES, NUMBERS, Runs
from rollsim.errors import MachineError
from rollsim.store.netcdf import scenario_digest
from rollsim.store.unfinished import SUFFIX, Unfinished

DIGEST_BYTES = 32
PACKAGES = ("rollsim", "numpy", "scipy", "numba")
UNREADABLE = (OSError, EOFError, ValueError, KeyError, TypeError, BadZipFile, NotImplementedError)
"""What reading arrays raises where the bytes hold something else."""


class Shards:
    """The chunks of one study in `folder`; `resumed` tells whether some were there before."""

    def __init__(self, folder: Unfinished, plan: Plan) -> None:
        self.folder = folder
        self.outputs = plan.times.size if plan.histories == "all" else 0
        manifest = _manifest(plan)
        self.study = repr(manifest).encode()
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

    def read(self, chunk: Chunk) -> Runs | None:
        """The runs of a chunk, None where they are not there or not sound."""
        data = self.folder.read(_name(chunk))
        if data is None:
            return None
        body = data[DIGEST_BYTES:]
        if self._digest(chunk, body) != data[:DIGEST_BYTES]:
            return None
        try:
            runs = _unpacked(body)
        except UNREADABLE:
            return None
        return runs if self._fits(chunk, runs) else None

    def write(self, chunk: Chunk, runs: Runs) -> None:
        """Put the runs of a chunk on the disk, whole or not at all."""
        buffer = io.BytesIO()
        numbers = dict(runs.numbers, message=runs.numbers["message"].astype(np.str_))
        arrays: dict[str, Any] = {"histories": runs.histories, **numbers}
        np.savez(buffer, **arrays)
        body = buffer.getvalue()
        self.folder.write(_name(chunk), self._digest(chunk, body) + body)

    def _digest(self, chunk: Chunk, body: bytes) -> bytes:
        """Checksum of a chunk, its place and its study: its file counts nowhere else."""
        digest = hashlib.sha256(self.study + _name(chunk).encode())
        digest.update(body)
        return digest.digest()

    def _fits(self, chunk: Chunk, runs: Runs) -> bool:
        count = chunk.last - chunk.first
        numbers = all(values.shape == (count,) for values in runs.numbers.values())
        return numbers and runs.histories.shape == (len(HISTORIES), count, self.outputs)


def _name(chunk: Chunk) -> str:
    """The name of a chunk's file."""
    return f"{chunk.case:06d}-{chunk.first:09d}-{chunk.last:09d}{SUFFIX}"


def _unpacked(body: bytes) -> Runs:
    """Runs from the bytes of their arrays; whatever these hold, none of it is executed."""
    with np.load(io.BytesIO(body), allow_pickle=False) as held:
        numbers = {name: held[name] for name in NUMBERS}
        numbers["message"] = numbers["message"].astype(object)
        return Runs(numbers, held["histories"])


def _manifest(plan: Plan) -> dict[str, str]:
    """What must be the same for runs to belong together."""
    found = {package: version(package) for package in PACKAGES}
    return {
        "scenario_sha256": scenario_digest(plan.study.text),
        "machine": platform.machine(),
        **found,
    }


def _difference(found: dict[str, str], wanted: dict[str, str]) -> str:
    names = [name for name in wanted if found.get(name) != wanted[name]]
    return "another scenario" if "scenario_sha256" in names else f"other {', '.join(names)}"
