"""One storm-hour by a scipy solver: the script written by hand against ours."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Iterator

import numpy as np

from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.solver import solve
from tests.bench.script import same_as_sine, script
from tests.bench.ship import EXACT, HOUR, SPAN, problem, script_waves
from tests.bench.table import Row, cpu

SAME = Tolerances("RK45", 1e-4, 1e-6)


def rows() -> Iterator[Row]:
    """Ratios of CPU time in this run, errors against DOP853 at 1e-11, start-up times."""
    theirs = script_waves()
    # α = −Σ s sin(θ): with the phase a quarter on and the sign turned it is the script's cosine.
    ours = same_as_sine(theirs)
    solve(problem(ours, 10.0, relative=False), SAME)
    hand = cpu(lambda: script(theirs, HOUR))
    same = cpu(lambda: solve(problem(ours, HOUR, relative=False), SAME))
    default = cpu(lambda: solve(problem(ours, HOUR, relative=False), Tolerances()), 1)
    exact = solve(problem(ours, SPAN, relative=False), EXACT).states[0]
    hand_exact = script(theirs, SPAN, exact=True)
    hand_error = float(np.max(np.abs(script(theirs, SPAN) - hand_exact)))
    short = solve(problem(ours, SPAN, relative=False), SAME).states[0]
    yield Row("script written by hand, CPU for a storm-hour", 1e3 * hand, "ms")
    yield Row("ours, same solver, tolerances and components, forcing included", 1e3 * same, "ms")
    yield Row("script / ours", hand / same, "", least=2.5)
    yield Row("error of the script over 600 s", math.degrees(hand_error), "deg")
    most = math.degrees(hand_error) * 1.05
    error = math.degrees(float(np.max(np.abs(short - exact))))
    yield Row("error of ours over 600 s", error, "deg", most=most)
    yield Row("DOP853 at relative_tolerance 1e-8, CPU for a storm-hour", 1e3 * default, "ms")
    yield Row("rollsim --help, CPU", _command("--help"), "s", most=0.3)
    yield Row("rollsim check, CPU", _command("check", "scenarios/gale-sweep.toml"), "s", most=1.5)


def _command(*arguments: str) -> float:
    """Least CPU seconds of a command line of ours."""
    code = (
        "import os, subprocess, sys; subprocess.run([sys.executable, '-m', 'rollsim', "
        "*sys.argv[1:]], stdout=subprocess.DEVNULL, check=True); t = os.times(); "
        "print(t.children_user + t.children_system)"
    )
    seconds = [
        float(subprocess.check_output([sys.executable, "-c", code, *arguments])) for _ in range(3)
    ]
    return min(seconds)
