"""Critical values of whole studies: what the file holds, the same bytes always, nothing lost."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from batch_samples import CONDITIONS, STORM, WIND, WINDAGE, plan_of, results_of, scenario

from rollsim import library
from rollsim.engines.block.lanes import LANES
from rollsim.errors import InputError, MachineError
from rollsim.map_names import Search
from rollsim.store.maps import open_map
from rollsim.store.unfinished import unfinished_folder
from rollsim.study.critical import counting
from rollsim.study.critical.counting import Counting
from rollsim.study.critical.study import critical_to_file
from rollsim.study.pieces import Arrays
from rollsim.study.plan import Plan
from rollsim.study.run import Listener
from rollsim.study.workers import Where

ONE = Where(workers=1)
SEARCH = (
    'key = "sea.significant_height_m"\nfrom = 1.0\nto = 8.0\ntolerance = 0.3\n'
    "probability = 0.1\nmost = 8000"
)
TABLES = {
    "sea": STORM,
    "ship.damping": "linear_per_s = 0.2\nquadratic = 0.5",
    "limits": "roll_deg = 12.0",
    "run": "duration_s = 30.0\noutput_step_s = 1.0\nseed = 5",
    "critical": SEARCH,
}


def study(more: str = "", **tables: str) -> Plan:
    """A ship in half a minute of beam seas, searched over their height."""
    return plan_of(TABLES | {key.replace("__", "."): text for key, text in tables.items()}, more)


@pytest.fixture(autouse=True)
def same_date(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files are written at one time, so that equal ones have equal bytes."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1")


def test_what_the_file_holds(tmp_path: Path) -> None:
    path = tmp_path / "x.nc"
    assert critical_to_file(study(CONDITIONS), path, where=ONE) is True
    ds = open_map(path, "critical")
    assert list(ds.condition.values) == ["light", "deep"]
    assert (ds.critical_search.values == Search.FOUND).all()
    assert ds.critical_search.attrs["flag_meanings"] == "found not_passed undecided not_solved"
    assert ds.critical_value.attrs["units"] == ds.trial_value.attrs["units"] == "m"
    assert (ds.critical_value_lower < ds.critical_value).all()
    assert (ds.critical_value < ds.critical_value_upper).all()
    assert (ds.critical_value_upper - ds.critical_value_lower <= 0.6).all()
    assert ds.critical_value.values[0] == ds.critical_value.values[1]  # the same ship, same storms
    assert list(ds.own_value.values) == [3.0, 3.0]
    assert (ds.critical_probability == 0.1).all()
    assert ds.attrs["searched_key"] == "sea.significant_height_m"
    assert (ds.attrs["event"], ds.attrs["seed"], ds.attrs["most_runs"]) == ("failure", 5, 8000)
    assert "[critical]" in ds.attrs["scenario_text"]
    runs = ds.trial_runs.values
    assert (runs.sum(axis=1) <= 8000).all()
    assert (runs % LANES == 0).all()
    known = runs[0] > 0
    value, share = (each.values[0][known] for each in (ds.trial_value, ds.trial_events / runs))
    assert (np.diff(value) > 0).all()
    assert value[0] == 1.0
    assert value[-1] == 8.0
    # The counts that the answer comes from, seen by a reader of the file.
    near = np.interp(ds.critical_value.values[0], value, share)
    assert near == pytest.approx(0.1, abs=0.03)


def test_trials_are_counted_as_a_study_counts(tmp_path: Path) -> None:
    path = tmp_path / "x.nc"
    critical_to_file(study(), path, where=ONE)
    ds = open_map(path, "critical")
    trial = int(np.argmax(ds.trial_runs.values[0]))
    height, runs = float(ds.trial_value[0, trial]), int(ds.trial_runs[0, trial])
    sea = STORM.replace("significant_height_m = 3.0", f"significant_height_m = {height!r}")
    result = results_of(study(sea=sea, run=f"{TABLES['run']}\nrealisations = {runs}"))
    assert int((result["outcome"] >= 2).sum()) == int(ds.trial_events[0, trial])


def test_the_same_bytes_with_any_workers(tmp_path: Path) -> None:
    one, three = tmp_path / "1.nc", tmp_path / "3.nc"
    plan = study(CONDITIONS)
    assert critical_to_file(plan, one, where=ONE)
    assert critical_to_file(plan, three, where=Where(workers=3))
    assert one.read_bytes() == three.read_bytes()


COUNT = Counting._count


class Broken:
    """Counts the pieces that are really made, and breaks off after some."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, after: int) -> None:
        self.made, self.after = 0, after
        monkeypatch.setattr(counting, "PIECE_SECONDS", 1e-9)  # a piece is a block

        def counted(this: Counting, *args: object) -> Arrays:
            if self.made >= self.after:
                raise KeyboardInterrupt
            self.made += 1
            return COUNT(this, *args)  # type: ignore[arg-type]

        monkeypatch.setattr(Counting, "_count", counted)


