"""Cross-curves: between their displacements, from the scenario or a CSV file, and what is wrong."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scenario_samples import BASE

from rollsim.errors import InputError, LeverRangeError
from rollsim.scenario.load import load, loads
from rollsim.scenario.schema.curve_file import curves_in
from rollsim.ship.cross_curves import between
from rollsim.study.plan import make_plan

HEELS = list(range(0, 61, 5))
TONNES = [3000.0, 3600.0, 4250.0]
KM, BM = [6.0, 5.8, 5.66], [3.4, 3.1, 2.9]


def kn(km: float, bm: float) -> list[float]:
    """KN of a wall-sided hull at HEELS."""
    phi = np.radians(HEELS)
    return [round(float(value), 4) for value in (km + 0.5 * bm * np.tan(phi) ** 2) * np.sin(phi)]


ROWS = [kn(km, bm) for km, bm in zip(KM, BM, strict=True)]
OTHERS = f"km_m = {KM}\nkb_m = [2.1, 2.4, 2.765]\ndraught_m = [3.9, 4.5, 5.2]\n"


def scenario(rows: object = ROWS, others: str = OTHERS, tonnes: float = 4250.0) -> str:
    levers = (
        f'[ship.levers]\nkind = "cross-curves"\nheel_deg = {HEELS}\ndisplacement_t = {TONNES}\n'
        f"kn_m = {rows}\n{others}\n"
    )
    text = BASE[: BASE.index("[ship.levers]")] + levers + BASE[BASE.index("[ship.gravity]") :]
    text = text.replace("displacement_t = 4250.0\n", f"displacement_t = {tonnes}\n", 1)
    return text.replace("draught_m = 5.2\n", "", 1).replace("capsize_deg = 90.0\n", "")


def fault(text: str) -> str:
    with pytest.raises(InputError, match="ship") as caught:
        loads(text)
    return str(caught.value)


def test_between_displacements_the_shape_is_kept_and_never_overshot() -> None:
    x, y = [1.0, 2.0, 4.0, 5.0], [0.0, 0.0, 3.0, 3.1]
    at = [float(between(x, y, each)) for each in np.linspace(1.0, 5.0, 81)]
    assert np.all(np.diff(at) >= 0.0)
    assert [float(between(x, y, each)) for each in x] == pytest.approx(y, abs=1e-15)
    assert max(at[:21]) == 0.0


def test_a_draught_beside_that_of_the_curves_is_doubted() -> None:
    def doubts(draught: float) -> list[str]:
        text = f"draught_m = {draught}\ndisplacement_t = 4250.0"
        given = scenario().replace("displacement_t = 4250.0", text, 1)
        study = loads(given)
        return [line for line in study.warnings if "draught_m: is not the curves'" in line]

    assert doubts(5.2) == doubts(5.29) == []
    (line,) = doubts(4.5)
    assert "ship.draught_m: is not the curves' at 4250 t, 5.2 m, got 4.5\n  left out" in line


@pytest.mark.parametrize("at", [0.5, 5.5, math.nan])
def test_nothing_is_extrapolated(at: float) -> None:
    with pytest.raises(LeverRangeError, match="known from 1 to 5; requested at"):
        between([1.0, 2.0, 5.0], [0.0, 1.0, 2.0], at)


def test_a_case_picks_its_curve_by_its_displacement() -> None:
    axis = '[sweep]\n"ship.displacement_t" = [3000.0, 3300.0, 3600.0, 4250.0]\n'
    study = loads(scenario() + axis)
    plan = make_plan(study)
    cases = list(plan.cases)
    assert [case.draught for case in cases] == pytest.approx([3.9, 4.1945, 4.5, 5.2], abs=2e-4)
    for case, row, km, kb in zip(
        [cases[i] for i in (0, 2, 3)], ROWS, KM, (2.1, 2.4, 2.765), strict=True
    ):
        assert case.levers.kn(np.radians(HEELS)) == pytest.approx(row, abs=1e-12)
        assert float(case.levers.slope(0.0)) == pytest.approx(km, abs=1e-12)
        assert case.kb == pytest.approx(kb)
    middle = cases[1].levers.kn(np.radians(HEELS[1:]))
    assert np.all((middle < ROWS[0][1:]) & (middle > ROWS[1][1:]))


def test_a_condition_changes_displacement_and_draught_together() -> None:
    conditions = '[[conditions]]\nname = "light"\n"ship.displacement_t" = 3000.0\n'
    (case,) = loads(scenario() + conditions).cases
    assert case.scenario.ship.draught_m == pytest.approx(3.9)
    assert case.scenario.ship.displacement_t == 3000.0


def test_a_sound_booklet_is_not_doubted() -> None:
    assert not [line for line in loads(scenario()).warnings if "ship.levers" in line]


def wrong(row: int, column: int, value: float) -> list[list[float]]:
    rows = [list(each) for each in ROWS]
    rows[row][column] = value
    return rows


SWAPPED = [[*row[:4], row[5], row[4], *row[6:]] for row in ROWS]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (scenario(tonnes=4400.0), "within the cross-curves, 3000 to 4250 t, got 4400"),
        (scenario([ROWS[0], ROWS[1][:-1], ROWS[2]]), "12 values for 13 heels (row 2, 3600 t)"),
        (scenario(wrong(2, 0, 0.1)), "must start with 0, got 0.1 (row 3, 4250 t)"),
        (scenario(ROWS[:2]), "must be as long as displacement_t: 2 for 3"),
        (scenario(others="km_m = [6.0]\ndraught_m = [3.9, 4.5, 5.2]"), "displacement_t: 1 for 3"),
        (scenario(others=""), "ship.draught_m: is missing"),
        (scenario(others=OTHERS.replace("2.4", "72.5")), "kb_m.1: must be below 40 m, got 72.5"),
        (scenario(others="km_m = [0, 5.7, 5.6]\n"), "km_m.0: must be above 0 m, got 0"),
        (scenario().replace("3600.0,", "2600.0,"), "must increase, got 2600 after 3000"),
    ],
)
def test_faulty_curves_are_refused_with_their_place(text: str, said: str) -> None:
    assert said in fault(text)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([[5.0 * value for value in row] for row in ROWS], "(row 1, 3000 t); likewise in 2 more"),
        ([[round(v - 5.3 * math.sin(math.radians(h)), 3) for v, h in zip(row, HEELS, strict=True)]
          for row in ROWS], "GZ is no KN: add KG sin φ"),
        (SWAPPED, "the columns of 20° and 25° look swapped"),
        (wrong(1, 6, 3.2), "(row 2, 3600 t, column "),
    ],
)  # fmt: skip
def test_doubtful_curves_are_told_with_their_place(rows: object, said: str) -> None:
    assert any(said in line for line in loads(scenario(rows)).warnings)


CSV = "displacement_t,kn_10,kn_20,kn_30,km_m,draught_m\n3000,1.05,2.11,3.2,6.0,3.9\n\n"
CSV += "4250,1,2,3,5.7,5.2\n"


def test_a_csv_file_holds_the_same_and_the_study_carries_it(tmp_path: Path) -> None:
    table = [["displacement_t", "draught_m", *(f"kn_{heel}" for heel in HEELS[1:]), "km_m", "kb_m"]]
    for i, tonnes in enumerate(TONNES):
        draught, kb = (3.9, 4.5, 5.2)[i], (2.1, 2.4, 2.765)[i]
        table.append([str(v) for v in (tonnes, draught, *ROWS[i][1:], KM[i], kb)])
    (tmp_path / "curves.csv").write_text("\n".join(",".join(row) for row in table))
    text = scenario()
    start, end = text.index("heel_deg"), text.index("[ship.gravity]")
    path = tmp_path / "coaster.toml"
    path.write_text(text[:start] + 'file = "curves.csv"\n\n' + text[end:])
    study = load(path)
    inline = loads(text).base.ship
    assert study.base.ship.own_levers == inline.own_levers
    assert study.base.ship.draught_m == inline.draught_m
    assert loads(study.text).base == study.base


def test_columns_are_read_by_name_and_heel_0_is_added() -> None:
    lists, faults = curves_in(CSV.replace(",", ";"))
    assert not faults
    assert lists["heel_deg"] == [0.0, 10.0, 20.0, 30.0]
    assert lists["kn_m"] == [[0.0, 1.05, 2.11, 3.2], [0.0, 1.0, 2.0, 3.0]]
    assert lists["draught_m"] == [3.9, 5.2]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("3000,1.05,2.1\n", "line 1: must name the columns, got numbers"),
        (CSV.replace("kn_20", "kn20"), 'line 1, column 3: unknown column "kn20"'),
        (CSV.replace("kn_20", "kn_10"), 'column 3: "kn_10" stands there twice'),
        (CSV.replace("displacement_t", "km_m"), "has no column displacement_t"),
        (CSV.replace("2.11", "x"), 'line 2, column 3 (kn_20): must be a number, got "x"'),
        (CSV.replace(",3.9", ""), "line 2: holds 5 values for 6 columns"),
        (CSV[: CSV.index("\n")], "holds no row of numbers"),
        (CSV.replace("2.11", "nan"), "must be a number"),
    ],
)
def test_a_faulty_csv_file_is_told_line_by_line(text: str, said: str) -> None:
    lists, faults = curves_in(text)
    assert said in "; ".join(problem for problem, _ in faults)
    assert lists["kn_m"] == []


def test_a_fault_of_the_file_is_told_in_the_scenario(tmp_path: Path) -> None:
    (tmp_path / "curves.csv").write_text(CSV.replace("2.11", "2,11"))
    text = scenario()
    start, end = text.index("heel_deg"), text.index("[ship.gravity]")
    path = tmp_path / "coaster.toml"
    path.write_text(text[:start] + 'file = "curves.csv"\nkm_m = [1.0]\n\n' + text[end:])
    with pytest.raises(InputError, match="line 2: holds 7 values for 6 columns") as caught:
        load(path)
    assert "km_m: cannot stand beside file" in str(caught.value)
