"""Sweeps and conditions: order and number of cases, overrides, names, warnings."""

from __future__ import annotations

import time
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_samples import BASE, EXAMPLE

from rollsim.errors import InputError
from rollsim.names import VARIABLES
from rollsim.scenario.load import Study, loads
from rollsim.scenario.schema import METHODS


def study(added: str) -> Study:
    return loads(f"{BASE}\n{added}")


def test_example_order_and_names() -> None:
    cases = loads(EXAMPLE).cases
    assert len(cases) == 15
    assert [case.index for case in cases] == list(range(15))
    assert {case.condition for case in cases} == {"deck cargo"}
    assert {case.scenario.ship.windage.area_m2 for case in cases if case.scenario.ship.windage} == {
        760.0
    }
    expected = list(product((5.10, 5.30, 5.45), (2.0, 4.0, 6.0, 8.0, 10.0)))
    assert [tuple(case.coordinates.values()) for case in cases] == expected
    assert [
        (case.scenario.ship.gravity.kg_m, case.scenario.sea.model_dump()["significant_height_m"])
        for case in cases
    ] == expected


def test_axes_of_the_example() -> None:
    axes = loads(EXAMPLE).axes
    assert [(axis.key, axis.name, axis.units, axis.values) for axis in axes] == [
        ("ship.gravity.kg_m", "kg", "m", (5.10, 5.30, 5.45)),
        (
            "sea.significant_height_m",
            "significant_height",
            "m",
            (2.0, 4.0, 6.0, 8.0, 10.0),
        ),
    ]


def test_without_sweep_and_conditions_there_is_one_case() -> None:
    (case,) = loads(BASE).cases
    assert (case.index, case.condition, case.coordinates) == (0, "base", {})
    assert case.scenario == loads(BASE).base


