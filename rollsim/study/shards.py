"""Finished tasks on disk while a study runs, so that a kill at any moment loses none of them.

A file for every task, that is for some chunks: which chunks it holds, and their arrays, under a
checksum. A file that is cut short, altered or of another study is made again.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from typing import Any

import numpy as np

from rollsim.engines.runs import HISTORIES, NUMBERS, Runs, joined
from rollsim.store.unfinished import SUFFIX, Unfinished
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk
from rollsim.study.sealed import DIGEST_BYTES, UNREADABLE, Sealed

Done = tuple[Chunk, Runs]


class Shards:
    """The finished chunks of one study in `folder`; `resumed`: whether some were there before."""

    def __init__(self, folder: Unfinished, plan: Plan) -> None:
        self.folder = folder
        self._outputs = plan.outputs
        self._sealed = Sealed(folder, plan.study.text, "run")
        self.resumed = self._sealed.resumed
        self._files = self._index()
        self._opened: tuple[str, dict[str, Runs]] = "", {}

    def read(self, chunk: Chunk, outputs: int | None = None) -> Runs | None:
        """The runs of a chunk, None where they are not there or not sound.

        `outputs` points of histories must they have, by default as the plan keeps them.
        """
        name = self._files.get(chunk.name)
        if name is None:
            return None
        if self._opened[0] != name:
            self._opened = name, self._held(name)
        runs = self._opened[1].get(chunk.name)
        wanted = self._outputs if outputs is None else outputs
        return runs if runs is not None and _fits(chunk, runs, wanted) else None

    def write(self, done: Sequence[Done]) -> None:
        """Put the finished chunks of a task on the disk, whole or not at all."""
        names, sizes = [chunk.name for chunk, _ in done], [len(chunk) for chunk, _ in done]
        runs = joined([runs for _, runs in done])
        buffer = io.BytesIO()
        numbers = dict(runs.numbers, message=runs.numbers["message"].astype(np.str_))
        arrays: dict[str, Any] = {"histories": runs.histories, "sizes": sizes, **numbers}
        np.savez(buffer, **arrays)
        head = " ".join(names).encode()
        body = head + b"\n" + buffer.getvalue()
        name = f"{hashlib.sha256(head).hexdigest()[:32]}{SUFFIX}"
        self._sealed.write(name, body)
        self._opened = "", {}

    def _index(self) -> dict[str, str]:
        """From the name of a chunk to the file that says it holds it."""
        files: dict[str, str] = {}
        for name in self.folder.names():
            with (self.folder.path / name).open("rb") as file:
                file.seek(DIGEST_BYTES)
                head = file.readline()
            files |= dict.fromkeys(head.decode("ascii", errors="replace").split(), name)
        return files

    def _held(self, name: str) -> dict[str, Runs]:
        """The chunks of a file by their names; none where it is not sound."""
        head, _, arrays = self._sealed.read(name).partition(b"\n")
        try:
            return dict(zip(head.decode("ascii").split(), _unpacked(arrays), strict=True))
        except UNREADABLE:
            return {}


def _fits(chunk: Chunk, runs: Runs, outputs: int) -> bool:
    count = len(chunk)
    numbers = all(values.shape == (count,) for values in runs.numbers.values())
    return numbers and runs.histories.shape == (len(HISTORIES), count, outputs)


def _unpacked(arrays: bytes) -> list[Runs]:
    """Runs by chunk from the bytes of their arrays; whatever these hold, none of it is executed."""
    with np.load(io.BytesIO(arrays), allow_pickle=False) as stored:
        numbers = {name: stored[name] for name in NUMBERS}
        numbers["message"] = numbers["message"].astype(object)
        ends = np.cumsum(stored["sizes"])[:-1]
        parts = {name: np.split(values, ends) for name, values in numbers.items()}
        histories = np.split(stored["histories"], ends, axis=1)
    return [
        Runs({name: values[i] for name, values in parts.items()}, kept)
        for i, kept in enumerate(histories)
    ]
