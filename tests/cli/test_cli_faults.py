"""Bad input through the command line: one screen, every fault, exit 2, nothing written."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from cli_samples import CALM, COASTER, Command, edited, held, put

KG = "kg_m = 5.30"
HEELS = "[0, 5, 10, 15, 20,"
SWEPT = "[5.1, 5.7]"
GRAVITY = "[ship.gravity]\nkg_m = 5.30"
TOP_HEAVY = (KG, "kg_m = 5.8")
NO_SWEEP = ('[sweep]\n"ship.gravity.kg_m" = [5.1, 5.7]', "")
GUST = "\n[[wind.gust]]\nat_s = 8.0\nrise_s = 1.0\nhold_s = 2.0\nspeed_factor = 1.1\n"

BAD: dict[str, tuple[str, str, str]] = {
    "missing key": (
        edited(("displacement_t = 4250.0\n", "")),
        "ship.displacement_t: is missing", "[ship]",
    ),
    "missing table": (
        edited(("[ship.inertia]\ngyradius_m = 5.3\n", "")),
        "ship.inertia: is missing", "[ship]",
    ),
    "unknown key": (
        edited(("linear_per_s", "linear_per_m")),
        "ship.damping.linear_per_m: unknown key\n  did you mean linear_per_s?", "linear_per_m",
    ),
    "unknown table": (
        COASTER + "\n[limit]\nroll_deg = 3\n",
        "limit: unknown key\n  did you mean limits?", "[limit]",
    ),
    "text for a number": (
        edited((KG, 'kg_m = "5.30"')),
        'ship.gravity.kg_m: must be a number, got "5.30"', 'kg_m = "5.30"',
    ),
    "yes for a number": (
        edited((KG, "kg_m = true")),
        "ship.gravity.kg_m: must be a number, got true", "kg_m = true",
    ),
    "number for text": (
        edited(('name = "Coaster"', "name = 7")),
        "ship.name: must be text in quotes, got 7", "name = 7",
    ),
    "half a realisation": (
        edited(("realisations = 3", "realisations = 2.5")),
        "run.realisations: must be a whole number, got 2.5", "realisations = 2.5",
    ),
    "unknown word": (
        edited(('"bretschneider"', '"bretschnieder"')),
        'sea.spectrum: must be "bretschneider", "jonswap" or', 'spectrum = "bretschnieder"',
    ),
    "kg in centimetres": (
        edited((KG, "kg_m = 530")), "ship.gravity.kg_m: must be below 60 m, got 530", "kg_m = 530",
    ),
    "kg above the ship": (
        edited((KG, "kg_m = 59")),
        "ship.gravity.kg_m: must be below 28 m (twice the beam), got 59", "kg_m = 59",
    ),
    "knots for metres per second": (
        edited(("speed_mps = 20.0", "speed_mps = 200.0")),
        "wind.speed_mps: must be below 100", "speed_mps = 200.0",
    ),
    "not a number": (
        edited((KG, "kg_m = nan")),
        "ship.gravity.kg_m: must be a finite number, got nan", "kg_m = nan",
    ),
    "infinity": (
        edited(("duration_s = 20.0", "duration_s = inf")),
        "run.duration_s: must be a finite number, got inf", "duration_s = inf",
    ),
    "infinity in a table": (
        edited((" 0.0, 0.493", " 0.0, inf")),
        "ship.levers.kn_m.1: must be a finite number, got inf", "0.0, inf",
    ),
    "heels that do not increase": (
        edited((HEELS, "[0, 5, 10, 10, 20,")),
        "ship.levers.heel_deg.3: must increase, got 10 after 10", "heel_deg =",
    ),
    "tables of different lengths": (
        edited((" 4.264,", "")),
        "ship.levers.kn_m: must be as long as heel_deg: 15 values for 16 heels", "kn_m =",
    ),
    "a table that does not start at 0": (
        edited((HEELS, "[1, 5, 10, 15, 20,")),
        "ship.levers.heel_deg.0: must start at 0, got 1", "heel_deg =",
    ),
    "a lever upright": (
        edited((" 0.0, 0.493", " 0.1, 0.493")),
        "ship.levers.kn_m.0: must start with 0, got 0.1", "0.1, 0.493",
    ),
    "a limit beyond the table": (
        edited(("roll_deg = 40.0", "roll_deg = 95.0")),
        "limits.roll_deg: must not lie past the end of the levers at 90°, got 95",
        "roll_deg = 95.0",
    ),
    "capsize past the levers": (
        edited(("roll_deg = 40.0", "capsize_deg = 100.0")),
        "limits.capsize_deg: must not lie past the end of the levers at 90°, got 100",
        "capsize_deg = 100.0",
    ),
    "a start past the capsize angle": (
        edited(('roll_deg = "static"', "roll_deg = -60.0"),
               ("roll_deg = 40.0", "capsize_deg = 60.0")),
        "start.roll_deg: must lie within ±60°, got -60", "roll_deg = -60.0",
    ),
    "absolute excitation at GM below 0": (
        edited(("peak_period_s = 9.0", 'peak_period_s = 9.0\nexcitation = "absolute"')),
        'sea.excitation: "absolute" needs a GM above 0, got -0.041 m', '"ship.gravity.kg_m"',
    ),
    "a period at GM below 0": (
        edited(("gyradius_m = 5.3", "period_s = 12.0"), TOP_HEAVY),
        "ship.inertia.period_s: needs a GM above 0 in the base file, got -0.141 m", "period_s =",
    ),
    "a critical fraction at GM below 0": (
        edited(("linear_per_s = 0.012", "critical_fraction = 0.05"), TOP_HEAVY),
        "ship.damping.critical_fraction: needs a GM above 0 in the base file",
        "critical_fraction =",
    ),
    "extinction at GM below 0": (
        edited(("linear_per_s = 0.012\nquadratic = 0.35", "extinction = { a = 0.1 }"), TOP_HEAVY),
        "ship.damping.extinction: needs a GM above 0 in the base file", "extinction =",
    ),
    "wind without windage": (
        edited(("[ship.windage]\narea_m2 = 620.0\nlever_m = 6.4\n", ""),
               ('"ship.windage.area_m2" = 760.0', "")),
        "wind: needs [ship.windage]", "[wind]",
    ),
    "overlapping gusts": (
        COASTER + GUST,
        "wind.gust.1.at_s: begins at 8 s, in the gust that ends at 13 s", "at_s = 8.0",
    ),
    "no displacement": (
        edited(("displacement_t = 4250.0", "displacement_t = 0")),
        "ship.displacement_t: must be above 0 t, got 0", "displacement_t = 0",
    ),
    "negative displacement": (
        edited(("displacement_t = 4250.0", "displacement_t = -4250.0")),
        "ship.displacement_t: must be above 0 t, got -4250", "displacement_t =",
    ),
    "a sweep over an unknown key": (
        edited(('"ship.gravity.kg_m"', '"ship.gravity.kg"')),
        'sweep."ship.gravity.kg": unknown key\n  did you mean "ship.gravity.kg_m"?',
        '"ship.gravity.kg"',
    ),
    "a sweep without values": (
        edited((SWEPT, "[]")),
        'sweep."ship.gravity.kg_m": must hold at least one value', '"ship.gravity.kg_m" = []',
    ),
    "a sweep of one step": (
        edited((SWEPT, "{ from = 5.1, to = 5.7, steps = 1 }")),
        'sweep."ship.gravity.kg_m".steps: must be at least 2, got 1', '"ship.gravity.kg_m" =',
    ),
    "a swept value that cannot be": (
        edited((SWEPT, "[5.1, 57.0]")),
        "ship.gravity.kg_m: must be below 28 m (twice the beam), got 57", '"ship.gravity.kg_m" =',
    ),
    "a key both swept and in a condition": (
        COASTER + '"ship.gravity.kg_m" = 5.5\n',
        "stands both in the sweep and in the condition", '"ship.gravity.kg_m" = [',
    ),
    "two conditions of one name": (
        COASTER + '[[conditions]]\nname = "light"\n',
        'conditions.2.name: the name "light" is already taken', "",
    ),
    "no TOML": (COASTER + "kg = = 3\n", "not TOML: ", "kg = = 3"),
    "a key given twice": (COASTER + "[ship]\nbeam_m = 3.0\n", "not TOML: ", ""),
    "an empty file": ("", "format: is missing", ""),
    "another form": (
        edited(("format = 1", "format = 2")), "format: must be at most 1, got 2", "format = 2",
    ),
}  # fmt: skip


def line_of(text: str, mark: str) -> int:
    """The line on which a mark stands first."""
    return text[: text.index(mark)].count("\n") + 1


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_told_where_it_stands(name: str, rollsim: Command, tmp_path: Path) -> None:
    text, words, mark = BAD[name]
    put(tmp_path, text)
    for command in ("check", "stability", "run"):
        said = rollsim(command, "coaster.toml")
        assert (said.code, said.out) == (2, ""), said
        assert held(tmp_path) == ["coaster.toml"]
        assert "Traceback" not in said.err
        assert words in said.err
        assert len(said.err.splitlines()) <= 40
        heads = [line for line in said.err.splitlines() if not line.startswith("  ")]
        for head in heads:
            assert re.match(r"coaster\.toml:\d+:\d+: \S", head), head
        if mark:
            place = next(line for line in heads if words.partition("\n")[0] in line)
            assert int(place.split(":")[1]) == line_of(text, mark)


def test_all_faults_are_told_at_once_in_the_order_of_the_file(
    rollsim: Command, tmp_path: Path
) -> None:
    text = edited(
        ("beam_m = 14.0", "beam_m = -14.0"), (KG, "kg_m = nan"), ("quadratic", "quadric"),
        ('"bretschneider"', '"pierson"'), ("seed = 7", 'seed = "7"'),
        ('"ship.windage.area_m2"', '"ship.windage.area"'),
    )  # fmt: skip
    put(tmp_path, text)
    said = rollsim("run", "coaster.toml")
    heads = [line for line in said.err.splitlines() if not line.startswith("  ")]
    keys = [line.split(": ")[1] for line in heads]
    for key in ("ship.beam_m", "ship.gravity.kg_m", "ship.damping.quadric", "sea.spectrum",
                "run.seed"):  # fmt: skip
        assert key in keys
    assert any("ship.windage.area" in key for key in keys)
    lines = [int(line.split(":")[1]) for line in heads]
    assert lines == sorted(lines)
    assert (said.code, held(tmp_path)) == (2, ["coaster.toml"])


def test_a_screen_of_faults_is_the_most(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, COASTER + "\n[sea2]\n" + "".join(f"x{i} = 1\n" for i in range(500)) +
        "".join(f"[t{i}]\n" for i in range(500)))  # fmt: skip
    said = rollsim("check", "coaster.toml")
    assert said.code == 2
    assert len(said.err.splitlines()) < 110
    assert "more errors" in said.err


def test_a_start_at_static_heel_without_one_is_refused(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, edited(("speed_mps = 20.0", "speed_mps = 70.0")))
    said = rollsim("run", "coaster.toml")
    assert (said.code, said.out, held(tmp_path)) == (2, "", ["coaster.toml"])
    assert "start.roll_deg" in said.err
    assert "has no equilibrium within capsize_deg" in said.err


@pytest.mark.parametrize("command", ["check", "stability", "run"])
def test_what_is_no_scenario_file_is_told(command: str, rollsim: Command, tmp_path: Path) -> None:
    (tmp_path / "binary.toml").write_bytes(bytes(range(256)) * 40)
    (tmp_path / "latin.toml").write_bytes(COASTER.replace("Coaster", "Küste").encode("latin-1"))
    (tmp_path / "folder.toml").mkdir()
    os.mkfifo(tmp_path / "pipe.toml")
    before = held(tmp_path)
    for name, words in (
        ("nothing.toml", "there is no such file"), ("binary.toml", "is a binary file"),
        ("latin.toml", "is not UTF-8 text"), ("folder.toml", "is a directory"),
        ("pipe.toml", "is not a regular file"), ("/dev/zero", "is not a regular file"),
        ("", "is a directory"),
    ):  # fmt: skip
        said = rollsim(command, name)
        assert (said.code, said.out) == (2, ""), said
        assert words in said.err
        assert len(said.err.splitlines()) <= 4
        assert held(tmp_path) == before


def test_a_name_too_long_is_the_systems_refusal(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, CALM)
    long = "x" * 300 + ".nc"
    for arguments in (["run", "coaster.toml", "--out", long], ["summary", long]):
        said = rollsim(*arguments)
        assert (said.code, said.out) == (2, "")
        assert "File name too long" in said.err
        assert "Traceback" not in said.err


@pytest.mark.parametrize("keep", ["all", "none"])
def test_more_results_than_the_disk_holds_are_refused_before_they_run(
    keep: str, rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import shutil
    from collections import namedtuple

    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage(10**6, 10**6, 0))
    put(tmp_path, COASTER + f'[output]\nhistories = "{keep}"\n')
    said = rollsim("run", "coaster.toml", "--no-plots")
    assert (said.code, said.out) == (2, "")
    assert "do not fit" in said.err
    assert "give another place with --out FILE" in said.err
    assert held(tmp_path) == ["coaster.toml"]


def test_a_study_of_absurd_size_is_refused(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, edited(("duration_s = 20.0", "duration_s = 1e6"),
                         ("realisations = 3", "realisations = 1_000_000")))  # fmt: skip
    said = rollsim("run", "coaster.toml")
    assert said.code == 2
    assert re.search(r"GB of results|do not fit", said.err)
    assert held(tmp_path) == ["coaster.toml"]
