"""Every kind of bad input: the exact place, the plain words, all faults at once."""

from __future__ import annotations

import pytest
from scenario_samples import BASE, MARK, broken

from rollsim.errors import InputError
from rollsim.scenario.load import loads

EDITS = [
    # keys: missing, unknown, misplaced
    (
        "[ship.gravity]\nkg_m = 5.30\n",
        "¤[ship.gravity]\n",
        "ship.gravity.kg_m: is missing",
        "height",
    ),
    ('name = "invented coaster"\n', "", "ship.name: is missing", "her name"),
    ("[ship.inertia]\ngyradius_m = 5.3\n", "", "ship.inertia: is missing", "[ship.inertia]"),
    ("off_centre_m", "¤off_center_m", "ship.gravity.off_center_m: unknown key", "off_centre_m?"),
    ("title", "¤titel", "titel: unknown key", "did you mean title?"),
    ("depth_m = 8.1", "¤kg_m = 8.1", "ship.kg_m: unknown key", "it stands in [ship.gravity]"),
    ("[limits]", "¤[limit]", "limit: unknown key", "did you mean limits?"),
    ("format = 1\n", "¤", "format: is missing", "version"),
    # types are strict
    ("kg_m = 5.30", 'kg_m = ¤"5.30"', 'kg_m: must be a number, got "5.30"', "metres"),
    ("kg_m = 5.30", "kg_m = ¤true", "kg_m: must be a number, got true", "metres"),
    ("kg_m = 5.30", "kg_m = ¤1979-05-27", "must be a number, got the date or time", "metres"),
    (
        "kg_m = 5.30",
        f"kg_m = ¤1{'0' * 400}",
        "must be a number, got a number that is too",
        "metres",
    ),
    ("realisations = 50", "realisations = ¤5.5", "must be a whole number, got 5.5", "random seas"),
    ("format = 1", "format = ¤true", "format: must be a whole number, got true", "version"),
    ("format = 1", "format = ¤2", "format: must be at most 1, got 2", "version"),
    ("name = ", "name = ¤3 # ", "ship.name: must be text in quotes, got 3", "her name"),
    ("0.493,", '¤"0.493",', "ship.levers.kn_m.1: must be a number", "KN at each heel"),
    ("kn_m = [", "kn_m = ¤3 # [", "ship.levers.kn_m: must be a list, got 3", "KN at each heel"),
    ("[[wind.gust]]", "¤[wind.gust]", "wind.gust: must be a list, got a table", "gusts"),
    ("[run]\n", "run = ¤3\n[other]\n", "must be a table", ""),
    # out of range, not finite
    ("kg_m = 5.30", "kg_m = ¤nan", "kg_m: must be a finite number, got nan", "metres"),
    ("kg_m = 5.30", "kg_m = ¤inf", "kg_m: must be a finite number, got inf", "metres"),
    ("0.493,", "¤-inf,", "ship.levers.kn_m.1: must be a finite number, got -inf", ""),
    ("kg_m = 5.30", "kg_m = ¤590", "ship.gravity.kg_m: must be below 60 m, got 590", "metres"),
    ("kg_m = 5.30", "kg_m = ¤59", "kg_m: must be below 28 m (twice the beam), got 59", "5.2 m"),
    ("displacement_t = 4250.0", "displacement_t = ¤0", "must be above 0 t, got 0", "tonnes"),
    ("displacement_t = 4250.0", "displacement_t = ¤-4.0", "must be above 0 t, got -4.0", "tonnes"),
    ("displacement_t = 4250.0", "displacement_t = ¤4.25", "between 313.4 and 6268 t", "in tonnes"),
    ("beam_m = 14.0", "beam_m = ¤140", "must be below 120 m", "breadth"),
    ("beam_m = 14.0", "beam_m = ¤85", "must be below 84 m (the length), got 85", "metres"),
    ("draught_m = 5.2", "draught_m = ¤9", "must be below 8.1 m (the depth), got 9", "metres"),
    ("gyradius_m = 5.3", "gyradius_m = ¤14.5", "below 14 m (the beam), got 14.5", "0.35 to 0.45"),
    ("off_centre_m = 0.0", "off_centre_m = ¤-8", "lie within ±7 m (half the beam), got -8", ""),
    (
        "speed_mps = 24.0",
        "speed_mps = ¤-1.0",
        "wind.speed_mps: must be at least 0 m/s",
        "wind speed",
    ),
    ("settle_s = 0.0", "settle_s = ¤3600", "must be below 3600 s (duration_s), got 3600", "settle"),
    (
        "output_step_s = 0.5",
        "output_step_s = ¤4e3",
        "must be at most 3600 s (duration_s)",
        "points",
    ),
    ("realisations = 50", "realisations = ¤0", "realisations: must be at least 1, got 0", "seas"),
    ("relative_tolerance = 1e-8", "relative_tolerance = ¤1e-16", "must be at least 1e-13", ""),
    # words
    ('from = "port"', 'from = ¤"north"', 'wind.from: must be "port" or "starboard"', '"port"'),
    ('"DOP853"', '¤"dop853"', 'method: must be "DOP853", "RK45", "LSODA" or "Radau"', "scipy"),
    (
        'kind = "kn"',
        'kind = ¤"gn"',
        'levers.kind: must be "kn", "gz", "wall-sided"',
        "did you mean",
    ),
    ('kind = "move-weight"', 'kind = ¤"move"', 'events.0.kind: must be "move-weight"', ""),
    ('kind = "irregular"\n', "", "sea.kind: is missing", '"calm", "regular" or "irregular"'),
    ("roll_deg = 0.0", 'roll_deg = ¤"statics"', 'must be "static" or a number', '"static"?'),
    ("roll_deg = 0.0", "roll_deg = ¤true", 'must be a number or "static", got true', ""),
    ('"section"', '¤"sections"', 'must be "section" or a number', 'did you mean "section"?'),
    # kinds of sea and spectrum
    ('kind = "irregular"', 'kind = "regular"', "sea.peak_period_s", '"irregular"'),
    (
        "peak_period_s = 11.0\n",
        "¤period_s = 11.0\n",
        'not belong to the kind "irregular"',
        "regular",
    ),
    ("peak_period_s = 11.0\n", "", "sea: must hold exactly one of peak_period_s", ""),
    ("heading_deg", "zero_crossing_period_s = 8.0\nheading_deg", "both are given", ""),
    ("heading_deg", "¤peak_enhancement = 3.3\nheading_deg", "does not belong to bretschneider", ""),
    ('"bretschneider"', '"pierson-moskowitz"', "sea.peak_period_s: does not belong to pierson", ""),
    # levers
    ("10, 15,", "10, ¤10,", "ship.levers.heel_deg.3: must increase, got 10 after 10", "larger"),
    ("[0, 5,", "[0, -5,", "heel_deg.1: must increase, got -5 after 0", "larger"),
    ("[0, 5,", "[¤1, 5,", "heel_deg.0: must start at 0, got 1", "both sides"),
    ("[0, 5,", "¤[-10, 5,", "heel_deg: must list heel 0", "both sides"),
    ("[0.0, 0.493", "[¤0.1, 0.493", "kn_m.0: must start with 0, got 0.1", "off_centre_m"),
    (", 4.264]", "]", "kn_m: must be as long as heel_deg: 15 values for 16 heels", "one lever"),
    ("80, 90]", "80, ¤190]", "heel_deg.15: must be at most 180°, got 190", "degrees"),
    # angles past the levers or the capsize angle
    ("roll_deg = 40.0", "roll_deg = ¤95", "limits.roll_deg: must not lie past the end", "capsized"),
    ("flooding_deg = 42.0", "flooding_deg = ¤95", "flooding_deg: must not lie past the end", ""),
    ("capsize_deg = 90.0", "capsize_deg = ¤91", "end of the levers at 90°, got 91", "extrapolated"),
    ("capsize_deg = 90.0", "capsize_deg = ¤190", "capsize_deg: must be at most 180°", ""),
    ("roll_deg = 0.0", "roll_deg = ¤-90", "start.roll_deg: must lie within ±90°, got -90", "caps"),
    # inertia and damping
    ("gyradius_m = 5.3", "", "must hold exactly one of gyradius_m and period_s; neither", ""),
    ("gyradius_m = 5.3", "gyradius_m = 5.3\nperiod_s = 9", "gyradius_m and period_s; both", ""),
    (
        "quadratic =",
        "critical_fraction = ¤0.1\nquadratic =",
        "cannot stand beside linear_per",
        "b1",
    ),
    ("quadratic =", "extinction = ¤{ a = 0.1 }\nquadratic =", "must stand alone", "b1 and b2"),
    ("quadratic =", "extinction = { ¤c = 0.1 }\nquadratic =", "damping.extinction.c: unknown", ""),
    # wind
    (
        "[ship.windage]\narea_m2 = 620.0\nlever_m = 6.4\n",
        "",
        "wind: needs [ship.windage]",
        "area_m2",
    ),
    (
        "[sea]",
        "[[wind.gust]]\nat_s = ¤80\nrise_s = 1\nhold_s = 1\nspeed_factor = 2\n[sea]",
        "wind.gust.1.at_s: begins at 80 s, in the gust that ends at 84 s",
        "may not overlap",
    ),
    # events
    (
        "[run]",
        '[[events]]\nkind = "remove-weight"\nat_s = 1\nmass_t = ¤4250\nheight_m = 1\n[run]',
        "events.1.mass_t: leaves a displacement of 0 t",
        "4250 t before",
    ),
    # sweep
    (
        "",
        '[sweep]\n¤"ship.gravity.kg" = [5.1]',
        '"ship.gravity.kg": unknown key',
        "ship.gravity.kg_m",
    ),
    (
        "",
        '[sweep]\n"ship.gravity.kg_m" = ¤[]',
        "must hold at least one value, got an empty",
        "list",
    ),
    ("", '[sweep]\n"ship.gravity.kg_m" = [5, ¤"6"]', 'must be a number, got "6"', "kg = "),
    ("", '[sweep]\n"ship.gravity.kg_m" = [5, ¤true]', "must be a number, got true", "list"),
    ("", '[sweep]\n"ship.gravity.kg_m" = [5, ¤nan]', "must be a finite number, got nan", "list"),
    ("", '[sweep]\n"ship.gravity.kg_m" = ¤5.3', "must be a list, got 5.3", "from = 1.0"),
    ("", '[sweep]\n"ship.beam_m" = ¤{ from = 1, to = 2 }', "steps: is missing", "from = 1.0"),
    (
        "",
        '[sweep]\n"ship.beam_m" = { from = 1, to = 2, steps = ¤1 }',
        "steps: must be at least 2",
        "",
    ),
    ("", "[sweep]\n¤ship.gravity.kg_m = [5.3]", "sweep.ship: is a table, not an axis", "in quotes"),
    ("", '[sweep]\n¤"ship.levers.kn_m" = [5.3]', "cannot be an axis", "[[conditions]]"),
    ("", '[sweep]\n¤"run.seed" = [1, 2]', 'sweep."run.seed": cannot be an axis', "same for all"),
    ("", '[sweep]\n¤"ship.name" = ["a"]', "cannot be an axis", "names"),
    ("", "[sweep]\n¤title = ['a']", "cannot be an axis", "title"),
    ("", "[sweep]\n¤format = [1]", "cannot be an axis", "format"),
    ("", '[sweep]\n¤"events.1.mass_t" = [1]', "there is no item 1 in events", "it holds 1"),
    ("", '[sweep]\n"sea.excitation" = ["relative", ¤"q"]', 'must be "relative" or "absolute"', ""),
    (
        "",
        '[sweep]\n"ship.gravity.kg_m" = [5.3, ¤5.9]\n"sea.excitation" = ["absolute"]\n',
        "needs a GM above 0, got -0.241 m",
        'kg = 5.9, sea_excitation = "absolute"',
    ),
    # conditions
    ("", "¤[[conditions]]\n'ship.beam_m' = 13", "conditions.0.name: is missing", ""),
    ("", "[[conditions]]\nname = ¤''", "conditions.0.name: must not be empty", ""),
    ("", "[[conditions]]\nname='a'\n¤'ship.beam' = 13", '"ship.beam": unknown key', "ship.beam_m"),
    ("", "[[conditions]]\nname='a'\n¤'run.seed' = 13", "cannot be changed by a condition", ""),
    ("", "[[conditions]]\nname='a'\n¤'events.4.at_s' = 1", "no item 4 in events", "holds 1"),
    ("", "[[conditions]]\nname='a'\n[[conditions]]\nname=¤'a'", '"a" is already taken', "own"),
    (
        "",
        "[sweep]\n¤'ship.beam_m' = [13.0]\n[[conditions]]\nname='a'\n'ship.beam_m' = 13",
        'stands both in the sweep and in the condition "a"',
        "one of the two",
    ),
    (
        "",
        "[sweep]\n¤'ship.gravity.kg_m' = [5]\n[[conditions]]\nname='a'\n"
        "[conditions.ship.gravity]\nkg_m = 5",
        'stands both in the sweep and in the condition "a"',
        "one of the two",
    ),
    (
        "",
        "[sweep]\n¤'events.0.mass_t' = [5]\n[[conditions]]\nname='a'\nevents = []",
        'stands both in the sweep and in the condition "a"',
        "one of the two",
    ),
    (
        "",
        "[[conditions]]\nname='a'\n¤[conditions.sea]\nkind='regular'\nheight_m=3",
        "sea.period_s: is missing",
        'condition = "a"',
    ),
    (
        "",
        "[[conditions]]\nname='a'\n'ship.levers.kn_m' = ¤[0, 1]",
        "must be as long as heel_deg",
        'condition = "a"',
    ),
    (
        "",
        "[[conditions]]\nname='a'\n'sea.excitation' = ¤'absolute'\n'ship.gravity.kg_m' = 6",
        "needs a GM above 0, got -0.341 m",
        'condition = "a"',
    ),
]


@pytest.mark.parametrize(("old", "new", "said", "hint"), EDITS, ids=[edit[2] for edit in EDITS])
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
    with pytest.raises(InputError, match="sweep.hs: unknown key") as caught:
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


def test_too_many_cases() -> None:
    axes = "\n".join(
        f'"{key}" = {{ from = 1.0, to = 2.0, steps = 1000 }}'
        for key in ("wind.speed_mps", "sea.significant_height_m")
    )
    with pytest.raises(InputError, match="asks for 1000000 cases, more than 100000"):
        loads(f"{BASE}[sweep]\n{axes}\n", "a.toml")


def test_faults_beyond_a_screen_are_counted() -> None:
    many = "\n".join(f"unknown_{i} = 1" for i in range(80))
    with pytest.raises(InputError, match="and 30 faults more"):
        loads(f"{many}\n{BASE}", "a.toml")


def test_control_characters_are_written_out() -> None:
    with pytest.raises(InputError, match=r"\\x1b\[31m: unknown key") as caught:
        loads(f'"\\u001b[31m" = 1\n{BASE}', "a.toml")
    assert "\x1b" not in str(caught.value)
