"""The unit of work: runs of cases that differ in their start alone, made by one engine."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import RunList

Numbers = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Chunk:
    """Runs that one engine makes together: that of the case `lead`; `case` (n,) is whose each is.

    Where nothing is random a run of a case serves for all its realisations.
    """

    lead: int
    case: Numbers
    runs: RunList

    def __len__(self) -> int:
        return self.runs.size

    @cached_property
    def name(self) -> str:
        """What tells these runs from all others of a study: the same runs have the same name."""
        digest = hashlib.sha256(self.lead.to_bytes(8, "little"))
        for values in (self.case, *self.runs):
            digest.update(np.ascontiguousarray(values).tobytes())
        return digest.hexdigest()[:32]


def cut(first: int, last: int, size: int) -> Iterator[tuple[int, int]]:
    """[first, last) in pieces that end at whole multiples of `size`.

    So a piece is the same whatever was wanted before.
    """
    while first < last:
        end = min(size * (first // size + 1), last)
        yield first, end
        first = end
