"""[ship.loading]: what follows from it, in cases too, and what is wrong or doubtful in it."""

from __future__ import annotations

from itertools import pairwise

import pytest
from loading_samples import LOADING, scenario
from scenario_samples import BASE

from rollsim.errors import InputError
from rollsim.scenario.expand.overrides import applied
from rollsim.scenario.load import loads
from rollsim.scenario.schema import Scenario
from rollsim.scenario.text.parse import parse

MASSES = (1480.0, 2400.0, 220.0, 420 * 0.030 + 310 * 0.015 * 1.05, 0.4 * 93.6 * 1.025, 80.0)


def test_masses_and_moments_give_displacement_and_gravity() -> None:
    ship = loads(scenario()).base.ship
    assert ship.displacement_t == pytest.approx(sum(MASSES))
    heights = (6.1, 4.6, 9.2, None, 0.24, 0.6 * 80.0 / 93.6 / 1.025)
    moment = sum(m * h for m, h in zip(MASSES, heights, strict=True) if h is not None)
    moment += 420 * 0.030 * 8.6 + 310 * 0.015 * 1.10 * 9.0
    assert ship.gravity.kg_m == pytest.approx(moment / sum(MASSES))
    across = 3.25 * (MASSES[5] - MASSES[4]) / sum(MASSES)
    assert ship.gravity.off_centre_m == pytest.approx(across)
    surface = 2.0 * 1.025 * 12.0 * 6.5**3 / 12.0 / sum(MASSES)
    assert ship.gravity.free_surface_m == pytest.approx(surface)


def test_what_follows_counts_as_left_out() -> None:
    ship = loads(scenario()).base.ship
    assert not {"displacement_t", "gravity"} & ship.model_fields_set


def test_windage_adds_up_by_moments_above_half_the_draught() -> None:
    area, lever = loads(scenario()).base.ship.whole_windage or (0.0, 0.0)
    assert area == 740.0
    assert lever == pytest.approx((620.0 * 6.4 + 120.0 * (9.0 - 2.6)) / 740.0)


def test_the_gyradius_comes_from_the_masses_where_it_is_asked_for() -> None:
    masses = "from_masses = { lightship_beam_fraction = 0.4, water_share = 0.21 }"
    ship = loads(scenario().replace("gyradius_m = 5.3", masses)).base.ship
    assert ship.gyradius == pytest.approx(1.1 * 3.9, abs=0.4)
    thicker = scenario().replace('name = "cargo"', 'name = "cargo"\nbreadth_m = 11.0')
    broader = loads(thicker.replace("gyradius_m = 5.3", masses)).base.ship
    assert broader.gyradius is not None
    assert ship.gyradius is not None
    assert broader.gyradius**2 - ship.gyradius**2 == pytest.approx(
        1.21 * 2400.0 / sum(MASSES) * 11.0**2 / 12.0
    )


AXES = (
    '[sweep]\n"ship.loading.tanks.0.filling_percent" = [0.0, 40.0, 100.0]\n',
    '[sweep]\n"ship.loading.weights.1.mass_t" = [0.0, 300.0]\n"sea.heading_deg" = [60.0, 90.0]\n',
    '[sweep]\n"ship.loading.tanks.1.box_m.top" = [1.3, 1.5]\n',
    '[[conditions]]\nname = "light"\n"ship.loading.weights.0.mass_t" = 2300.0\n'
    '[[conditions]]\nname = "liquid"\n"ship.loading.tanks.0.free_surface" = "liquid"\n',
)


@pytest.mark.parametrize("axes", AXES)
def test_every_case_is_what_its_whole_validation_gives(axes: str) -> None:
    study = loads(scenario(more=axes))
    raw = parse(study.text, "x")
    bare = {key: value for key, value in raw.items() if key not in ("sweep", "conditions")}
    for spec in study.cases:
        given = Scenario.model_validate(bare)
        values = {axis.key: spec.coordinates[axis.name] for axis in study.axes}
        for condition in raw.get("conditions", []):
            if condition["name"] == spec.condition:
                values |= {key: value for key, value in condition.items() if key != "name"}
        edited = applied(bare, [_override(key, value) for key, value in values.items()])
        given = Scenario.model_validate(edited)
        assert spec.scenario == given
        assert spec.scenario.ship.displacement_t == given.ship.displacement_t
        assert spec.scenario.ship.gravity == given.ship.gravity


