"""What is compared with what: loadings and circumstances, common storms, the worst of them."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from report_samples import TEXT, Parts, split, study
from show_samples import Make, build

from rollsim.names import Outcome
from rollsim.show.query.duels import compared, duels, ranking, verdict
from rollsim.show.query.lineup import Source, line_up, worst_storms
from rollsim.show.report.write import report
from rollsim.show.tables.pairs import comparisons

AXES = {"kg": ("m", (5.3, 5.5)), "significant_height": ("m", (3.0, 7.0))}


def swept() -> xr.Dataset:
    """Two conditions over a value of the ship and a value of the sea."""
    ds = build(("light", "deep"), realisations=3, axes=AXES)
    ds["kg"].attrs["scenario_key"] = "ship.gravity.kg_m"
    ds["significant_height"].attrs["scenario_key"] = "sea.significant_height_m"
    return ds


def test_values_of_the_ship_make_a_loading_all_others_the_circumstances() -> None:
    groups = line_up([Source(swept())])
    assert [g.circumstances for g in groups] == ["significant height 3 m", "significant height 7 m"]
    loadings = [each.name for each in groups[1].loadings]
    assert loadings == ["light, KG 5.3 m", "light, KG 5.5 m", "deep, KG 5.3 m", "deep, KG 5.5 m"]
    assert [each.case for each in groups[1].loadings] == [1, 3, 5, 7]


def test_a_case_alone_is_called_by_its_file_or_base(make: Make) -> None:
    lone = make(["base"])
    assert line_up([Source(lone, "a.nc")])[0].loadings[0].name == "base"
    files = [Source(lone, "x/a.nc"), Source(lone, "y/a.nc"), Source(lone, "b.nc")]
    assert [each.name for each in line_up(files)[0].loadings] == ["a 1", "a 2", "b"]


@pytest.mark.parametrize(
    ("old", "new"),
    [("seed = 7", "seed = 8"), ("duration_s = 240.0", "duration_s = 300.0"),
     ('kind = "irregular"', 'kind = "irregular"\nsignificant_height_m = 3.0')],
)  # fmt: skip
def test_results_with_other_storms_are_kept_apart(old: str, new: str) -> None:
    first, second = study([[1] * 5], ["base"]), study([[1] * 5], ["base"])
    assert len(line_up([Source(first, "a.nc"), Source(second, "b.nc")])) == 1
    second.attrs["scenario_text"] = TEXT.replace(old, new)
    groups = line_up([Source(first, "a.nc"), Source(second, "b.nc")])
    names = [group.circumstances for group in groups]
    assert names == ["as in the scenario, storms of a", "as in the scenario, storms of b"]


def test_loadings_are_compared_where_their_weather_is_the_same_by_its_digest() -> None:
    """A default spelled out changes no digest; a condition with seas of its own stands apart."""
    first, second = study([[1] * 5], ["base"]), study([[1] * 5], ["base"])
    for ds in (first, second):
        ds["weather_digest"] = ("case", ["abc"])
    second.attrs["scenario_text"] = TEXT.replace("[sea]", "[sea]\nheading_deg = 90.0")
    assert len(line_up([Source(first, "a.nc"), Source(second, "b.nc")])) == 1
    other = study([[1] * 5] * 2)
    other["weather_digest"] = ("case", ["abc", "xyz"])
    names = [group.circumstances for group in line_up([Source(other)])]
    assert names == ["as in the scenario, storms of A", "as in the scenario, storms of B"]
    assert comparisons(other).pairs == []
    other["weather_digest"] = ("case", ["abc", "abc"])
    assert len(comparisons(other).pairs) == 1


def test_loadings_of_several_files_are_told_apart() -> None:
    first, second = study([[1] * 5] * 2), study([[1] * 5] * 2)
    (group,) = line_up([Source(first, "a.nc"), Source(second, "b.nc")])
    assert [each.name for each in group.loadings] == ["A (a)", "B (a)", "A (b)", "B (b)"]


def test_pairs_are_compared_over_the_storms_that_both_met() -> None:
    first, second = study([[4] * 10], ["base"]), study([[1] * 6], ["base"])
    (group,) = line_up([Source(first, "a.nc"), Source(second, "b.nc")])
    (duel,) = duels(group, "failure")
    assert duel.pair == (6, 0, 0, 0, 0)


def test_ranking_goes_by_failures_and_words_follow_the_test() -> None:
    (group,) = line_up([Source(study(split(0, 12, 1, 7)))])
    (duel,) = duels(group, "failure")
    assert [group.loadings[i].name for i in ranking(group, "failure")] == ["B", "A"]
    assert verdict(duel, "A", "B") == "B safer than A in 12 of 13 discordant storms"
    none = duel._replace(p_holm=0.3)
    words = "no difference shown, B safer in 12 of 13 discordant storms"
    alone = "; shown by this pair alone, not among all comparisons made here"
    assert verdict(none, "A", "B") == words + alone
    even = none.comparison._replace(lower=-0.1, upper=0.9)
    assert verdict(none._replace(comparison=even), "A", "B") == words


def test_an_interval_without_zero_beside_no_difference_shown_is_explained() -> None:
    """By hand: 5 of 5 discordant storms of 16, exact p = 2/2^5 = 0.0625, and Tango's above 0."""
    (group,) = line_up([Source(study(split(0, 5, 0, 11)))])
    (duel,) = duels(group, "failure")
    assert duel.comparison.p_value == pytest.approx(0.0625)
    assert duel.comparison.lower > 0.0
    assert verdict(duel, "A", "B").endswith(
        "; the interval, which is approximate, leaves out 0, the exact test does not"
    )
    (row,) = comparisons(study(split(0, 5, 0, 11))).pairs
    assert (row["p_value"], row["p_value_holm"]) == (0.0625, 0.0625)