GRIDS = st.tuples(
    st.lists(st.floats(4.0, 6.0), min_size=1, max_size=4),
    st.lists(st.sampled_from(METHODS), min_size=1, max_size=3),
    st.lists(st.floats(1.0, 9.0), min_size=1, max_size=3),
    st.lists(st.text("abc é,=", min_size=1, max_size=3), max_size=3, unique=True),
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(GRIDS)
def test_order_and_count(grid: tuple[list[float], list[str], list[float], list[str]]) -> None:
    kgs, methods, heights, names = grid
    text = (
        f'[sweep]\n"ship.gravity.kg_m" = {kgs}\n"run.method" = {methods}\n'
        f'"sea.significant_height_m" = {heights}\n'
    )
    text += "".join(
        f'[[conditions]]\nname = "{name}"\n"ship.windage.area_m2" = {100 + i}\n'
        for i, name in enumerate(names)
    )
    cases = study(text).cases
    expected = list(product(names or ["base"], kgs, methods, heights))
    assert [(case.condition, *case.coordinates.values()) for case in cases] == expected
    for case, (name, kg, method, height) in zip(cases, expected, strict=True):
        scenario = case.scenario
        assert scenario.ship.gravity.kg_m == kg
        assert scenario.run.method == method
        assert scenario.sea.model_dump()["significant_height_m"] == height
        assert scenario.ship.windage is not None
        assert scenario.ship.windage.area_m2 == (100 + names.index(name) if names else 620.0)


def test_an_axis_may_lack_in_the_base() -> None:
    text = BASE.replace("off_centre_m = 0.0\n", "")
    cases = loads(f'{text}[sweep]\n"ship.gravity.off_centre_m" = [0, 0.1]\n').cases
    assert [case.scenario.ship.gravity.off_centre_m for case in cases] == [0.0, 0.1]


def test_axes_of_words_and_of_list_items() -> None:
    result = study(
        '[sweep]\n"sea.excitation" = ["relative", "absolute"]\n"events.0.mass_t" = [40, 50]\n'
        '"start.roll_deg" = ["static", 5]\n"wind.gust.0.speed_factor" = [1.1]\n'
        '"ship.levers.kn_m.15" = [4.2]\n"wind.from" = ["starboard"]\n'
    )
    assert [(axis.name, axis.units, axis.values) for axis in result.axes] == [
        (
            "sea_excitation" if "excitation" in VARIABLES else "excitation",
            "",
            ("relative", "absolute"),
        ),
        ("mass", "t", (40.0, 50.0)),
        ("start_roll", "", ("static", "5")),
        ("speed_factor", "1", (1.1,)),
        ("kn_15", "m", (4.2,)),
        ("wind_from", "", ("starboard",)),
    ]
    last = result.cases[-1].scenario
    assert last.events[0].model_dump()["mass_t"] == 50.0
    assert last.start.roll_deg == 5
    assert last.ship.levers.model_dump()["kn_m"][15] == 4.2
    assert last.wind is not None
    assert last.wind.from_ == "starboard"


def test_conditions_give_values_lists_and_tables() -> None:
    result = study(
        """
[[conditions]]
name = "single values"
"ship.gravity.kg_m" = 5.1
"events.0.mass_t" = 10.0
[[conditions]]
name = "lists"
"ship.levers.heel_deg" = [0, 10, 95]
"ship.levers.kn_m" = [0, 1, 4]
[[conditions.events]]
kind = "heeling-lever"
at_s = 0
lever_m = 0.1
[[conditions]]
name = "tables"
[conditions.sea]
kind = "regular"
height_m = 3
period_s = 8
[conditions.ship.gravity]
kg_m = 5.2
free_surface_m = 0.1
[[conditions]]
name = "no wind to speak of"
events = []
wind = { speed_mps = 0, from = "port" }
"""
    )
    assert [case.condition for case in result.cases] == [
        "single values",
        "lists",
        "tables",
        "no wind to speak of",
    ]
    single, lists, tables, calm = (case.scenario for case in result.cases)
    assert single.ship.gravity.kg_m == 5.1
    assert single.events[0].model_dump()["mass_t"] == 10.0
    assert single.events[0].over_s == 60.0
    assert lists.ship.levers.model_dump()["kn_m"] == (0.0, 1.0, 4.0)
    assert [event.kind for event in lists.events] == ["heeling-lever"]
    assert tables.sea.model_dump()["period_s"] == 8.0
    assert tables.ship.gravity.free_surface_m == 0.1
    assert tables.ship.name == "invented coaster"
    assert tables.wind is not None
    assert calm.events == ()
    assert calm.wind is not None
    assert calm.wind.gust == ()
    assert result.base.ship.gravity.kg_m == 5.3


def test_whole_tables_come_before_single_keys() -> None:
    (case,) = study(
        "[[conditions]]\nname = 'a'\n'ship.gravity.free_surface_m' = 0.2\n"
        "[conditions.ship.gravity]\nkg_m = 5.2\n"
    ).cases
    assert case.scenario.ship.gravity.free_surface_m == 0.2


def test_an_axis_goes_on_top_of_a_condition_that_leaves_its_key_out() -> None:
    (case,) = study(
        '[sweep]\n"sea.heading_deg" = [30]\n[[conditions]]\nname = "a"\n'
        '[conditions.sea]\nkind = "regular"\nheight_m = 3\nperiod_s = 8\n'
    ).cases
    assert case.scenario.sea.heading_deg == 30.0


def test_axis_that_only_a_conditions_list_holds_is_refused() -> None:
    with pytest.raises(InputError, match="there is no item 1 in events"):
        study('[sweep]\n"events.1.at_s" = [3]\n')


def test_warnings_are_told_once() -> None:
    result = study(
        """
[sweep]
"ship.gravity.kg_m" = [5.1, 5.2]
[[events]]
kind = "add-weight"
at_s = 10
mass_t = 300
height_m = 3
[[events]]
kind = "heeling-lever"
at_s = 4000
lever_m = 0.1
"""
    )
    changed, late = result.warnings
    assert "events.1.mass_t: events change the displacement by 7.06 %, beyond 5 %" in changed
    assert "in 2 cases, the first kg = 5.1; the levers" in changed
    assert "events.2.at_s: begins at 4000 s, and the run ends at 3600 s" in late


@pytest.mark.parametrize(
    ("masses", "warned"),
    [([212], False), ([213], True), ([-213], True), ([150, 150], True), ([213, -213], True)],
)
def test_displacement_change_is_warned_of_beyond_five_per_cent(
    masses: list[int], warned: bool
) -> None:
    text = BASE.replace('method = "DOP853"', 'method = "RK45"')
    for index, mass in enumerate(masses):
        kind = "add-weight" if mass > 0 else "remove-weight"
        text += (
            f'[[events]]\nkind = "{kind}"\nat_s = {100 * index}\nover_s = 50\n'
            f"mass_t = {abs(mass)}\nheight_m = 3\n"
        )
    assert any("displacement" in warning for warning in loads(text).warnings) is warned


def test_a_table_that_drops_a_value_is_warned_of() -> None:
    text = BASE.replace("free_surface_m = 0.0", "free_surface_m = 0.2")
    condition = "[[conditions]]\nname = 'a'\n[conditions.ship.gravity]\nkg_m = 5.2\n"
    (warning,) = loads(text + condition, "a.toml").warnings
    assert "ship.gravity: replaces the whole table: free_surface_m of the base file" in warning
    assert '"ship.gravity.free_surface_m" = ...' in warning
    assert loads(BASE + condition).warnings == ()
    other = "[[conditions]]\nname = 'a'\n[conditions.ship.damping]\ncritical_fraction = 0.02\n"
    assert loads(BASE + other).warnings == ()


def test_ten_thousand_cases_load_in_seconds() -> None:
    axes = (
        '"ship.gravity.kg_m" = { from = 5.0, to = 5.4, steps = 100 }\n'
        '"sea.significant_height_m" = { from = 2.0, to = 10.0, steps = 100 }\n'
    )
    begin = time.process_time()
    result = study(f"[sweep]\n{axes}")
    assert len(result.cases) == 10_000
    assert time.process_time() - begin < 20.0


def test_offsets_add_to_every_condition() -> None:
    result = study(
        '[sweep]\n"ship.gravity.kg_m" = { add = [-0.1, 0.0, 0.1] }\n"wind.speed_mps" = [20]\n'
        "[[conditions]]\nname = 'light'\n'ship.gravity.kg_m' = 5.2\n"
        "[[conditions]]\nname = 'plain'\n"
        "[[conditions]]\nname = 'table'\n[conditions.ship.gravity]\nkg_m = 5.4\n"
    )
    axis = result.axes[0]
    assert (axis.name, axis.values, axis.offset) == ("kg", (-0.1, 0.0, 0.1), True)
    assert not result.axes[1].offset
    assert [case.coordinates["kg"] for case in result.cases] == [-0.1, 0.0, 0.1] * 3
    kgs = [case.scenario.ship.gravity.kg_m for case in result.cases]
    assert kgs == [5.1, 5.2, 5.3, 5.2, 5.3, 5.4, 5.3, 5.4, 5.5]


def test_offsets_add_to_the_base_file_and_to_defaults() -> None:
    (low, high) = study(
        '[sweep]\n"ship.damping.cubic_s" = { add = [0.5] }\n'
        '"ship.draught_m" = { add = [-0.2, 0.2] }\n'
    ).cases
    assert low.scenario.ship.damping.cubic_s == 0.5
    assert (low.scenario.ship.draught_m, high.scenario.ship.draught_m) == (5.0, 5.4)


def test_offsets_on_an_item_of_a_condition() -> None:
    (case,) = study(
        '[sweep]\n"events.0.mass_t" = { add = [5] }\n[[conditions]]\nname = "a"\n'
        '[[conditions.events]]\nkind = "move-weight"\nat_s = 0\nmass_t = 7\nacross_m = 1\n'
    ).cases
    assert case.scenario.events[0].model_dump()["mass_t"] == 12.0
