"""A case made by what its values touch is the case that a validation of the whole makes."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hull_file_samples import HULL, SHIP
from hypothesis import given, settings
from hypothesis import strategies as st
from loading_samples import scenario as with_loading
from loading_samples import with_curves
from scenario_samples import BASE

from rollsim.errors import InputError
from rollsim.scenario.checks.whole import examined, examined_case
from rollsim.scenario.expand.cases import bare
from rollsim.scenario.expand.overrides import Override, applied
from rollsim.scenario.expand.varied import Sound, Step, sound
from rollsim.scenario.load import loads
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.beside import with_named_files

GZ = """\
kind = "gz"
heel_deg = [0, 20, 40, 60]
gz_m = [0.0, 0.2, 0.3, 0.1]
kg_m = 5.3
gm_m = 0.5
"""


def table(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def with_levers(levers: str) -> str:
    head, _, rest = BASE.partition("[ship.levers]\n")
    return f"{head}[ship.levers]\n{levers}\n{rest[rest.index('[ship.gravity]') :]}"


SPARE = BASE[: BASE.index("[ship.damping]")] + "[run]\nduration_s = 100\n"
CHANGED = BASE + '[[events]]\nkind = "change"\nkey = "wind.speed_mps"\nto = 10\nat_s = 4000\n'
TEXTS = [
    BASE,
    SPARE,
    CHANGED,
    with_levers(GZ).replace("_deg = 90.0\n\n[wind]", "_deg = 60.0\n\n[wind]"),
    with_levers('kind = "wall-sided"\nkm_m = 5.7\nbm_m = 3\nheel_max_deg = 50').replace(
        "capsize_deg = 90.0\n", ""
    ),
    BASE.replace("gyradius_m = 5.3", "period_s = 12").replace('"relative"', '"absolute"'),
    with_loading(),
    with_curves(),
    f"{SHIP}[files]\n\"barge-hull.toml\" = '''\n{HULL}'''\n",
]
NUMBERS: dict[str, list[Any]] = {
    "ship.gravity.kg_m": [5.0, 5.3, 5.7, 27, 30, 59, 590, "5.3", True],
    "ship.gravity.off_centre_m": [0, -6, 7.5],
    "ship.beam_m": [13.0, 14, 3.0, 90],
    "ship.draught_m": [5, 9, 50],
    "ship.displacement_t": [4250, 300, 5000, -1],
    "ship.inertia.gyradius_m": [5, 14, 0.38],
    "ship.inertia.period_s": [12.0],
    "ship.inertia.beam_fraction": [0.38, 0.9],
    "ship.inertia.added_share": [0.2, 1.0],
    "ship.damping.linear_per_s": [0.0, 0.02],
    "ship.damping.critical_fraction": [0.05, 5],
    "ship.damping.extinction.a": [0.1],
    "ship.levers.kn_m.2": [0.99, 1.4, 99.0],
    "ship.levers.heel_deg.1": [5, 10, 4.0],
    "ship.levers.km_m": [5.66, 6.3, -1],
    "ship.levers_in_waves.gm_per_m": [-0.05],
    "ship.windage.area_m2": [0, 700],
    "ship.windage.lever_m": [5.0, 15],
    "limits.roll_deg": [40, 95],
    "limits.capsize_deg": [30, 60, 90, 91],
    "start.roll_deg": [0, 35, -70, 95, "static", "statics"],
    "start.static_missing": ["skip", "no"],
    "sea.excitation": ["relative", "absolute"],
    "sea.kind": ["calm", "regular", "irregular"],
    "sea.height_m": [3],
    "sea.period_s": [8.0],
    "sea.significant_height_m": [3, 12, 40],
    "sea.peak_period_s": [6, 9.0],
    "sea.heading_deg": [0, 30, 180.0],
    "sea.ramp_s": [0, 50],
    "wind.speed_mps": [0, 50, 200],
    "wind.from": ["starboard"],
    "wind.turbulence.intensity": [0.1],
    "wind.gust.0.at_s": [10, 5000],
    "events.0.mass_t": [10, 500, 5000],
    "events.0.across_m": [2, 20],
    "events.0.kind": ["add-weight", "move-weight"],
    "events.1.at_s": [0, 10],
    "events.1.to": [5, 300],
    "ship.levers.trim": ["free", "fixed", "level"],
    "ship.levers.heel_max_deg": [60, 120.0],
    "ship.loading.lightship.mass_t": [1400, 20000, -1],
    "ship.loading.weights.0.mass_t": [0, 1800, 2300.0, 1e7],
    "ship.loading.weights.1.across_m": [3, 8, 20],
    "ship.loading.tanks.0.filling_percent": [0, 60.0, 100, 101],
    "ship.loading.tanks.1.box_m.top": [1.3, 9, -1.0],
    "ship.loading.tanks.0.free_surface": ["liquid", "frozen"],
    "run.method": ["RK45", "rk"],
}
TABLES: dict[str, list[Any]] = {
    "ship.gravity": [{"kg_m": 5.2}, {"kg_m": 5.9, "free_surface_m": 0.1}, {"kg": 5.0}, 3],
    "ship.inertia": [{"period_s": 11.0}, {"gyradius_m": 5.0}, {}],
    "ship.damping": [{}, {"extinction": {"a": 0.1}}, {"quadratic": 0.3}],
    "ship.levers": [table(GZ), {"kind": "polynomial", "gz_m_per_rad": [0.3, 0, -0.1], "kg_m": 5.3,
                                "heel_max_deg": 60}, {"kind": "kn"}],
    "sea": [{"kind": "calm"}, {"kind": "regular", "height_m": 3, "period_s": 8}, {"kind": "x"}],
    "wind": [{"speed_mps": 10, "from": "port"}, {"speed_mps": 10}],
    "events": [[], [{"kind": "heeling-lever", "at_s": 4000, "lever_m": 0.1}], [3]],
    "limits": [{}, {"capsize_deg": 50}],
    "ship.windage": [{"area_m2": 100, "lever_m": 20}],
}  # fmt: skip


def path_of(key: str) -> tuple[str | int, ...]:
    return tuple(int(part) if part.isdigit() else part for part in key.split("."))


KEYS = [*TABLES, *NUMBERS]
"""Whole tables stand before the keys within them, as a condition applies them."""


@st.composite
def overrides(draw: st.DrawFn, keys: list[str]) -> list[Override]:
    chosen = draw(st.sets(st.sampled_from(keys), min_size=1, max_size=4))
    return [
        Override(path_of(key), draw(st.sampled_from((TABLES | NUMBERS)[key])), ("sweep", key))
        for key in keys
        if key in chosen
    ]


def start_of(text: str) -> tuple[dict[str, Any], Sound]:
    raw = bare(with_named_files(tomllib.loads(text), None)[0])
    whole = examined(raw)
    assert whole.faults == []
    start = sound(whole.parts)
    assert start is not None
    return raw, start


def fits(raw: dict[str, Any], edits: list[Override]) -> bool:
    """Whether lists are as long as the overrides need, as the grid makes sure of before."""
    try:
        applied(raw, edits)
    except (IndexError, TypeError, KeyError):
        return False
    return True


def compare(raw: dict[str, Any], start: Sound, edits: list[Override]) -> Sound | None:
    """The step and the whole validation agree; the sound scenario, if it is one."""
    step = Step(start, [edit.path for edit in edits])
    parts = step.to(edits)
    whole = examined_case(applied(raw, edits), start.parts.base_gm)
    assert (parts is None) is bool(whole.faults), whole.faults
    if parts is None:
        return None
    assert isinstance(parts.whole, Scenario)
    assert parts.whole == whole.parts.whole
    assert parts.whole.model_dump(exclude_unset=True) == whole.parts.whole.model_dump(
        exclude_unset=True
    )
    told = sorted(map(repr, [*step.untouched, *step.warned(parts)]))
    assert told == sorted(map(repr, whole.warnings))
    return step.sound(edits)


@settings(max_examples=600, deadline=None, derandomize=True)
@given(st.sampled_from(TEXTS), overrides(KEYS), overrides(list(NUMBERS)))
def test_a_step_equals_a_whole_validation(
    text: str, first: list[Override], second: list[Override]
) -> None:
    raw, start = start_of(text)
    if not fits(raw, first):
        return
    between = compare(raw, start, first)
    once = applied(raw, first)
    if fits(once, second):
        if between is not None:
            compare(once, between, second)
        compare(raw, start, [*first, *second])


def test_the_comparison_meets_sound_and_faulty_cases_alike() -> None:
    outcomes: list[bool] = []

    @settings(max_examples=200, deadline=None, derandomize=True, database=None)
    @given(st.sampled_from(TEXTS), overrides(KEYS))
    def count(text: str, edits: list[Override]) -> None:
        raw, start = start_of(text)
        if fits(raw, edits):
            outcomes.append(compare(raw, start, edits) is not None)

    count()
    assert outcomes.count(True) > 30
    assert outcomes.count(False) > 30


def toml_of(value: object) -> str:
    """A value in TOML's inline form."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml_of(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_of, value)) + "]"
    return json.dumps(value)


