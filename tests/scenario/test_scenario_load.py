"""Reading: the contract's example with all its values, and whatever is no scenario file."""

from __future__ import annotations

import pickle
import tomllib
from typing import Any

import pytest
from scenario_samples import BASE, EXAMPLE

from rollsim.errors import InputError
from rollsim.scenario.load import loads


def values_of(model: Any) -> Any:
    """A model as the file would hold it."""
    return model.model_dump(mode="json", by_alias=True, exclude_unset=True)


def test_every_value_of_the_example_comes_through() -> None:
    raw = tomllib.loads(EXAMPLE)
    study = loads(EXAMPLE, "coaster.toml")
    assert values_of(study.base) == raw
    assert study.text == EXAMPLE
    assert study.file == "coaster.toml"
    assert study.warnings == ()


def test_defaults_of_the_contract() -> None:
    head = BASE[: BASE.index("[ship.damping]")]
    scenario = loads(f"{head}[run]\nduration_s = 100\n").base
    assert scenario.ship.gravity.off_centre_m == 0.0
    assert scenario.ship.gravity.free_surface_m == 0.0
    damping = scenario.ship.damping
    assert (damping.linear_per_s, damping.quadratic, damping.cubic_s) == (0.0, 0.0, 0.0)
    assert damping.critical_fraction is None
    assert damping.extinction is None
    assert scenario.ship.windage is None
    assert scenario.wind is None
    assert scenario.events == ()
    assert set(scenario.limits.model_dump().values()) == {None}
    assert scenario.sea.model_dump() == {
        "kind": "calm",
        "heading_deg": 90.0,
        "ship_speed_mps": 0.0,
        "slope_coefficient": "section",
        "excitation": "relative",
        "ramp_s": 0.0,
        "shortest_wave_m": None,
    }
    assert scenario.start.model_dump() == {
        "roll_deg": 0.0,
        "roll_rate_deg_per_s": 0.0,
        "static_missing": "refuse",
    }
    assert scenario.run.model_dump() == {
        "duration_s": 100.0,
        "output_step_s": 0.5,
        "settle_s": 0.0,
        "realisations": 1,
        "seed": 1,
        "method": "block",
        "accuracy_deg": 0.01,
        "until": None,
        "relative_tolerance": 1e-8,
        "absolute_tolerance_deg": 1e-8,
    }


LEVERS = [
    'kind = "gz"\nheel_deg = [-20, -10, 0, 10, 30]\ngz_m = [-0.2, -0.1, 0, 0.1, 0.3]\nkg_m = 5\n',
    'kind = "gz"\nheel_deg = [0, 10, 30]\ngz_m = [0, 0.1, 0.3]\nkg_m = 5\ngm_m = 0.5\nkb_m = 2\n',
    'kind = "wall-sided"\nkm_m = 5.7\nbm_m = 3.0\nheel_max_deg = 30\n',
    'kind = "polynomial"\ngz_m_per_rad = [0.5, 0, -0.2]\nkg_m = 5.3\nheel_max_deg = 60\n',
]


@pytest.mark.parametrize("levers", LEVERS)
def test_every_kind_of_levers(levers: str) -> None:
    head, _, rest = BASE.partition("[ship.levers]\n")
    tail = rest[rest.index("[ship.gravity]") :]
    limits = tail[tail.index("[limits]") : tail.index("[wind]")]
    scenario = loads(head + "[ship.levers]\n" + levers + tail.replace(limits, "")).base
    assert values_of(scenario.ship.levers) == tomllib.loads(levers)


OTHERS = [
    ("[[events]]\nkind = 'add-weight'\nat_s = 1\nmass_t = 2\nheight_m = 3\n", ("events", 1)),
    ("[[events]]\nkind = 'remove-weight'\nat_s = 1\nmass_t = 2\nheight_m = 3\n", ("events", 1)),
    ("[[events]]\nkind = 'heeling-lever'\nat_s = 0\nlever_m = -0.1\n", ("events", 1)),
    (
        "[[events]]\nkind = 'change'\nkey = 'ship.gravity.kg_m'\nto = 5.5\nat_s = 9\n",
        ("events", 1),
    ),
]


@pytest.mark.parametrize(("table", "path"), OTHERS)
def test_every_kind_of_event(table: str, path: tuple[str, int]) -> None:
    event = loads(BASE + table).base.events[path[1]]
    assert values_of(event) == tomllib.loads(table)["events"][0]
    assert event.over_s == 0.0


