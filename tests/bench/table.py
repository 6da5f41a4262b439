"""A row of a bench: what was measured, against what it must come to, and whether it does."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from typing import NamedTuple


class Row(NamedTuple):
    """A figure with its unit; `least` or `most` is what it must come to, where anything."""

    name: str
    value: float
    unit: str = ""
    least: float | None = None
    most: float | None = None

    @property
    def met(self) -> bool:
        """Whether the figure is what it must be."""
        above = self.least is None or self.value >= self.least
        return above and (self.most is None or self.value <= self.most)


def show(title: str, rows: Iterable[Row]) -> bool:
    """Print a table; whether all its figures are met."""
    print(f"\n{title}")
    fine = True
    for row in rows:
        bound = f">= {row.least:g}" if row.least is not None else ""
        bound = f"<= {row.most:g}" if row.most is not None else bound
        said = "" if not bound else ("met" if row.met else "NOT MET")
        print(f"  {row.name:<66} {row.value:>12.4g} {row.unit:<8} {bound:>10} {said}", flush=True)
        fine &= row.met
    return fine


def cpu(work: Callable[[], object], times: int = 3) -> float:
    """Least CPU seconds of this process for `work`, over some times."""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def in_turn(works: dict[str, Callable[[], object]], turns: int = 5) -> dict[str, float]:
    """Least CPU seconds of each of some works, done in turn: a noisy minute then meets them all."""
    found: dict[str, float] = dict.fromkeys(works, float("inf"))
    for _ in range(turns):
        for name, work in works.items():
            found[name] = min(found[name], cpu(work, 1))
    return found
