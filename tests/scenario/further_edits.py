"""Edits like those of scenario_edits: changes in time, offsets, and keys that came later."""

from __future__ import annotations


def change(key: str, to: object, at: object = 10, over: object = 60) -> str:
    """An event that changes a value."""
    lines = [f"key = {key}", f"to = {to}", f"at_s = {at}", f"over_s = {over}"]
    return "\n".join(["[[events]]", 'kind = "change"', *lines, ""])


KG, OFF, FREE = (f'"ship.gravity.{key}"' for key in ("kg_m", "off_centre_m", "free_surface_m"))
WIND, HEIGHT = '"wind.speed_mps"', '"sea.height_m"'
CONDITION = "[[conditions]]\nname='a'\n"
GRAVITY, GUST = "[ship.gravity]", "[[wind.gust]]"
GYRADIUS = "gyradius_m = 5.3"
ELEVATIONS = "{ from = -3.0, to = 3.0, steps = 13 }"
UNTIL = "[run.until]\nrelative_error = 0.1\nmost = 99\nof = "

STEP = "[[lesson.steps]]\ntext = 'raise G'\n"
LESSON = "[lesson]\nquestion = 'which?'\nanswers = ['list', 'loll']\n"
FURTHER_EDITS = [
    # inertia, levers in waves, turbulence, start and until
    (GYRADIUS, f"{GYRADIUS}\nadded_share = ¤1.0", "must be below 1, got 1.0", "share"),
    (GYRADIUS, "beam_fraction = ¤5.3", "beam_fraction: must be below 1, got 5.3", "beam"),
    (GYRADIUS, f"{GYRADIUS}\nbeam_fraction = 0.4", "gyradius_m and beam_fraction are given", ""),
    (
        "",
        f"{CONDITION}'ship.inertia.added_share' = ¤0.2\n'sea.excitation' = 'absolute'",
        "added_share: belongs to relative excitation alone, got 0.2",
        "leave it out",
    ),
    (
        GRAVITY,
        f'[ship.levers_in_waves]\nelevations_m = {ELEVATIONS}\nfrom = ¤"hull"\n{GRAVITY}',
        'ship.levers_in_waves.from: needs levers of kind "hull"',
        "give gm_per_m",
    ),
    (
        GRAVITY,
        f"¤[ship.levers_in_waves]\n{GRAVITY}",
        'must hold exactly one of gm_per_m and from = "hull"',
        "the hull's own levers",
    ),
    (
        GRAVITY,
        f"[ship.levers_in_waves]\ngm_per_m = -0.1\nelevations_m = ¤{ELEVATIONS}\n{GRAVITY}",
        "elevations_m: belongs to levers from the hull",
        "leave it out",
    ),
    (
        GUST,
        f'[wind.turbulence]\nspectrum = ¤"kaimal"\n{GUST}',
        'wind.turbulence.spectrum: must be "davenport", got "kaimal"',
        "spectrum",
    ),
    (GUST, f"[wind.turbulence]\nintensity = ¤1.5\n{GUST}", "must be below 1, got 1.5", "deviation"),
    (GUST, f"[wind.turbulence]\nsurface_drag = ¤0\n{GUST}", "must be above 0, got 0", "drag"),
    ("[start]", '[start]\nstatic_missing = ¤"drop"', 'must be "refuse" or "skip"', "heel"),
    ("", f'{UNTIL}¤"sinking"', 'must be "capsize" or "failure"', ""),
    # changes of a value in time
    ("", change('¤"ship.beam_m"', 5), 'events.1.key: must be "ship.gravity.kg_m"', ""),
    ("", change(KG, "¤99"), "events.1.to: must be below 60 m, got 99", "height of"),
    ("", change(KG, "¤29"), "to: must lie within ±28 m (twice the beam), got 29", "in metres"),
    ("", change(OFF, "¤-7"), "within ±7 m (half the beam), got -7", ""),
    ("", change(FREE, "¤-0.1"), "to: must be at least 0 m, got -0.1", "rise"),
    ("", change(WIND, "¤100"), "to: must be below 100 m/s, got 100", "wind speed"),
    ("", change(f"¤{HEIGHT}", 3), 'needs a regular sea, got "irregular"', "regular sea alone"),
    (
        "",
        change(WIND, 3) + change(KG, 5) + change(WIND, 9, "¤69.9", 0),
        "events.3.at_s: begins at 69.9 s, and the change before ends at 70 s",
        "changes of wind.speed_mps may not overlap",
    ),
    (
        "",
        change(WIND, 3, 10, 0) + change(WIND, 9, "¤10", 0),
        "events.2.at_s: begins at 10 s, and the change before ends at 10 s",
        "may not overlap",
    ),
    # a lesson
    (
        "",
        f"{LESSON}answer = ¤'neither'",
        'lesson.answer: must be one of answers, got "neither"',
        'allowed here: "list", "loll"',
    ),
    (
        "",
        "[lesson]\nquestion = 'which?'\nanswers = ¤['loll']\nanswer = 'loll'",
        "at least 2 answers",
        "choice",
    ),
    (
        "",
        "[lesson]\nquestion = 'which?'\nanswers = ['loll', ¤'loll']\nanswer = 'loll'",
        'lesson.answers.1: "loll" stands there twice',
        "leave one out",
    ),
    ("", "¤[lesson]\nquestion = 'which?'\nanswers = ['a', 'b']", "answer: is missing", "right"),
    (
        "",
        f"{LESSON}answer = 'list'\n{CONDITION}'lesson.answer' = ¤'both'",
        'lesson.answer: must be one of answers, got "both"',
        'for condition = "a"',
    ),
    (
        "",
        f"[sweep]\n¤'lesson.answer' = ['list', 'loll']\n{LESSON}answer = 'list'",
        "cannot be an axis",
        "use [[conditions]] for a lesson",
    ),
    # the steps of an exercise
    ("", "¤[lesson]\nhint = 'none'", "question: must stand there, or [[lesson.steps]]", "quotes"),
    (
        "",
        f"{STEP}gm_m = ¤[0.5, 0.1]",
        "gm_m: must go from the least to the greatest, got [0.5, 0.1]",
        "",
    ),
    ("", f"¤{STEP}answers = ['a', 'b']\nanswer = 'a'", "question: must stand there with", ""),
    (
        "",
        f"{STEP}question = 'which?'\nanswers = ['a', 'b']\nanswer = ¤'c'",
        'lesson.steps.0.answer: must be one of answers, got "c"',
        'allowed here: "a", "b"',
    ),
    (
        "",
        f"{STEP}condition = ¤'heavy'\n{CONDITION}'ship.gravity.kg_m' = 5.0",
        'condition: must name one of the conditions, got "heavy"',
        'there are "a"',
    ),
    # offsets
    ("", '[sweep]\n"ship.beam_m" = { add = ¤[] }', "add: must hold at least one value", "add"),
    ("", '[sweep]\n"ship.beam_m" = { add = [0, ¤"1"] }', 'must be a number, got "1"', "axis"),
    ("", '[sweep]\n"ship.beam_m" = { add = [0], ¤to = 1 }', "to: unknown key", "axis"),
    (
        "",
        '[sweep]\n¤"wind.from" = { add = [1] }',
        'adds to a number, and the base file gives "port"',
        "number",
    ),
    (
        "",
        f"[sweep]\n¤'start.roll_deg' = {{ add = [1] }}\n{CONDITION}'start.roll_deg' = 'static'",
        'adds to a number, and condition "a" gives "static"',
        "number there",
    ),
    (
        "",
        f"[sweep]\n'ship.gravity.kg_m' = {{ add = [0, ¤30] }}\n{CONDITION}'ship.gravity.kg_m' = 5",
        "kg_m: must be below 28 m (twice the beam), got 35",
        'for condition = "a", kg = 30',
    ),
]