SEAS = [
    'kind = "calm"\n',
    'kind = "regular"\nheight_m = 3\nperiod_s = 8\nphase_deg = -90\n',
    'kind = "irregular"\nspectrum = "pierson-moskowitz"\nsignificant_height_m = 3\n',
    'kind = "irregular"\nspectrum = "jonswap"\nsignificant_height_m = 3\npeak_period_s = 9\n'
    "peak_enhancement = 2.2\n",
    'kind = "irregular"\nspectrum = "bretschneider"\nsignificant_height_m = 3\n'
    "zero_crossing_period_s = 9\nslope_coefficient = 0.8\nramp_s = 60\nshortest_wave_m = 20\n",
]


@pytest.mark.parametrize("sea", SEAS)
def test_every_kind_of_sea(sea: str) -> None:
    head, _, rest = BASE.partition("[sea]\n")
    text = f"{head}[sea]\n{sea}\n{rest[rest.index('[start]') :]}"
    assert values_of(loads(text).base.sea) == tomllib.loads(sea)


def test_a_change_of_the_sea_needs_time() -> None:
    sea = 'kind = "regular"\nheight_m = 3\nperiod_s = 8\n'
    head, _, rest = BASE.partition("[sea]\n")
    text = f"{head}[sea]\n{sea}\n{rest[rest.index('[start]') :]}"
    change = '[[events]]\nkind = "change"\nkey = "sea.height_m"\nto = 0\nat_s = 9\n'
    with pytest.raises(
        InputError, match=r'events\.1\.over_s: must be above 0 s for "sea.height_m"'
    ):
        loads(text + change)
    event = loads(f"{text}{change}over_s = 5\n").base.events[1]
    assert (event.kind, event.over_s) == ("change", 5.0)


def test_a_change_of_the_wind_needs_a_wind() -> None:
    text = BASE[: BASE.index("[wind]")] + "[run]\nduration_s = 100\n"
    change = '[[events]]\nkind = "change"\nkey = "wind.speed_mps"\nto = 9\nat_s = 9\n'
    with pytest.raises(InputError, match=r"events\.0\.key: needs \[wind\]"):
        loads(text + change)


def test_changes_may_follow_each_other() -> None:
    first = '[[events]]\nkind = "change"\nkey = "wind.speed_mps"\nto = 9\nat_s = 9\nover_s = 5\n'
    assert len(loads(BASE + first + first.replace("at_s = 9", "at_s = 14")).base.events) == 3


FURTHER_KEYS = [
    ("gyradius_m = 5.3", "beam_fraction = 0.38"),
    ("gyradius_m = 5.3", "gyradius_m = 5.3\nadded_share = 0.25"),
    ("[ship.gravity]", "[ship.levers_in_waves]\ngm_per_m = -0.05\n[ship.gravity]"),
    ("[[wind.gust]]", '[wind.turbulence]\nspectrum = "davenport"\n[[wind.gust]]'),
    ("[[wind.gust]]", "[wind.turbulence]\nsurface_drag = 0.002\nintensity = 0.15\n[[wind.gust]]"),
    ("[start]", '[start]\nstatic_missing = "skip"'),
]


@pytest.mark.parametrize(("old", "new"), FURTHER_KEYS)
def test_further_keys_come_through(old: str, new: str) -> None:
    text = BASE.replace(old, new, 1)
    assert values_of(loads(text).base) == tomllib.loads(text)


def test_the_gyradius_of_a_beam_fraction_follows_the_beam() -> None:
    text = BASE.replace("gyradius_m = 5.3", "beam_fraction = 0.4")
    cases = loads(text + '[sweep]\n"ship.beam_m" = [14, 15.0]\n').cases
    assert [case.scenario.ship.gyradius for case in cases] == pytest.approx([5.6, 6.0])


@pytest.mark.parametrize(
    ("limits", "of", "event"),
    [
        ("", "", "failure"),
        ("roll_deg = 40.0\nflooding_deg = 42.0\n", "", "capsize"),
        ("roll_deg = 40.0\n", "", "failure"),
        ("", 'of = "capsize"', "capsize"),
        ("roll_deg = 40.0\nflooding_deg = 42.0\n", 'of = "failure"', "failure"),
    ],
)
def test_whose_probability_is_counted(limits: str, of: str, event: str) -> None:
    until = f"[run.until]\nrelative_error = 0.1\nmost = 100\n{of}\n"
    assert loads(BASE.replace(limits, "", 1) + until).base.until_of == event


def test_static_start() -> None:
    assert loads(BASE.replace("roll_deg = 0.0", 'roll_deg = "static"')).base.start.roll_deg == (
        "static"
    )


def test_a_study_travels_to_workers() -> None:
    study = loads(EXAMPLE)
    assert pickle.loads(pickle.dumps(study)) == study


def test_a_scenario_is_never_changed() -> None:
    scenario = loads(BASE).base
    with pytest.raises(ValueError, match="frozen"):
        scenario.ship.gravity.kg_m = 9.0