def test_nothing_finished_is_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plan, whole, path = study(), tmp_path / "whole.nc", tmp_path / "x.nc"
    through = Broken(monkeypatch, 10_000)
    assert critical_to_file(plan, whole, where=ONE) is True
    broken = Broken(monkeypatch, 20)
    assert critical_to_file(plan, path, where=ONE) is False
    assert not path.exists()
    assert unfinished_folder(path).exists()
    rest = Broken(monkeypatch, 10_000)
    assert critical_to_file(plan, path, where=ONE) is True
    assert broken.made == 20
    assert rest.made == through.made - 20
    assert path.read_bytes() == whole.read_bytes()
    assert not unfinished_folder(path).exists()


def test_a_finished_file_is_not_lost_to_another_scenario(tmp_path: Path) -> None:
    path = tmp_path / "x.nc"
    critical_to_file(study(), path, where=ONE)
    before, other = path.read_bytes(), study(limits="roll_deg = 13.0")
    with pytest.raises((InputError, MachineError), match="another scenario"):
        critical_to_file(other, path, where=ONE)
    assert path.read_bytes() == before
    assert critical_to_file(other, path, replace=True, where=ONE)


def test_who_listens_hears_the_runs(tmp_path: Path) -> None:
    heard = list[int]()
    path = tmp_path / "x.nc"
    critical_to_file(study(), path, where=ONE, listener=Listener(progress=heard.append))
    runs = int(open_map(path, "critical").trial_runs.sum())
    assert heard == sorted(heard)
    assert heard[-1] == runs


def test_a_sweep_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "x.nc"
    critical_to_file(study('[sweep]\n"limits.roll_deg" = [8.0, 12.0]\n'), path, where=ONE)
    ds = open_map(path, "critical")
    assert list(ds["limits_roll"].values) == [8.0, 12.0]
    assert ds.critical_value.values[0] < ds.critical_value.values[1]


def test_a_heading_at_which_nothing_is_random(tmp_path: Path) -> None:
    # Following seas have no slope: there the height is sought at which she fails, and none is.
    path = tmp_path / "x.nc"
    critical_to_file(study('[sweep]\n"sea.heading_deg" = [0.0, 90.0]\n'), path, where=ONE)
    ds = open_map(path, "critical")
    assert list(ds.critical_search.values) == [Search.NOT_PASSED, Search.FOUND]
    assert np.isnan(ds.critical_probability.values[0])
    assert ds.critical_probability.values[1] == 0.1
    note = str(ds.note.values[0])
    assert note.startswith("failure does not happen at 1 m and does not happen at 8 m")
    assert ds.note.values[1] == ""


def test_a_key_at_whose_end_nothing_is_random(tmp_path: Path) -> None:
    # The search over the heading begins in following seas, where one run stands for all storms.
    path = tmp_path / "x.nc"
    search = SEARCH.replace("sea.significant_height_m", "sea.heading_deg")
    search = search.replace("from = 1.0\nto = 8.0\ntolerance = 0.3", "from = 0.0\nto = 90.0")
    sea = STORM.replace("significant_height_m = 3.0", "significant_height_m = 6.0")
    critical_to_file(study(critical=search, sea=sea), path, where=ONE)
    ds = open_map(path, "critical")
    assert ds.critical_search.item() == Search.FOUND
    assert 0.0 < ds.critical_value.item() < 90.0
    assert ds.trial_events.values[0, 0] == 0


