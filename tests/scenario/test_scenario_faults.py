"""Every kind of bad input: the exact place, the plain words, all faults at once."""

from __future__ import annotations

import pytest
from further_edits import FURTHER_EDITS
from scenario_edits import EDITS
from scenario_samples import BASE, MARK, broken

from rollsim.errors import InputError
from rollsim.scenario.load import loads

ALL = [*EDITS, *FURTHER_EDITS]


@pytest.mark.parametrize(("old", "new", "said", "hint"), ALL, ids=[edit[2] for edit in ALL])
def test_fault_is_told_at_its_place(old: str, new: str, said: str, hint: str) -> None:
    marked = BASE.replace(old, new, 1) if old else BASE + new
    text = marked if MARK in marked else f"{MARK}{marked}"
    faults, place = broken(text)
    told = [f for f in faults if said in f.text("coaster.toml")]
    assert told, [f.text("coaster.toml") for f in faults]
    assert hint in told[0].hint
    if MARK in marked:
        assert (told[0].line, told[0].column) == place


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ("[ship.inertia]\nperiod_s = ¤9.0\n", "ship.inertia.period_s"),
        (
            "[ship.inertia]\ngyradius_m = 5.3\n[ship.damping]\ncritical_fraction = ¤0.05\n",
            "ship.damping.critical_fraction",
        ),
        (
            "[ship.inertia]\ngyradius_m = 5.3\n[ship.damping]\nextinction = ¤{ a = 0.1 }\n",
            "ship.damping.extinction",
        ),
    ],
)
@pytest.mark.parametrize("kg", ["5.659", "5.7"])
def test_conversions_need_the_base_gm(table: str, key: str, kg: str) -> None:
    head, _, rest = BASE.partition("[ship.inertia]")
    tail = rest[rest.index("[ship.windage]") :]
    text = (head + table + tail).replace("kg_m = 5.30", f"kg_m = {kg}")
    faults, place = broken(text)
    assert [f.key for f in faults] == [key]
    assert (faults[0].line, faults[0].column) == place
    assert "needs a GM above 0 in the base file" in faults[0].problem
    assert "gyradius_m" in faults[0].hint
    assert loads(text.replace("¤", "").replace(f"kg_m = {kg}", "kg_m = 5.3")).cases


def test_a_conversion_serves_cases_whose_own_gm_is_negative() -> None:
    text = BASE.replace("gyradius_m = 5.3", "period_s = 17.0")
    study = loads(text + '[sweep]\n"ship.gravity.kg_m" = [5.3, 5.8]\n')
    assert [case.coordinates["kg"] for case in study.cases] == [5.3, 5.8]


def test_absolute_excitation_needs_gm() -> None:
    text = BASE.replace('"relative"', '¤"absolute"').replace("kg_m = 5.30", "kg_m = 5.659")
    faults, place = broken(text)
    assert [(f.line, f.column) for f in faults] == [place]
    assert faults[0].problem == '"absolute" needs a GM above 0, got 0 m'


def test_all_faults_at_once_in_the_order_of_the_file() -> None:
    text = (
        BASE.replace("beam_m = 14.0", "beam_m = '14'")
        .replace("10, 15,", "10, 9,")
        .replace("off_centre_m", "off_center_m")
        .replace("[ship.windage]\narea_m2 = 620.0\nlever_m = 6.4\n", "")
        .replace("duration_s = 3600.0", "duration_s = 0")
        + '[sweep]\n"ship.gravity.kg_m" = [5.1, 590]\n"hs" = [1]\n'
    )
    with pytest.raises(InputError, match=r"sweep\.hs: unknown key") as caught:
        loads(text, "a.toml")
    assert [fault.key for fault in caught.value.faults] == [
        "ship.beam_m",
        "ship.levers.heel_deg.3",
        "ship.gravity.off_center_m",
        "wind",
        "run.duration_s",
        "ship.gravity.kg_m",
        "sweep.hs",
    ]


def test_contract_form_of_a_fault() -> None:
    text = BASE.replace("kg_m = 5.30", "kg_m = 59")
    line = text[: text.index("kg_m = 59")].count("\n") + 1
    with pytest.raises(InputError, match="twice the beam") as caught:
        loads(text, "coaster.toml")
    assert str(caught.value) == (
        f"coaster.toml:{line}:8: ship.gravity.kg_m: must be below 28 m (twice the beam), got 59\n"
        "  a height above the keel in metres; the draught here is 5.2 m"
    )


def test_the_same_fault_of_many_cases_is_told_once() -> None:
    grid = '"ship.gravity.kg_m" = [5.1, 59.0]\n"wind.speed_mps" = [1, 2, 3]\n'
    with pytest.raises(InputError, match="twice the beam") as caught:
        loads(f"{BASE}[sweep]\n{grid}", "a.toml")
    assert len(caught.value.faults) == 1
    assert caught.value.faults[0].hint.startswith("in 3 cases, the first kg = 59, speed = 1; ")


@pytest.mark.parametrize("axis", ["ship.gravity.kg_m = [5.3]", "'run.seed' = 3", "nonsense = true"])
def test_a_key_that_is_no_axis_is_told_once(axis: str) -> None:
    with pytest.raises(InputError, match=r"axis|unknown key") as caught:
        loads(f"{BASE}[sweep]\n{axis}\n", "a.toml")
    assert len(caught.value.faults) == 1


def test_too_many_cases() -> None:
    axes = "\n".join(
        f'"{key}" = {{ from = 1.0, to = 2.0, steps = 1000 }}'
        for key in ("wind.speed_mps", "sea.significant_height_m")
    )
    with pytest.raises(InputError, match="makes 1000000 cases, more than 100000"):
        loads(f"{BASE}[sweep]\n{axes}\n", "a.toml")


def test_faults_beyond_a_screen_are_counted() -> None:
    many = "\n".join(f"unknown_{i} = 1" for i in range(80))
    with pytest.raises(InputError, match="and 30 more errors"):
        loads(f"{many}\n{BASE}", "a.toml")


def test_control_characters_are_written_out() -> None:
    with pytest.raises(InputError, match=r"\\x1b\[31m: unknown key") as caught:
        loads(f'"\\u001b[31m" = 1\n{BASE}', "a.toml")
    assert "\x1b" not in str(caught.value)
