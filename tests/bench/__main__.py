"""`python -m tests.bench [NAME ..] [--strict]`: tables of ratios, each measured in one run."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from importlib import import_module

from tests.bench.table import Row, show

BENCHES: dict[str, tuple[str, str, str]] = {
    "main": ("One storm-hour by scipy's solvers", "tests.bench.main_job", "rows"),
    "block": ("The block engine", "tests.bench.block", "rows"),
    "million": ("A million storm-hours", "tests.bench.block", "million"),
    "study": ("Whole studies", "tests.bench.study", "rows"),
    "studies": ("Whole studies, small", "tests.bench.study", "small"),
    "histories": ("What is stored", "tests.bench.histories", "rows"),
    "animation": ("Animation", "tests.bench.film", "rows"),
    "hull": ("Hulls", "tests.bench.hull", "rows"),
    "tanks": ("Liquid in tanks", "tests.bench.tanks", "rows"),
    "maps": ("Basins and steady responses", "tests.bench.maps", "rows"),
    "critical": ("Critical values", "tests.bench.critical", "rows"),
    "severity": ("Severity factors", "tests.bench.severity", "rows"),
    "precision": ("Work and precision", "tests.bench.precision", "rows"),
}
USUAL = ("main", "block", "severity", "histories", "animation")


def run(names: Iterable[str]) -> bool:
    """Run benches by name; whether all their figures are met."""
    fine = True
    for name in names:
        title, module, function = BENCHES[name]
        rows: Callable[[], Iterable[Row]] = getattr(import_module(module), function)
        fine &= show(title, rows())
    return fine


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        print(f"{__doc__}\nNAME: {', '.join(BENCHES)}; without one: {', '.join(USUAL)}")
        sys.exit(0)
    if strange := [name for name in sys.argv[1:] if name.startswith("-") and name != "--strict"]:
        sys.exit(f"no option {', '.join(strange)}: there is --strict")
    wanted = [name for name in sys.argv[1:] if not name.startswith("-")] or list(USUAL)
    if unknown := [name for name in wanted if name not in BENCHES]:
        sys.exit(f"no bench {', '.join(unknown)}: there are {', '.join(BENCHES)}")
    met = run(wanted)
    sys.exit(0 if met or "--strict" not in sys.argv else 1)