def _override(key: str, value: object):  # type: ignore[no-untyped-def]
    from rollsim.scenario.expand.overrides import Override

    path = tuple(int(part) if part.isdigit() else part for part in key.split("."))
    return Override(path, value, ())


def test_a_filling_changes_displacement_from_case_to_case() -> None:
    cases = loads(scenario(more=AXES[0])).cases
    tonnes = [case.scenario.ship.displacement_t for case in cases]
    assert [b - a for a, b in pairwise(tonnes)] == pytest.approx(
        [0.4 * 93.6 * 1.025, 0.6 * 93.6 * 1.025]
    )
    assert cases[2].scenario.ship.gravity.free_surface_m < (
        cases[1].scenario.ship.gravity.free_surface_m
    )


FAULTS = [
    ("mass_t = 2400.0", "mass_t = -1.0", "weights.0.mass_t: must be at least 0 t, got -1"),
    ("filling_percent = 40.0", "filling_percent = 101.0", "must be at most 100 %, got 101"),
    ("filling_percent = 40.0", "", "exactly one of filling_percent and mass_t; neither is given"),
    ("mass_t = 80.0", "mass_t = 800.0", "is more than the tank holds (95.94 t), got 800"),
    ("mass_t = 1480.0, ", "", "lightship.mass_t: is missing"),
    ("lightship = { mass_t = 1480.0, height_m = 6.10, along_m = 38.2 }", "",
     "ship.loading.lightship: is missing"),
    ("port = -6.5, starboard = 0.0", "port = 0.0, starboard = -6.5",
     "box_m.starboard: must lie beyond port (0 m), got -6.5 (port)"),
    ('name = "starboard"', 'name = "port"', '"port" stands there twice'),
    ("along_m = 40.0", "along_m = 300.0", "a length or more away from the ship, got 300 (timber)"),
    ("along_m = 40.0", "across_m = -15.0", "must lie within ±14 m (the beam), got -15 (timber)"),
    ('kind = "icing"', 'kind = "snow"', 'must be "icing", got "snow"'),
    ("mass_t = 80.0", 'mass_t = 80.0\ncrossflow = { with = "aft", time_constant_s = 9.0 }',
     'there is no other tank "aft"'),
    ("[ship.loading]", "[ship.gravity]\nkg_m = 5.3\n\n[ship.loading]",
     "ship.gravity: cannot stand beside [ship.loading]"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said"), FAULTS, ids=[each[2][:40] for each in FAULTS])
def test_a_faulty_loading_is_refused_in_words(old: str, new: str, said: str) -> None:
    with pytest.raises(InputError, match=r"loading|gravity") as caught:
        loads(scenario(LOADING.replace(old, new, 1)))
    assert said in str(caught.value)


EVENT = (
    '[[events]]\nkind = "fill-tank"\ntank = "{}"\nto_percent = 100.0\nat_s = {}\nover_s = 50.0\n'
)


@pytest.mark.parametrize(
    ("events", "said"),
    [
        (EVENT.format("aft", 10.0), 'there is no tank "aft" in [ship.loading]'),
        (EVENT.format("port", 10.0) + EVENT.format("port", 40.0), "may not overlap"),
    ],
)
def test_a_tank_that_cannot_be_filled_is_told(events: str, said: str) -> None:
    with pytest.raises(InputError, match=r"events\.") as caught:
        loads(scenario(more=events))
    assert said in str(caught.value)


DOUBTS = [
    ("along_m = 40.0", "along_m = 90.0", "lies beyond her ends (0 to 84 m), got 90 (timber)"),
    ("height_m = 9.2", "height_m = 25.0", "is not between the keel and 20.2 m, got 25 (timber)"),
    ("height_m = 6.10", "height_m = 2.0", "is 0.25 of the depth, got 2"),
    ("port = -6.5,", "port = -7.5,", "lies outside the hull (-7 to 7 m), got -7.5 (port)"),
    ("port = 0.0, starboard = 6.5", "port = -1.0, starboard = 6.5",
     '"starboard" overlaps "port"'),
    ("deck_area_m2 = 420.0", "deck_area_m2 = 2000.0", "is more than length times beam"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said"), DOUBTS, ids=[each[2][:40] for each in DOUBTS])
def test_a_doubtful_loading_is_warned_of(old: str, new: str, said: str) -> None:
    warned = loads(scenario(LOADING.replace(old, new, 1))).warnings
    assert any(said in line for line in warned), warned


def test_the_sample_is_not_doubted() -> None:
    assert loads(scenario()).warnings == loads(BASE).warnings
