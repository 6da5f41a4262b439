"""The table [critical]: each fault at its place, in plain words, with a way out."""

from __future__ import annotations

import pytest
from scenario_samples import BASE, broken, faults_of

from rollsim.scenario.load import loads

RANGE = "from = 5.0\nto = 6.2\n"
TABLE = f'\n[critical]\nkey = "ship.gravity.kg_m"\n{RANGE}'


def with_key(key: str) -> str:
    """The sample with a marked key to search over."""
    return f'{BASE}\n[critical]\nkey = ¤"{key}"\n{RANGE}'


def test_a_sound_table() -> None:
    critical = loads(BASE + TABLE).base.critical
    assert critical is not None
    assert (critical.from_, critical.to, critical.most) == (5.0, 6.2, 60_000)
    assert (critical.of, critical.probability, critical.tolerance) == (None, None, None)


@pytest.mark.parametrize(
    ("key", "problem", "hint"),
    [
        ("ship.gravity.kg", "unknown key", 'did you mean "ship.gravity.kg_m"?'),
        ("kg_m", "unknown key", "did you mean"),
        ("wind.from", "must be a key that holds a number", "such as"),
        ("ship.levers.kn_m", "must be a key that holds a number", "such as"),
        ("ship.gravity", "must be a key that holds a number", "such as"),
        ("sea.kind", "must be a key that holds a number", "such as"),
        ("run.duration_s", "cannot be searched over", "the same for all cases"),
        ("run.realisations", "cannot be searched over", "the same for all cases"),
        ("output.count", "cannot be searched over", "the same for all cases"),
        ("critical.to", "cannot be searched over", "the same for all cases"),
        ("title", "cannot be searched over", "the same for all cases"),
        ("events.7.mass_t", "there is no item 7 in events", "counted from 0"),
    ],
)
def test_a_key_that_is_none(key: str, problem: str, hint: str) -> None:
    faults, place = broken(with_key(key))
    (fault,) = [each for each in faults if each.key == "critical.key"]
    assert problem in fault.problem
    assert f'got "{key}"' in fault.problem
    assert hint in fault.hint
    assert (fault.line, fault.column) == place


@pytest.mark.parametrize("values", ["[5.1, 5.3]", "{ add = [0.0, 0.1] }"])
def test_a_key_that_is_swept_as_well(values: str) -> None:
    faults, place = broken(
        f'{with_key("ship.gravity.kg_m")}[sweep]\n"ship.gravity.kg_m" = {values}\n'
    )
    (fault,) = faults
    assert "stands in the sweep as well" in fault.problem
    assert "leave that axis out" in fault.hint
    assert (fault.line, fault.column) == place


def test_a_key_that_conditions_set() -> None:
    # Each condition's own value stands beside its critical one.
    conditions = '[[conditions]]\nname = "deck cargo"\n"ship.gravity.kg_m" = 5.5\n'
    assert len(loads(BASE + TABLE + conditions).cases) == 1


@pytest.mark.parametrize(
    ("old", "new", "key", "problem", "hint"),
    [
        ("to = 6.2", "to = ¤5.0", "to", "must be above from (5), got 5", "the lower value"),
        ("to = 6.2", "to = ¤4.0", "to", "must be above from (5), got 4", "the lower value"),
        ("to = 6.2\n", "¤", "to", "is missing", "where it ends"),
        ("to = 6.2", "¤too = 6.2", "too", "unknown key", "to"),
        ("to = 6.2", 'to = ¤"6.2"', "to", "must be a number", "where it ends"),
        ("to = 6.2", "to = 6.2\nprobability = ¤1.0", "probability", "must be below 1", ""),
        ("to = 6.2", "to = 6.2\nprobability = ¤0.0", "probability", "must be above 0", ""),
        ("to = 6.2", "to = 6.2\ntolerance = ¤0.0", "tolerance", "must be above 0", ""),
        ("to = 6.2", "to = 6.2\ntolerance = ¤1e-12", "tolerance", "at least 1.2e-09", "1/200"),
        ("to = 6.2", "to = 6.2\nmost = ¤10", "most", "must be at least 100", ""),
        ("to = 6.2", 'to = 6.2\nof = ¤"loss"', "of", '"capsize" or "failure"', ""),
    ],
)
def test_other_faults(old: str, new: str, key: str, problem: str, hint: str) -> None:
    faults, place = broken(BASE + TABLE.replace(old, new))
    (fault,) = [each for each in faults if each.key == f"critical.{key}"]
    assert problem in fault.problem
    assert hint in fault.hint
    if new != "¤":
        assert (fault.line, fault.column) == place


LIMITS = "roll_deg = 40.0\nflooding_deg = 42.0\n"


def test_a_failure_without_a_limit() -> None:
    marked = (BASE + TABLE).replace(LIMITS, "") + 'of = ¤"failure"\n'
    faults, place = broken(marked)
    (fault,) = faults
    assert fault.key == "critical.of"
    assert "needs roll_deg or flooding_deg in [limits]" in fault.problem
    assert 'of = "capsize"' in fault.hint
    assert (fault.line, fault.column) == place
    assert loads(marked.replace('¤"failure"', '"capsize"')).cases


def test_a_condition_that_takes_the_limits_away() -> None:
    text = f'{BASE}{TABLE}of = "failure"\n[[conditions]]\nname = "open"\nlimits = {{}}\n'
    (fault,) = faults_of(text)
    assert "needs roll_deg or flooding_deg" in fault.problem
    assert 'condition = "open"' in fault.hint


def test_no_axis_over_the_search() -> None:
    faults = faults_of(f'{BASE}{TABLE}[sweep]\n"critical.to" = [5.9, 6.0]\n')
    assert [fault.problem for fault in faults] == ["cannot be an axis"]