@st.composite
def files(draw: st.DrawFn) -> str:
    """A file with conditions and a sweep."""
    text = draw(st.sampled_from(TEXTS))
    lines = []
    for name in draw(st.sampled_from(["", "a", "ab"])):
        lines += ["[[conditions]]", f'name = "{name}"']
        keys = draw(st.sets(st.sampled_from(KEYS), max_size=3))
        for key in sorted(keys):
            lines.append(f'"{key}" = {toml_of(draw(st.sampled_from((TABLES | NUMBERS)[key])))}')
    lines.append("[sweep]")
    for key in sorted(draw(st.sets(st.sampled_from(list(NUMBERS)), max_size=2))):
        values = draw(st.lists(st.sampled_from(NUMBERS[key]), min_size=1, max_size=3))
        plain = all(isinstance(value, int | float) for value in values)
        offsets = plain and draw(st.booleans())
        form = f"{{ add = {toml_of(values)} }}" if offsets else toml_of(values)
        lines.append(f'"{key}" = {form}')
    return "\n".join([text, *lines, ""])


def outcome(text: str) -> object:
    """The study, or all that is said of what is wrong with it."""
    try:
        study = loads(text, "a.toml")
    except InputError as error:
        return str(error)
    return study.cases, study.warnings


def test_files_give_the_cases_and_the_words_of_whole_validations(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    kinds: list[type] = []

    @settings(max_examples=250, deadline=None, derandomize=True, database=None)
    @given(files())
    def agree(text: str) -> None:
        by_steps = outcome(text)
        with monkeypatch.context() as whole:
            whole.setattr(Step, "to", lambda *_: None)
            whole.setattr(Step, "untouched", ())
            assert outcome(text) == by_steps
        kinds.append(type(by_steps))

    agree()
    assert kinds.count(str) > 50
    assert kinds.count(tuple) > 30


@pytest.mark.parametrize(
    ("key", "value", "shared"),
    [
        ("ship.gravity.kg_m", 5.1, ("ship.levers", "ship.damping", "sea", "events", "wind")),
        ("ship.beam_m", 13.5, ("ship.levers", "ship.gravity", "sea", "events")),
        ("events.0.mass_t", 41.0, ("ship", "sea", "wind.gust")),
    ],
)
def test_what_is_not_touched_is_shared(key: str, value: float, shared: tuple[str, ...]) -> None:
    _, start = start_of(BASE)
    parts = Step(start, [path_of(key)]).to([Override(path_of(key), value, ("sweep", key))])
    assert parts is not None
    for other in shared:
        assert parts(other) is start.parts(other), other
