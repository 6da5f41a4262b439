"""The block engine against DOP853: the same equation, the same storms, every feature of it."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from batch_samples import KN_LEVERS, STORM, WIND, WINDAGE, plan_of

from rollsim.engines.base import run_list
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import HISTORIES, NUMBERS, Runs
from rollsim.study.plan import Plan
from rollsim.study.workers import make_elsewhere

RUN = "duration_s = 240.0\noutput_step_s = 0.5\nrealisations = 3\nseed = 11\n"
DAMPING = "linear_per_s = 0.02\nquadratic = 0.4"
GUSTY = (
    f'{WIND}\nheel_law = "cos2"\n'
    "[[wind.gust]]\nat_s = 40.3\nrise_s = 0.0\nhold_s = 7.11\nspeed_factor = 1.3\n"
    "[[wind.gust]]\nat_s = 90.0\nrise_s = 3.3\nhold_s = 0.0\nspeed_factor = 1.5\n"
)
EVENTS = (
    '[[events]]\nkind = "move-weight"\nat_s = 30.2\nover_s = 41.7\nmass_t = 20.0\nacross_m = 1.5\n'
    "up_m = 0.4\n"
    '[[events]]\nkind = "add-weight"\nat_s = 100.0\nmass_t = 30.0\n'
    "height_m = 7.0\nacross_m = -1.0\n"
    '[[events]]\nkind = "heeling-lever"\nat_s = 0.0\nlever_m = 0.02\n'
    '[[events]]\nkind = "heeling-lever"\nat_s = 150.123\nover_s = 0.05\nlever_m = -0.03\n'
)
REGULAR = 'kind = "regular"\nheight_m = 1.5\nperiod_s = 7.0\nphase_deg = 40.0\nramp_s = 21.3\n'
CASES: dict[str, tuple[dict[str, str], str]] = {
    "storm": ({"sea": STORM}, ""),
    "table of levers": ({"sea": STORM, "ship.levers": KN_LEVERS}, ""),
    "wind, gusts, heel law": ({"ship.windage": WINDAGE, "wind": GUSTY, "sea": STORM}, ""),
    "cosine law": ({"ship.windage": WINDAGE, "wind": f'{WIND}\nheel_law = "cos"'}, ""),
    "events": ({"sea": STORM}, EVENTS),
    "absolute": ({"sea": f'{STORM}\nexcitation = "absolute"'}, ""),
    "cubic damping": ({"sea": STORM, "ship.damping": "cubic_s = 8.0"}, ""),
    "growing sea": ({"sea": f"{STORM}\nramp_s = 33.3"}, ""),
    "regular": ({"sea": REGULAR}, ""),
    "bow quartering with speed": (
        {"sea": f"{STORM}\nheading_deg = 130.0\nship_speed_mps = 6.0"},
        "",
    ),
    "stern quartering with speed": (
        {"sea": f"{STORM}\nheading_deg = 40.0\nship_speed_mps = 7.0"},
        "",
    ),
    "head sea": ({"sea": f"{STORM}\nheading_deg = 180.0\nship_speed_mps = 5.0"}, ""),
    "calm decay": ({"start": "roll_deg = 25.0\nroll_rate_deg_per_s = -3.0"}, ""),
    "loll": (
        {
            "ship.levers": KN_LEVERS,
            "ship.gravity": "kg_m = 5.70",
            "start": "roll_deg = 3.0",
            "run": 'duration_s = 240.0\nmethod = "DOP853"',
        },
        "",
    ),
    "settling": ({"sea": STORM, "limits": "roll_deg = 3.0\nflooding_deg = 8.0"}, ""),
    "coarse output": ({"sea": STORM, "run": f"{RUN}output_step_s = 4.0"}, ""),
    "fine output": ({"sea": STORM, "run": f"{RUN}output_step_s = 0.07"}, ""),
}


def make(plan: Plan, first: int, last: int) -> Runs:
    """Realisations [first, last) of the only case."""
    case = plan.cases[0]
    return engine_for(case).run(run_list(range(first, last), case.start), histories=True)


def both(tables: dict[str, str], more: str, settle: str = "") -> tuple[Runs, Runs]:
    """The runs of one case by the block engine and by DOP853."""
    found = []
    for method in ("block", "DOP853"):
        run = tables.get("run", RUN).replace('method = "DOP853"', "").replace("\n\n", "\n")
        if run.count("output_step_s") == 2:
            run = run.replace("output_step_s = 0.5\n", "")
        run += f'\nmethod = "{method}"\nrelative_tolerance = 1e-10\n{settle}'
        plan = plan_of({"ship.damping": DAMPING} | tables | {"run": run}, more)
        found.append(make(plan, 0, plan.realisations))
    return found[0], found[1]


@pytest.mark.parametrize("name", CASES)
def test_block_engine_agrees_with_the_reference(name: str) -> None:
    tables, more = CASES[name]
    settle = "settle_s = 60.0\n" if name == "settling" else ""
    block, reference = both(tables, more, settle)
    for i, history in enumerate(HISTORIES):
        limit = {"roll_angle": 0.01, "roll_rate": 0.01, "wave_slope": 0.01}.get(history, 2e-5)
        difference = np.abs(block.histories[i] - reference.histories[i])
        assert np.nanmax(difference) < limit, history
    for number in ("outcome", "failed_before_settle"):
        np.testing.assert_array_equal(block.numbers[number], reference.numbers[number])
    for number, limit in (("roll_max", 0.01), ("roll_min", 0.01), ("failure_time", 0.02)):
        np.testing.assert_allclose(
            block.numbers[number], reference.numbers[number], rtol=0.0, atol=limit, err_msg=number
        )
    np.testing.assert_allclose(
        block.numbers["energy_margin"], reference.numbers["energy_margin"], rtol=2e-3, atol=2e-3
    )


def test_capsizes_end_at_the_same_moment() -> None:
    storm = STORM.replace("3.0", "9.0").replace("8.0", "10.0")
    tables = {"sea": storm, "ship.levers": KN_LEVERS, "limits": "roll_deg = 30.0"}
    tables |= {"ship.windage": WINDAGE, "wind": WIND}
    tables["ship.gravity"] = "kg_m = 5.65"
    tables["run"] = "duration_s = 900.0\noutput_step_s = 0.5\nrealisations = 40\nseed = 3\n"
    block, reference = both(tables, "")
    assert np.count_nonzero(reference.numbers["outcome"] == 4) > 5
    np.testing.assert_array_equal(block.numbers["outcome"], reference.numbers["outcome"])
    ended = reference.numbers["outcome"] == 4
    np.testing.assert_allclose(
        block.numbers["end_time"][ended], reference.numbers["end_time"][ended], atol=0.5
    )
    unended = np.isnan(block.histories[0]).sum(axis=1)
    np.testing.assert_array_equal(unended[~ended], 0)
    assert np.all(unended[ended] > 0)


def test_a_run_does_not_depend_on_its_company() -> None:
    plan = plan_of({"sea": STORM, "run": RUN.replace("= 3", "= 70")})
    whole = make(plan, 0, 70)
    for first, last in ((0, 1), (33, 34), (5, 40), (69, 70)):
        part = make(plan, first, last)
        np.testing.assert_array_equal(part.histories, whole.histories[:, first:last])
        for name, values in part.numbers.items():
            np.testing.assert_array_equal(values, whole.numbers[name][first:last], err_msg=name)


HARD = STORM.replace("3.0", "9.0").replace("8.0", "10.0")


def test_threads_of_a_worker_do_not_disturb_each_other() -> None:
    """A worker of a cluster may have several, and keeps one engine a case for all of them."""
    run = RUN.replace("realisations = 3", "realisations = 320")
    tables = {"sea": HARD, "ship.levers": KN_LEVERS, "ship.gravity": "kg_m = 5.6", "run": run}
    case = plan_of({"ship.damping": DAMPING} | tables, EVENTS).cases[0]
    blob = pickle.dumps(case)

    def made(first: int, last: int) -> Runs:
        return make_elsewhere([(blob, run_list(range(first, last), case.start))], False)[0]

    whole = made(0, 320)
    with ThreadPoolExecutor(2) as pool:
        starts = range(0, 320, 32)
        parts = list(pool.map(lambda first: made(first, first + 32), starts))
    for name in NUMBERS:
        found = np.concatenate([part.numbers[name] for part in parts])
        np.testing.assert_array_equal(found, whole.numbers[name], err_msg=name)


def test_a_start_past_a_limit_before_it_counts_is_flagged() -> None:
    """At rest exactly at the limit: she never passes it, and yet was past it before settling."""
    tables = {"start": "roll_deg = 20.0", "limits": "roll_deg = 20.0\ncapsize_deg = 60.0"}
    for found in both(tables, "", "settle_s = 10.0\n"):
        assert found.numbers["failed_before_settle"].tolist() == [1] * 3
    tables["limits"] = "roll_deg = 20.1\nflooding_deg = 19.9\ncapsize_deg = 60.0"
    for found in both(tables, "", "settle_s = 10.0\n"):
        assert found.numbers["failed_before_settle"].tolist() == [1] * 3


@pytest.mark.filterwarnings("error")
def test_what_a_lane_does_after_its_capsize_is_nobodys_business() -> None:
    """Lanes go on beside those that live, to whatever numbers, without a word."""
    tables = {"sea": HARD, "ship.levers": KN_LEVERS, "ship.gravity": "kg_m = 5.6"}
    tables |= {"ship.windage": WINDAGE, "wind": GUSTY.replace("cos2", "constant")}
    tables["run"] = "duration_s = 600.0\noutput_step_s = 0.5\nrealisations = 64\nseed = 11\n"
    plan = plan_of({"ship.damping": DAMPING} | tables)
    found = make(plan, 0, 64)
    assert 5 < np.count_nonzero(found.numbers["outcome"] == 4) < 60
    assert np.nanmax(np.abs(found.histories[0])) < 180.0


def test_a_finer_accuracy_is_met_by_step_and_sea() -> None:
    tables = {"sea": STORM.replace("3.0", "6.0"), "ship.levers": KN_LEVERS}
    tables |= {"ship.gravity": "kg_m = 5.3", "run": f"{RUN}accuracy_deg = 0.001\n"}
    fine, exact = both(tables, "")
    roll, _, slope, _ = (np.nanmax(np.abs(fine.histories - exact.histories), axis=(1, 2))).tolist()
    assert roll < 0.0015
    assert slope < 1e-4
    coarse, _ = both(tables | {"run": RUN}, "")
    assert roll < 0.5 * np.nanmax(np.abs(coarse.histories[0] - exact.histories[0]))
