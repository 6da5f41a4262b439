"""The files: GIF and MP4, whole or not at all."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from animation_samples import Loading, study
from PIL import Image

from rollsim.errors import InputError, MachineError
from rollsim.show.animation import video as animation_video
from rollsim.show.animation import write as animation
from rollsim.show.animation.film import film
from rollsim.show.animation.gif import write_gif
from rollsim.show.animation.plan import Wishes, plan
from rollsim.show.animation.write import HOLD, animate

SMALL = Wishes(fps=10, size=(640, 360), end=3.0)
NEAR = 24
"""How far a colour of the shared palette may lie from that of the picture."""


def test_gif_holds_every_frame_for_its_time(tmp_path: Path) -> None:
    drawn = animate(study(), tmp_path / "a.gif", wishes=Wishes(fps=30, size=(640, 360), end=2.0))
    with Image.open(tmp_path / "a.gif") as made:
        assert made.size == (640, 360)
        assert made.n_frames == drawn.times.size == 61  # type: ignore[attr-defined]
        total = 0
        for frame in range(61):
            made.seek(frame)
            total += made.info["duration"]
    assert total == pytest.approx(1000.0 * (61 / 30 + HOLD), abs=10.0)


def test_gif_shows_what_was_drawn(tmp_path: Path) -> None:
    ds = study([Loading(wave=5.0)])
    animate(ds, tmp_path / "a.gif", wishes=SMALL)
    whole = film(ds, plan(ds, [(0, 0)], SMALL))
    with Image.open(tmp_path / "a.gif") as made:
        for frame in (0, 7, 15, 30):
            made.seek(frame)
            seen = np.asarray(made.convert("RGB")).astype(int)
            far = np.abs(seen - whole.draw(frame)[..., :3])
            assert np.quantile(far, 0.999) <= NEAR
            assert far.mean() < 1.5


def test_equal_films_are_equal_bytes(tmp_path: Path) -> None:
    for name in ("a.gif", "b.gif"):
        animate(study([Loading(wave=5.0)]), tmp_path / name, wishes=SMALL)
    assert (tmp_path / "a.gif").read_bytes() == (tmp_path / "b.gif").read_bytes()


def test_pixels_that_share_their_memory_are_told_apart(tmp_path: Path) -> None:
    one = np.full((20, 30, 4), 255, dtype=np.uint8)
    samples = [one.copy()]
    samples[0][:10, :, 1:3] = 0

    def frames() -> object:
        for row in range(0, 20, 5):
            one[row : row + 5, :, 1:3] = 0
            yield one

    write_gif(tmp_path / "a.gif", frames(), samples, 10, 0.0)  # type: ignore[arg-type]
    with Image.open(tmp_path / "a.gif") as made:
        for frame in range(4):
            made.seek(frame)
            seen = np.asarray(made.convert("RGB"))
            assert (seen[: 5 * frame + 5] == [255, 0, 0]).all()
            assert (seen[5 * frame + 5 :] == 255).all()


def test_what_goes_wrong_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "a.gif"
    path.write_bytes(b"old")

    def stop(done: int, count: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        animate(study(), path, wishes=SMALL, progress=stop)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_other_kinds_of_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no kind of animation"):
        animate(study(), tmp_path / "a.nc")
    with pytest.raises(InputError, match="too fast for a GIF"):
        animate(study(), tmp_path / "a.gif", wishes=Wishes(fps=60))
    assert list(tmp_path.iterdir()) == []


def test_missing_encoder_is_named_with_its_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    with pytest.raises(MachineError, match=r'pip install "rollsim\[video\]"'):
        animate(study(), tmp_path / "a.mp4")
    assert list(tmp_path.iterdir()) == []


def test_encoder_that_fails_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    script = "import sys; sys.stderr.write('cannot code this'); sys.exit(3)"
    monkeypatch.setattr(animation, "encoder", lambda: "none")
    monkeypatch.setattr(animation_video, "encoder", lambda: "none")
    monkeypatch.setattr(animation_video, "_command", lambda *asked: [sys.executable, "-c", script])
    with pytest.raises(MachineError, match="the encoder failed: cannot code this"):
        animate(study(), tmp_path / "a.mp4", wishes=SMALL)
    assert list(tmp_path.iterdir()) == []


def test_video_holds_every_frame_and_leaves_no_process(tmp_path: Path) -> None:
    encoder = pytest.importorskip(
        "imageio_ffmpeg", reason="the extra `video` is not installed"
    ).get_ffmpeg_exe()
    drawn = animate(study(), tmp_path / "a.mp4", wishes=SMALL)
    command = [encoder, "-hide_banner", "-i", str(tmp_path / "a.mp4"), "-f", "null", "-"]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    assert "h264" in told
    assert "yuv420p" in told
    assert "640x360" in told
    assert f"frame={drawn.times.size + round(10 * HOLD):5d}" in told
    assert list(tmp_path.iterdir()) == [tmp_path / "a.mp4"]


def test_interrupted_video_leaves_nothing(tmp_path: Path) -> None:
    pytest.importorskip("imageio_ffmpeg", reason="the extra `video` is not installed")

    def stop(done: int, count: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        animate(study(), tmp_path / "a.mp4", wishes=SMALL, progress=stop)
    assert list(tmp_path.iterdir()) == []
