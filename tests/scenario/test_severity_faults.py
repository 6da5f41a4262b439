"""[severity]: what it may not ask for is told at its place, in plain words, with one way out."""

from __future__ import annotations

import pytest
from scenario_samples import BASE, broken

from rollsim.errors import InputError
from rollsim.scenario.load import loads

SEA = BASE[BASE.index("[sea]") : BASE.index("[start]")]
WINDS = BASE[BASE.index("[wind]") : BASE.index("[sea]")]
LIMITS = BASE[BASE.index("[limits]") : BASE.index("[wind]")]

HEAD_SEA = BASE.replace("heading_deg = 90.0", "heading_deg = 180.0")
NO_WINDAGE = BASE.replace("area_m2 = 620.0", "area_m2 = 0.0")


def without(*parts: str) -> str:
    """The base file without some of its tables."""
    text = BASE
    for part in parts:
        text = text.replace(part, "")
    return text


@pytest.mark.parametrize(
    ("text", "key", "said", "hint"),
    [
        (f"{BASE}[severity]\nfrom = 1.5\nto = ¤1.5", "severity.to", "must be above from = 1.5",
         "goes up"),
        (f"{BASE}[severity]\nfrom = 3.0\n", "severity.to", "must be above from = 3, got 2.5", "up"),
        (f"{BASE}[severity]\nfrom = ¤0.0", "severity.from", "must be at least 0.01", "least"),
        (f"{BASE}[severity]\nto = ¤'2'", "severity.to", "must be a number", "greatest"),
        (f"{BASE}[severity]\non = ¤'swell'", "severity.on", 'must be "waves", "wind"', "waves"),
        (f"{BASE}[severity]\nof = ¤'sinking'", "severity.of", 'must be "capsize" or "failure"', ""),
        (f"{BASE}[severity]\n¤upto = 2", "severity.upto", "unknown key", "to"),
        (f"{without(LIMITS)}[severity]\nof = ¤'failure'", "severity.of",
         "needs a roll or a flooding limit", 'of = "capsize"'),
        (f"{without(SEA)}¤[severity]\n", "severity", 'on = "waves", and there are no waves',
         'on = "wind" makes the wind stronger'),
        (f"{without(WINDS)}¤[severity]\non = 'wind'", "severity",
         'on = "wind", and there is no wind', 'on = "waves" makes'),
        (f"{without(WINDS, SEA)}¤[severity]\non = 'weather'", "severity",
         "there are no waves, and there is no wind", "leave [severity] out"),
        (f"{without(WINDS, SEA)}¤[severity]\n", "severity", "there are no waves",
         "give a [sea], or leave [severity] out"),
        (f"{HEAD_SEA}¤[severity]\n", "severity",
         "sea.heading_deg = 180 gives the waves no slope", 'on = "wind" makes the wind stronger'),
        (f"{HEAD_SEA.replace(WINDS, '')}¤[severity]\non = 'weather'", "severity",
         "no slope across her, and there is no wind", "turn sea.heading_deg or give a [wind]"),
        (f"{NO_WINDAGE}¤[severity]\non = 'wind'\n", "severity",
         "the wind has nothing to heel her by", 'on = "waves" makes'),
    ],
)  # fmt: skip
def test_a_fault_of_the_search(text: str, key: str, said: str, hint: str) -> None:
    faults, place = broken(text if "¤" in text else f"¤{text}")
    told = [fault for fault in faults if fault.key == key]
    assert [key] == [fault.key for fault in faults], [str(fault) for fault in faults]
    assert said in told[0].problem
    assert hint in told[0].hint
    if "¤" in text:
        assert (told[0].line, told[0].column) == place


def test_it_holds_for_all_cases() -> None:
    with pytest.raises(InputError, match=r"severity\.to\": cannot be an axis"):
        loads(f'{BASE}[severity]\n[sweep]\n"severity.to" = [2.0, 3.0]\n')
    with pytest.raises(InputError, match="cannot be changed by a condition"):
        loads(f'{BASE}[severity]\n[[conditions]]\nname = "a"\n"severity.on" = "wind"\n')


def test_a_case_that_lacks_its_weather_is_told() -> None:
    axis = '[sweep]\n"wind.speed_mps" = [0.0, 20.0]\n'
    with pytest.raises(InputError, match="there is no wind"):
        loads(f"{BASE}[severity]\non = 'wind'\n{axis}")


@pytest.mark.parametrize(
    "text",
    [
        f"{BASE}[severity]\n",
        f"{without(SEA)}[severity]\non = 'wind'\n",
        f"{without(SEA)}[severity]\non = 'weather'\n",
        f"{without(LIMITS)}[severity]\n",
        f"{BASE}[severity]\nfrom = 1.0\nto = 1.01\n",
    ],
)
def test_what_is_sound_is_taken(text: str) -> None:
    assert loads(text).base.severity is not None


def test_a_wind_that_rises_from_nothing_is_there() -> None:
    rises = '[[events]]\nkind = "change"\nkey = "wind.speed_mps"\nto = 20.0\nat_s = 9\nover_s = 9\n'
    text = BASE.replace("speed_mps = 24.0", "speed_mps = 0.0")
    assert loads(f"{text}{rises}[severity]\non = 'wind'\n").cases


def test_waves_along_her_are_there_where_the_levers_feel_them() -> None:
    feels = "[ship.levers_in_waves]\ngm_per_m = -0.1\n"
    assert loads(f"{HEAD_SEA}{feels}[severity]\n").base.severity is not None
    with pytest.raises(InputError, match="gives the waves no slope across her"):
        loads(f"{HEAD_SEA}{feels.replace('-0.1', '0.0')}[severity]\n")
    with pytest.raises(InputError, match=r"heading_deg = 0 gives (.|\n)* for heading = 0;"):
        loads(f'{BASE}[severity]\n[sweep]\n"sea.heading_deg" = [0.0, 90.0]\n')