def test_without_a_heel_to_start_from_there_is_no_outcome(tmp_path: Path) -> None:
    # Beyond some wind she has no static heel; such values are no outcome and are told.
    path = tmp_path / "x.nc"
    tables = {
        "wind": WIND,
        "ship__windage": WINDAGE,
        "start": 'roll_deg = "static"\nstatic_missing = "skip"',
        "critical": 'key = "wind.speed_mps"\nfrom = 10.0\nto = 60.0\nmost = 8000',
    }
    critical_to_file(study(**tables), path, where=ONE)
    ds = open_map(path, "critical")
    assert ds.critical_search.item() == Search.FOUND
    assert (ds.trial_solved.values == 0).any()
    assert "runs not solved: they count as no outcome" in str(ds.note.item())


def test_from_python(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    study_of, path = library.loads(scenario(TABLES)), tmp_path / "x.nc"
    alone, written = study_of.critical(workers=1), study_of.critical(path, workers=1)
    assert alone.identical(written)
    assert path.exists()
    Broken(monkeypatch, 3)
    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        study_of.critical(tmp_path / "y.nc", workers=1)
    assert unfinished_folder(tmp_path / "y.nc").exists()


# --- what is refused ------------------------------------------------------------------------------


def refused(tmp_path: Path, match: str, more: str = "", **tables: str) -> InputError:
    path = tmp_path / "x.nc"
    with pytest.raises(InputError, match=match) as caught:
        critical_to_file(study(more, **tables), path, where=ONE)
    assert not path.exists()
    assert not unfinished_folder(path).exists()
    return caught.value


def test_both_ends_on_one_side(tmp_path: Path) -> None:
    search = SEARCH.replace("to = 8.0", "to = 2.0")
    error = refused(
        tmp_path, r"probability of failure is 0 \[0, .*\] at 1 m and 0", critical=search
    )
    (fault,) = error.faults
    assert fault.key == "critical"
    assert fault.line
    assert fault.hint in ("widen the range, to where it is more likely", "take a greater to")
    search = SEARCH.replace("from = 1.0", "from = 6.0")
    error = refused(tmp_path, "where 0.1 is searched for", critical=search)
    assert error.faults[0].hint == "take a smaller from"


def test_of_several_cases_the_others_are_answered(tmp_path: Path) -> None:
    path = tmp_path / "x.nc"
    critical_to_file(study('[sweep]\n"limits.roll_deg" = [12.0, 89.0]\n'), path, where=ONE)
    ds = open_map(path, "critical")
    assert list(ds.critical_search.values) == [Search.FOUND, Search.NOT_PASSED]
    assert np.isnan(ds.critical_value.values[1])
    assert "more likely" in str(ds.note.values[1])


def test_a_probability_where_nothing_is_random(tmp_path: Path) -> None:
    calm = 'kind = "regular"\nheight_m = 2.0\nperiod_s = 8.0'
    search = SEARCH.replace("sea.significant_height_m", "sea.height_m")
    error = refused(tmp_path, "nothing is random here", critical=search, sea=calm)
    assert error.faults[0].key == "critical.probability"
    assert "leave it out" in error.faults[0].hint


def test_an_end_that_makes_no_sound_case(tmp_path: Path) -> None:
    search = SEARCH.replace("to = 8.0", "to = 800.0")
    error = refused(tmp_path, r"sea.significant_height_m: must be", critical=search)
    assert error.faults[0].key == "critical.to"
    assert "makes no sound case 0 (base), got 800" in error.faults[0].problem


def test_no_table(tmp_path: Path) -> None:
    path, plan = tmp_path / "x.nc", plan_of({k: v for k, v in TABLES.items() if k != "critical"})
    with pytest.raises(InputError, match="critical: is missing"):
        critical_to_file(plan, path, where=ONE)
