"""Finished chunks on disk while a study runs, so that a kill at any moment loses none of them.

A folder beside the result: a manifest that names the scenario, and a file for every chunk, each
with a checksum of its own. A file that is cut short, altered or of another study is made again.
"""

from __future__ import annotations

import hashlib
import io
import json
import platform
import shutil
from importlib.metadata import version
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

from rollsim.engines.runs import HISTORIES, NUMBERS, Runs
from rollsim.errors import MachineError
from rollsim.store.disk import replacing
from rollsim.store.netcdf import scenario_digest
from rollsim.study.plan import Chunk, Plan

MANIFEST = "manifest.json"
DIGEST_BYTES = 32
PACKAGES = ("rollsim", "numpy", "scipy", "numba")
UNREADABLE = (OSError, EOFError, ValueError, KeyError, TypeError, BadZipFile, NotImplementedError)
"""What reading arrays raises where the bytes hold something else."""


class Shards:
    """The chunks of one study in `folder`; `resumed` tells whether some were there before."""

    def __init__(self, folder: Path, plan: Plan) -> None:
        self.folder = folder
        self.outputs = plan.times.size if plan.histories == "all" else 0
        manifest = _manifest(plan)
        self.study = repr(manifest).encode()
        found = _read_manifest(folder)
        self.resumed = any(folder.glob("*.runs"))
        if found is not None and found != manifest and self.resumed:
            raise MachineError(
                f"{folder} holds the unfinished runs of another state of this study "
                f"({_difference(found, manifest)})\n"
                "  finish that one first, or begin anew with --replace"
            )
        if found != manifest:
            folder.mkdir(parents=True, exist_ok=True)
            _write(folder / MANIFEST, json.dumps(manifest, indent=2).encode())

    def read(self, chunk: Chunk) -> Runs | None:
        """The runs of a chunk, None where they are not there or not sound."""
        try:
            data = self._path(chunk).read_bytes()
        except OSError:
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
        _write(self._path(chunk), self._digest(chunk, body) + body)

    def remove(self) -> None:
        """Delete the folder: the result holds everything."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _digest(self, chunk: Chunk, body: bytes) -> bytes:
        """Checksum of a chunk, its place and its study: its file counts nowhere else."""
        digest = hashlib.sha256(self.study + self._path(chunk).name.encode())
        digest.update(body)
        return digest.digest()

    def _fits(self, chunk: Chunk, runs: Runs) -> bool:
        count = chunk.last - chunk.first
        numbers = all(values.shape == (count,) for values in runs.numbers.values())
        return numbers and runs.histories.shape == (len(HISTORIES), count, self.outputs)

    def _path(self, chunk: Chunk) -> Path:
        return self.folder / f"{chunk.case:06d}-{chunk.first:09d}-{chunk.last:09d}.runs"


def shard_folder(result: Path) -> Path:
    """The folder of the unfinished runs of a result."""
    return result.with_name(f"{result.stem}.unfinished")


def _unpacked(body: bytes) -> Runs:
    """Runs from the bytes of their arrays; whatever these hold, none of it is executed."""
    with np.load(io.BytesIO(body), allow_pickle=False) as held:
        numbers = {name: held[name] for name in NUMBERS}
        numbers["message"] = numbers["message"].astype(object)
        return Runs(numbers, held["histories"])


def _write(path: Path, data: bytes) -> None:
    with replacing(path) as part:
        part.write_bytes(data)


def _manifest(plan: Plan) -> dict[str, str]:
    """What must be the same for runs to belong together."""
    found = {package: version(package) for package in PACKAGES}
    return {
        "scenario_sha256": scenario_digest(plan.study.text),
        "machine": platform.machine(),
        **found,
    }


def _read_manifest(folder: Path) -> dict[str, str] | None:
    try:
        held = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:
        raise MachineError(
            f"{folder} holds no readable manifest of unfinished runs: {error}\n"
            "  begin anew with --replace"
        ) from error
    return dict(held)


def _difference(found: dict[str, str], wanted: dict[str, str]) -> str:
    names = [name for name in wanted if found.get(name) != wanted[name]]
    return "another scenario" if "scenario_sha256" in names else f"other {', '.join(names)}"