def test_loadings_are_compared_where_they_differ_in_one_thing() -> None:
    """Of light and deep at KG 5.3 and 5.5: two pairs of conditions, two of neighbours, per sea."""
    (group, _) = line_up([Source(swept())])
    named = [tuple(group.loadings[i].name for i in pair) for pair in compared(group)]
    assert sorted(named) == [
        ("deep, KG 5.3 m", "deep, KG 5.5 m"),
        ("light, KG 5.3 m", "deep, KG 5.3 m"),
        ("light, KG 5.3 m", "light, KG 5.5 m"),
        ("light, KG 5.5 m", "deep, KG 5.5 m"),
    ]


def test_neighbours_along_an_axis_of_the_ship_are_named_by_their_places() -> None:
    pairs, neighbours, omitted = comparisons(swept())
    assert (len(pairs), len(neighbours), omitted) == (4, 4, [])
    first = neighbours[0]
    place = {"condition": "light", "significant_height_m": 3.0, "axis": "kg_m"}
    ends = {"first": 5.3, "second": 5.5, "first_case": 0, "second_case": 2}
    assert (place | ends).items() <= first.items()


def test_three_places_on_an_axis_make_two_neighbours_in_rising_order() -> None:
    ds = build(["base"], realisations=4, axes={"kg": ("m", (5.5, 5.3, 5.4))})
    ds["kg"].attrs["scenario_key"] = "ship.gravity.kg_m"
    rows = comparisons(ds).neighbours
    assert [(row["first"], row["second"]) for row in rows] == [(5.3, 5.4), (5.4, 5.5)]


def test_what_is_left_out_of_a_comparison_is_named_with_the_reason_and_stands_last() -> None:
    ds = study([[1, 4, 1, 1], [4] * 4, [1] * 4, [5] * 4], ("A", "sure", "B", "odd"))
    for part in ("", "_lower", "_upper"):
        ds[f"failure_probability{part}"].values[[1, 3]] = np.nan
    (group,) = line_up([Source(ds)])
    assert [group.loadings[i].name for i in ranking(group, "failure")] == ["B", "A", "sure", "odd"]
    reasons = {1: "nothing is random there, every run capsized", 3: "not solved in any storm"}
    assert dict(comparisons(ds).omitted) == reasons
    raised = {(d.a, d.b): d.p_holm for d in duels(group, "failure")}
    assert raised[0, 2] == 1.0
    assert not any(1 in pair for pair in raised)


def test_a_case_alone_in_its_weather_is_named_beside_those_that_are_compared() -> None:
    ds = study([[1] * 5] * 3, ("A", "B", "C"))
    ds["weather_digest"] = ("case", ["abc", "abc", "xyz"])
    assert comparisons(ds).omitted == [(2, "no other case meets the same storms")]
    text = Parts(report([Source(ds, "three.nc")])).text
    assert "compared with none, for no other has met the weather: C (" in text


def test_worst_storms_come_by_capsizes_then_failures_then_roll() -> None:
    ds = study([[1, 4, 2, 4, 1], [1, 1, 2, 4, 1]])
    ds["roll_max"].values[:] = [[9, 9, 9, 9, 30], [9, 9, 9, 9, 9]]
    ds["roll_min"].values[:] = -1.0
    found = worst_storms(line_up([Source(ds)]), 5)
    assert [storm.realisation for storm in found] == [3, 1, 2, 4, 0]
    assert [(storm.capsized, storm.failed) for storm in found][:3] == [(2, 2), (1, 1), (0, 2)]


def test_runs_without_a_result_make_no_storm_bad() -> None:
    ds = study([[Outcome.NOT_SOLVED, 1, 2]], ["A"])
    ds["roll_max"].values[:] = [[99.0, 10.0, 20.0]]
    found = worst_storms(line_up([Source(ds)]), 3)
    assert [storm.realisation for storm in found] == [2, 1, 0]


def test_where_nothing_is_random_one_run_stands_for_all(make: Make) -> None:
    ds = make(realisations=4)
    ds["failure_probability"] = ds["failure_probability"] * np.nan
    groups = line_up([Source(ds)])
    assert not groups[0].random
    assert [storm.realisation for storm in worst_storms(groups, 3)] == [0]
