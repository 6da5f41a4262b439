"""The table of names against the page that fixes the names."""

from __future__ import annotations

import keyword

import pytest
import xarray

from rollsim.names import COORDINATES, VARIABLES, Outcome, label, unit_text

# The contract's table of the result, copied by hand: names, dimensions, units.
CONTRACT = (
    ("roll_angle", "case realisation t", "degree"),
    ("roll_rate", "case realisation t", "degree s-1"),
    ("wave_slope", "case realisation t", "degree"),
    ("heeling_lever", "case realisation t", "m"),
    ("centre_of_gravity_y centre_of_gravity_z", "case t", "m"),
    ("failure_time end_time", "case realisation", "s"),
    ("roll_limit_time flooding_time capsize_time", "case realisation", "s"),
    ("limit_margin failed_before_settle", "case realisation", "1"),
    ("roll_mean roll_std", "case realisation", "degree"),
    ("upcrossings side_changes side_changes_to_starboard", "case realisation", "1"),
    ("time_to_port time_to_starboard", "case realisation", "s"),
    ("message", "case realisation", ""),
    ("roll_max roll_min", "case realisation", "degree"),
    ("outcome energy_margin", "case realisation", "1"),
    ("severity_factor severity_found severity_islands", "case realisation", "1"),
    ("gm", "case", "m"),
    ("loll_angle loll_angle_port vanishing_angle vanishing_angle_port", "case", "degree"),
    ("static_heel", "case", "degree"),
    ("righting_lever steady_heeling_lever", "case heel", "m"),
    ("metacentre_y metacentre_z buoyancy_y buoyancy_z", "case heel", "m"),
    ("capsize_probability capsize_probability_lower capsize_probability_upper", "case", "1"),
    ("failure_probability failure_probability_lower failure_probability_upper", "case", "1"),
    ("capsize_rate capsize_rate_lower capsize_rate_upper", "case", "h-1"),
    ("failure_rate failure_rate_lower failure_rate_upper", "case", "h-1"),
    ("roll_period roll_period_upright encounter_period", "case", "s"),
)
EXPECTED = {
    name: (tuple(dims.split()), units) for names, dims, units in CONTRACT for name in names.split()
}

# What the file says beyond that table.
BESIDES = {
    "filled_lever",
    "filling_time",
    "free_surface_rise",
    "section_y",
    "section_z",
    "water_level",
    "displacement",
    "gyradius",
    "beam",
    "draught",
    "depth",
    "excitation",
    "weather_digest",
    "roll_limit",
    "flooding_limit",
    "capsize_limit",
}


def test_variables_are_those_of_the_contract() -> None:
    found = {name: (variable.dims, variable.units) for name, variable in VARIABLES.items()}
    assert {name: found[name] for name in EXPECTED} == EXPECTED
    assert found.keys() - EXPECTED.keys() == BESIDES


def test_coordinates_are_those_of_the_contract() -> None:
    units = {name: (variable.dims, variable.units) for name, variable in COORDINATES.items()}
    assert units == {
        "case": (("case",), "1"),
        "realisation": (("realisation",), "1"),
        "t": (("t",), "s"),
        "heel": (("heel",), "degree"),
        "kept_case": (("kept",), "1"),
        "kept_realisation": (("kept",), "1"),
        "condition": (("case",), ""),
    }


def test_histories_are_single_and_results_double() -> None:
    kinds = {name: variable.dtype for name, variable in VARIABLES.items()}
    assert {n for n, kind in kinds.items() if kind == "f4"} == {
        "roll_angle",
        "roll_rate",
        "wave_slope",
        "heeling_lever",
    }
    assert {n for n, kind in kinds.items() if kind == "i1"} == {
        "outcome",
        "failed_before_settle",
        "severity_found",
    }


def test_outcome_codes_are_those_of_the_contract() -> None:
    labels = ["not_run", "survived", "roll_limit", "flooded", "capsized", "not_solved"]
    assert [code.label for code in Outcome] == labels
    assert list(Outcome) == list(range(6))


@pytest.mark.parametrize("name", [*VARIABLES, *COORDINATES])
def test_names_are_reachable_as_attributes(name: str) -> None:
    assert not hasattr(xarray.Dataset, name)  # `ds.roll` would be a method
    assert name.isidentifier()
    assert not keyword.iskeyword(name)


def test_labels_carry_the_unit() -> None:
    assert label("roll_rate") == "roll rate, starboard down [°/s]"
    assert label("t") == "time since start of simulation [s]"
    assert label("condition") == "name of the loading condition"
    assert unit_text("kg m-3") == "kg m-3"
