"""An MP4 video, coded by a process beside this one: the optional extra `video` brings it."""

from __future__ import annotations

import subprocess
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import MachineError
from rollsim.store.disk import refusal

FIX = 'pip install "rollsim[video]", or name the file .gif'


def encoder() -> str:
    """The program that codes the video; MachineError with the remedy where there is none."""
    try:
        from imageio_ffmpeg import get_ffmpeg_exe

        return str(get_ffmpeg_exe())
    except ImportError as error:
        raise MachineError(f"an MP4 needs an encoder that is not installed\n  {FIX}") from error
    except RuntimeError as error:
        raise MachineError(f"the encoder for MP4 was not found: {error}\n  {FIX}") from error


def write_video(
    path: Path, frames: Iterable[NDArray[np.uint8]], size: tuple[int, int], fps: int, hold: float
) -> None:
    """Write frames (height, width, 4); the last stays `hold` [s]."""
    process = subprocess.Popen(
        _command(encoder(), path, size, fps),
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    try:
        assert process.stdin is not None
        frame = b""
        for pixels in frames:
            frame = pixels.tobytes()
            process.stdin.write(frame)
        for _ in range(round(hold * fps)):
            process.stdin.write(frame)
    except BrokenPipeError:
        pass  # the encoder gave up: its own words tell why
    except BaseException:
        process.kill()
        process.communicate()
        raise
    _, errors = process.communicate()
    if process.returncode:
        words = errors.decode(errors="replace").strip().splitlines() or ["no reason given"]
        raise refusal(path, f"the encoder failed: {words[-1]}")


def _command(program: str, path: Path, size: tuple[int, int], fps: int) -> list[str]:
    """H.264 in the colour format that every player knows, nothing of the machine in it."""
    source = ["-f", "rawvideo", "-pix_fmt", "rgb0", "-s", f"{size[0]}x{size[1]}", "-r", str(fps)]
    coding = ["-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-pix_fmt", "yuv420p"]
    form = ["-an", "-movflags", "+faststart", "-fflags", "+bitexact", "-f", "mp4", str(path)]
    quiet = ["-hide_banner", "-loglevel", "error", "-nostdin", "-y"]
    return [program, *quiet, *source, "-i", "pipe:0", *coding, *form]
