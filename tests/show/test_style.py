"""The style: saving, literal texts, colours with a second cue, grey."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from rollsim.errors import InputError, MachineError
from rollsim.show import style
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.sweep_grids import SHADES

MAGIC = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}


@pytest.mark.parametrize("suffix", MAGIC)
def test_equal_pictures_give_equal_bytes(study: xr.Dataset, tmp_path: Path, suffix: str) -> None:
    first, second = tmp_path / f"a.{suffix}", tmp_path / "new" / f"b.{suffix.upper()}"
    style.save(stability_figure(study), first)
    style.save(stability_figure(study), second)
    assert first.read_bytes() == second.read_bytes()
    assert first.read_bytes().startswith(MAGIC[suffix])
    assert sorted(p.name for p in tmp_path.iterdir()) == [first.name, "new"]


def test_an_unknown_suffix_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no kind of picture\n  allowed: \.png, \.svg, \.pdf"):
        style.save(Figure(), tmp_path / "a.doc")
    assert not list(tmp_path.iterdir())


def test_a_refusing_disk_leaves_the_old_picture(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept")
    with pytest.raises(MachineError, match="a file stands where its folder should be"):
        style.save(Figure(), tmp_path / "file" / "a.png")
    assert (tmp_path / "file").read_text() == "kept"


def test_literal_draws_text_as_it_is() -> None:
    assert style.literal("cost $5 and $6") == r"cost \$5 and \$6"
    assert style.literal("a\x1b[31m\tb\nc") == "a[31m b c"
    assert style.literal("\u4e16") == "\N{REPLACEMENT CHARACTER}"
    assert style.literal("x" * 200) == "x" * 89 + "…"


def test_lines_differ_in_more_than_colour() -> None:
    cues = [style.cue(i) for i in range(style.LINES)]
    assert len({cue["color"] for cue in cues}) == style.LINES
    assert len({str(cue["linestyle"]) for cue in cues}) == style.LINES
    assert len(set(style.MARKERS)) == style.LINES


def test_lines_stand_off_white_in_grey() -> None:
    """Turned to grey every colour is at least a quarter darker than the paper."""
    luma = np.array([0.299, 0.587, 0.114])  # ITU-R BT.601, from memory
    greys = [float(np.dot(luma, to_rgb(colour))) for colour in style.COLOURS]
    assert max(greys) < 0.75


def test_shades_of_a_grid_leave_black_numbers_readable() -> None:
    """Contrast of black on the darkest shade above 7 to 1 (WCAG 2, level AAA, from memory)."""
    linear = np.array(SHADES(1.0)[:3]) ** 2.2
    luminance = float(np.dot([0.2126, 0.7152, 0.0722], linear))
    assert (luminance + 0.05) / 0.05 > 7.0
