"""The outputs just before a capsize stand on the solution, whoever else is in the block."""

from __future__ import annotations

import numpy as np
from batch_samples import STORM, plan_of

from rollsim.engines.base import run_list
from rollsim.engines.runs import Runs
from rollsim.names import Outcome
from rollsim.study.workers import make_here

RUNS = 40
TABLES = {
    "sea": STORM.replace("significant_height_m = 3.0", "significant_height_m = 6.0"),
    "limits": "capsize_deg = 10.0",
}


def runs_by(method: str, realisations: list[int]) -> Runs:
    """The runs of these storms, most of which capsize within half a minute."""
    run = f'duration_s = 30.0\noutput_step_s = 0.5\nseed = 5\nmethod = "{method}"'
    (case,) = plan_of(TABLES | {"run": run}).cases
    return make_here(case, run_list(realisations, case.start))


def test_histories_follow_the_reference_up_to_the_capsize() -> None:
    block, reference = (runs_by(method, list(range(RUNS))) for method in ("block", "DOP853"))
    capsized = block.numbers["outcome"] == Outcome.CAPSIZED
    assert np.count_nonzero(capsized) > RUNS // 2
    np.testing.assert_allclose(block.histories, reference.histories, rtol=0.0, atol=0.02)


def test_a_run_alone_has_the_histories_that_it_has_in_company() -> None:
    together = runs_by("block", list(range(RUNS)))
    alone = [runs_by("block", [number]).histories[:, 0] for number in range(RUNS)]
    np.testing.assert_array_equal(together.histories, np.stack(alone, axis=1))


def test_the_lever_of_a_turbulent_wind_is_that_of_the_output_not_of_the_step() -> None:
    wind = 'speed_mps = 25.0\nfrom = "port"\nheel_law = "cos"\n'
    tables = {
        "wind": wind + '[wind.turbulence]\nspectrum = "davenport"',
        "ship.windage": "area_m2 = 300.0\nlever_m = 5.0",
        "ship.damping": "linear_per_s = 0.05",
    }
    levers = []
    for method in ("block", "DOP853"):
        run = f'duration_s = 60.0\noutput_step_s = 0.5\nseed = 5\nmethod = "{method}"'
        (case,) = plan_of(tables | {"run": run}).cases
        levers.append(make_here(case, run_list([0, 1], case.start)).histories[3])
    np.testing.assert_allclose(levers[0], levers[1], rtol=0.0, atol=2e-5)
