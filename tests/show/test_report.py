"""The report: what it says is what the result says, and nothing of a file is ever obeyed."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from markupsafe import Markup
from report_samples import HOSTILE, TEXT, Parts, column, parts, row, split, study
from show_samples import Make, build

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import MachineError, printable
from rollsim.names import Outcome
from rollsim.show.query.lineup import Source
from rollsim.show.report import write as room
from rollsim.show.report.blocks import Picture
from rollsim.show.report.write import report, source_of, write_report
from rollsim.show.tables.summary import case_row

ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "main", "header", "section", "div", "figure",
    "figcaption", "h1", "h2", "h3", "h4", "p", "ul", "li", "table", "caption", "thead", "tbody",
    "tr", "th", "td", "details", "summary", "pre", "svg", "g", "path", "defs", "use", "clippath",
    "rect",
}  # fmt: skip
SPACES = {"xmlns", "xmlns:xlink"}
"""Names of languages, which look like addresses and are never fetched."""


@pytest.fixture(scope="module")
def hostile() -> Parts:
    """A report on a result whose every text is hostile."""
    ds = build([HOSTILE, "b"], realisations=6, title=HOSTILE)
    text = f"title = '''{HOSTILE}'''\n[ship]\nname = '''{HOSTILE}'''\n"
    ds.attrs |= {"scenario_text": text, "history": HOSTILE, HOSTILE: HOSTILE}
    return parts(ds, names=[HOSTILE])


@pytest.fixture(scope="module")
def plain() -> Parts:
    """A report on 1000 storms: A fails in 3 of 90 that tell A and B apart."""
    return parts(study(split(5, 3, 87, 905)))


@pytest.fixture
def unseen(monkeypatch: pytest.MonkeyPatch) -> None:
    """No picture is drawn, for tests of the words alone."""
    monkeypatch.setattr(room, "picture", lambda _, __, caption: Picture(Markup(), caption))


def test_hostile_texts_are_text(hostile: Parts) -> None:
    assert {tag for tag, _ in hostile.tags} <= ALLOWED
    assert hostile.text.count(printable("<script>alert(1)</script>")) >= 5
    assert "onerror" not in {key for _, held in hostile.tags for key in held}
    assert "\u202e" not in hostile.text


@pytest.mark.parametrize("which", ["hostile", "plain"])
def test_nothing_can_run_or_be_fetched(which: str, request: pytest.FixtureRequest) -> None:
    page: Parts = request.getfixturevalue(which)
    for _, held in page.tags:
        assert not [key for key in held if key.startswith("on") or key in ("src", "style")]
        assert not [key for key in held.keys() - SPACES if "//" in held[key]]
    assert all(link.startswith("#") for link in page.attributes("xlink:href"))
    assert "url(" not in page.style
    assert "@import" not in page.style


def test_policy_comes_first_and_names_the_style_alone(plain: Parts) -> None:
    metas = [held for tag, held in plain.tags if tag == "meta"]
    assert metas[0] == {"charset": "utf-8"}
    digest = base64.b64encode(hashlib.sha256(plain.style.encode()).digest()).decode()
    assert metas[1]["content"] == (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    )


def test_names_within_pictures_are_their_own(plain: Parts) -> None:
    names = plain.attributes("id")
    assert len(names) == len(set(names)) > 50
    used = {link[1:] for link in plain.attributes("xlink:href")}
    used |= {
        name for held in plain.attributes("clip-path") for name in re.findall(r"#([^)]+)", held)
    }
    assert used <= set(names)


def test_ranking_is_said_with_its_uncertainty(plain: Parts) -> None:
    assert (
        "A safer than B in 87 of 90 discordant storms (p < 0.001; after Holm p < 0.001)"
        in plain.text
    )
    assert row(plain, "A", "B")[2:7] == ["3", "87", "5", "905", "0"]
    assert column(plain, "P(A) − P(B)", "A", "B").startswith("-0.084 [-0.103, -0.06")


@pytest.mark.usefixtures("unseen")
def test_a_small_difference_is_called_none_shown() -> None:
    """By hand: 4 of 5 discordant storms, two-sided p = 2 (1 + 5) / 32 = 0.375."""
    page = parts(study(split(0, 1, 4, 35)))
    assert "no difference shown between any of the 2 loadings" in page.text
    assert column(page, "p (Holm)", "A", "B") == "0.38"
    assert "no difference shown, A safer in 4 of 5 discordant storms" in page.text
    assert "A safer than B in" not in page.text


@pytest.mark.usefixtures("unseen")
def test_p_values_are_raised_for_all_pairs_of_the_circumstances() -> None:
    """By hand: A against B and C alike splits 0 to 6, p = 2 / 64, three times that after Holm."""
    rows = [[1] * 12, [4] * 6 + [1] * 6, [4] * 6 + [1] * 6]
    page = parts(study(rows, ("A", "B", "C")))
    assert column(page, "p (Holm)", "A", "B") == "0.094"
    assert "A safer than B" not in page.text


@pytest.mark.usefixtures("unseen")
def test_tables_say_what_the_summary_says(make: Make) -> None:
    ds = make(realisations=12, axes={"significant_height": ("m", (3.0, 7.0))})
    page = parts(ds)
    for case in range(ds.sizes["case"]):
        held = case_row(ds, case)
        name, height = held["condition"], f"{held['significant_height_m']:g}"
        label = f"{case} · {name} · significant height {height} m"
        assert column(page, label, "capsized") == str(held["capsized"])
        assert column(page, label, "failure probability").startswith(
            f"{held['failure_probability']:.3f} [{held['failure_probability_lower']:.3f}, "
        )
    assert column(page, "0 · light", "GM [m]") == f"{float(ds['gm'][0]):.3f}"


@pytest.mark.usefixtures("unseen")
def test_alike_statics_stand_once(make: Make) -> None:
    page = parts(make(axes={"significant_height": ("m", (3.0, 7.0))}))
    header = next(cells for cells in page.cells if "0 · light" in cells)
    assert header == ["", "0 · light", "2 · deck cargo", "4 · top heavy"]


@pytest.mark.usefixtures("unseen")
def test_a_place_of_a_sweep_stands_with_its_whole_name_and_unit(make: Make) -> None:
    page = parts(make(["base"], axes={"kg": ("m", (5.2, 5.4)), "heading": ("degree", (90.0,))}))
    header = next(cells for cells in page.cells if "0 · KG 5.2 m · heading 90°" in cells)
    assert header == ["", "0 · KG 5.2 m · heading 90°", "1 · KG 5.4 m · heading 90°"]


def test_inputs_are_those_of_the_scenario(plain: Parts) -> None:
    assert ["ship.gravity.kg_m", "5.3"] in plain.cells
    assert column(plain, "light", "ship.gravity.kg_m") == "5.3"


@pytest.mark.usefixtures("unseen")
def test_a_scenario_that_cannot_be_read_is_said_to_be_so(make: Make) -> None:
    ds = make()
    ds.attrs["scenario_text"] = "no [ toml"
    assert "carries no scenario that can be read" in parts(ds).text


@pytest.mark.usefixtures("unseen")
def test_provenance_knows_the_file_its_digest_and_the_scenario(tmp_path: Path) -> None:
    (tmp_path / "a.nc").write_bytes(b"bytes of a result")
    source = source_of(tmp_path / "a.nc", study(split(1, 1, 1, 9)))
    page = Parts(report([source]))
    assert row(page, "file") == ["file", "a.nc"]
    assert row(page, "file_sha256")[1] == hashlib.sha256(b"bytes of a result").hexdigest()
    assert row(page, "seed") == ["seed", "7"]
    assert row(page, "method") == ["method", "block"]
    assert " ".join(TEXT.split()) in page.text


@pytest.mark.usefixtures("unseen")
def test_cautions_are_there_and_loll_is_warned_of_only_where_it_is(plain: Parts) -> None:
    assert CAUTION in plain.text
    assert LOLL_WARNING in parts(build(realisations=4)).text
    assert LOLL_WARNING not in parts(build(("light", "deck cargo"), realisations=4)).text


@pytest.mark.usefixtures("unseen")
def test_without_chance_nothing_is_ranked(make: Make) -> None:
    ds = make(realisations=1)
    for name in [n for n in ds.data_vars if "probability" in str(n)]:
        ds[name] = ds[name] * np.nan
    page = parts(ds)
    assert "there is no chance to compare" in page.text
    assert "Exceedance" not in page.text
    assert "Worst storms" not in page.text
    assert "The roll in time" in page.text


@pytest.mark.usefixtures("unseen")
def test_one_loading_is_compared_with_nothing(make: Make) -> None:
    assert "There is one loading only" in parts(make(["base"], realisations=4)).text


def test_equal_results_give_equal_bytes(make: Make) -> None:
    sources = [Source(make(realisations=5), "a.nc", "0" * 64) for _ in range(2)]
    assert report(sources[:1]) == report(sources[1:])


@pytest.mark.usefixtures("unseen")
def test_many_cases_and_long_texts_are_cut_by_a_stated_rule(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(room, "MOST_CASES_DRAWN", 50)
    ds = build(["a"], axes={"kg": ("m", tuple(np.linspace(5.0, 5.6, 70)))})
    ds.attrs["scenario_text"] = "# a comment\n" * 3000
    page = parts(ds)
    assert page.text.count("Shown: the first 60 of 70; rollsim summary --csv writes all") == 2
    assert "More than 50 cases are not drawn." in page.text
    assert "Only the first 20000 of 36000 characters; the result holds all." in page.text


@pytest.mark.usefixtures("unseen")
def test_worst_storms_are_drawn_as_far_as_they_are_kept(make: Make) -> None:
    ds = make(realisations=12, axes={"significant_height": ("m", (7.0,))})
    assert "capsized, " in parts(ds).text
    bare = ds.drop_vars(["roll_angle", "roll_rate", "wave_slope", "heeling_lever"])
    assert "keep no history of the worst storms" in parts(bare).text


@pytest.mark.usefixtures("unseen")
def test_runs_that_failed_before_settling_stay_in_the_comparison_with_a_warning() -> None:
    ds = study(split(0, 0, 8, 2))
    assert "Warning" not in parts(ds).text
    ds["failed_before_settle"].values[1, :8] = 1
    page = parts(ds)
    assert row(page, "A", "B")[2:7] == ["0", "8", "0", "2", "0"]
    assert "more than 1 run in 20 passed a limit before settle_s in case 1 (80 %)" in page.text


@pytest.mark.usefixtures("unseen")
def test_the_event_asked_for_is_counted_in_pairs_ranking_and_rates() -> None:
    """A fails more often, B capsizes more often: the order turns with the event."""
    ds = study([[2] * 9 + [4] + [1] * 10, [4] * 6 + [1] * 14])
    ds["capsize_probability"].values[:] = [0.05, 0.3]
    failure, capsize = (
        Parts(report([Source(ds)], "failure")),
        Parts(report([Source(ds)], "capsize")),
    )
    assert row(failure, "A", "B")[2:4] == ["4", "0"]
    assert row(capsize, "A", "B")[2:4] == ["1", "6"]
    assert [row(failure, "1")[1], row(capsize, "1")[1]] == ["B", "A"]
    assert "only A capsized" in capsize.text
    assert "The capsize rate counts" in capsize.text
    assert "failure rate" not in capsize.text


@pytest.mark.usefixtures("unseen")
def test_a_loading_of_which_nothing_is_solved_is_ranked_last_in_words() -> None:
    ds = study([[5] * 10, [4] * 3 + [1] * 7])
    for part in ("", "_lower", "_upper"):
        ds[f"failure_probability{part}"].values[0] = np.nan
    page = parts(ds)
    assert "A: not solved in any storm, ranked last" in page.text
    assert row(page, "2")[:2] == ["2", "A"]
    assert row(page, "A", "B")[-2:] == ["–", "not compared, no storm in which both have a result"]


@pytest.mark.usefixtures("unseen")
def test_a_loading_lost_before_anything_counts_is_ranked_last_in_words() -> None:
    ds = study([[4] * 10, [4] * 10, [1] * 10], ["A", "B", "C"])
    ds["failed_before_settle"].values[0] = 1
    page = parts(ds)
    assert "A: every run passed a limit before settle_s, ranked last" in page.text
    assert [row(page, place)[1] for place in "123"] == ["C", "B", "A"]


@pytest.mark.usefixtures("unseen")
@pytest.mark.parametrize("realisations", [1, 3])
def test_a_study_of_which_nothing_is_solved_has_a_report_all_the_same(realisations: int) -> None:
    ds = study([[5] * realisations] * 2)
    for name in ds.data_vars:
        of_runs = ds[name].dims[:2] == ("case", "realisation") and ds[name].dtype.kind == "f"
        if of_runs or "probability" in str(name) or str(name).startswith(("capsize", "failure")):
            ds[name].values[:] = np.nan
    page = parts(ds)
    assert "No run has a result: nothing can be compared." in page.text
    assert "Nothing is random here" not in page.text


@pytest.mark.usefixtures("unseen")
def test_what_is_the_same_in_all_cases_is_told_once(make: Make) -> None:
    page = parts(make(["light", "deck cargo"]))
    assert "Numbers at rest. The same in all: KM [m]" in page.text
    assert row(page, "KG [m]")[1:] == ["5.300", "5.500"]
    assert not [cells for cells in page.cells if cells[0] == "KM [m]"]


@pytest.mark.usefixtures("unseen")
def test_a_report_is_written_in_one_step(tmp_path: Path, study: xr.Dataset) -> None:
    path = tmp_path / "new" / "report.html"
    write_report(path, [Source(study, "a.nc")])
    assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>\n")
    assert [p.name for p in path.parent.iterdir()] == ["report.html"]
    (tmp_path / "file").write_text("kept")
    with pytest.raises(MachineError, match="a file stands where its folder should be"):
        write_report(tmp_path / "file" / "report.html", [Source(study, "a.nc")])


@pytest.mark.usefixtures("unseen")
def test_several_results_are_compared_where_their_storms_are_the_same() -> None:
    first, second = study([[1] * 40], ["base"]), study([[4] * 30 + [1] * 5], ["base"])
    page = parts(first, second, names=["a.nc", "b.nc"])
    assert row(page, "a", "b")[2:7] == ["0", "30", "0", "5", "0"]
    assert "a safer than b in 30 of 30 discordant storms" in page.text
    second.attrs["scenario_text"] = TEXT.replace("seed = 7", "seed = 8")
    other = parts(first, second, names=["a.nc", "b.nc"])
    assert "There is one loading only" in other.text


@pytest.mark.usefixtures("unseen")
def test_outcomes_name_every_kind_that_occurs(make: Make) -> None:
    page = parts(make(realisations=3))
    assert column(page, "0 · light", "not solved") == "1"
    assert not [cells for cells in page.cells if Outcome.NOT_RUN.label.replace("_", " ") in cells]
