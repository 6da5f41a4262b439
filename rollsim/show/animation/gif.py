"""An animated GIF, written frame by frame: one palette for all, and of each frame what changed.

The same frames give the same bytes. Pixels that stay are left transparent, which keeps files small
and the coding fast; Pillow does the coding of each frame.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray
from PIL import GifImagePlugin, Image

COLOURS = 128
CLEAR = 255
"""The entry of the palette that stands for what stays as it was."""
FASTEST = 50
"""Frames a second; viewers slow down what is faster."""

Pixels = NDArray[np.uint8]
Words = NDArray[np.uint32]


class Palette:
    """Few colours that stand for all, found by looking up the five leading bits of each channel."""

    def __init__(self, samples: Sequence[Pixels]) -> None:
        # Not by how often a colour occurs: nearly all is white, and few pixels are the ship.
        seen = Image.fromarray(np.concatenate(samples)[..., :3].copy())
        chosen = seen.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE).getpalette() or []
        self.colours = np.array(chosen[: 3 * COLOURS], dtype=np.uint8).reshape(-1, 3)
        steps = np.arange(32) * 255 // 31
        cube = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
        far = np.square(cube[:, None] - self.colours[None].astype(int)).sum(axis=2)
        self.entries = far.argmin(axis=1).astype(np.uint8)

    def find(self, words: Words) -> Pixels:
        """The entries that stand for pixels, each red, green, blue and more in one word."""
        red, green, blue = ((words >> shift) & 31 for shift in (3, 11, 19))
        return np.asarray(self.entries[(red << 10) | (green << 5) | blue])


def write_gif(
    path: Path, frames: Iterable[Pixels], samples: Sequence[Pixels], fps: int, hold: float
) -> None:
    """Write frames (height, width, 4) that may share their memory; the last stays `hold` [s]."""
    palette = Palette(samples)
    height, width = samples[0].shape[:2]
    count, before, waiting = 0, None, None
    with path.open("wb") as file:
        _head(file, width, height, palette)
        for frame in frames:
            words = frame.view("<u4")[..., 0]
            if waiting is not None:
                _frame(file, waiting, _hundredths(count, fps))
                count += 1
            waiting = _changed(words, before, palette)
            before = words.copy()
        if waiting is not None:
            _frame(file, waiting, _hundredths(count, fps) + round(100 * hold))
        file.write(b";")


def _hundredths(frame: int, fps: int) -> int:
    """How long a frame stays [1/100 s], so that the sum keeps true time."""
    return round((frame + 1) * 100 / fps) - round(frame * 100 / fps)


def _changed(words: Words, before: Words | None, palette: Palette) -> Pixels:
    """The frame in entries of the palette, what has not changed left clear."""
    if before is None:
        return palette.find(words)
    entries = np.full(words.shape, CLEAR, dtype=np.uint8)
    changed = words != before
    entries[changed] = palette.find(words[changed])
    return entries


def _head(file: IO[bytes], width: int, height: int, palette: Palette) -> None:
    """Signature, size, a palette of 256 entries, and that it is to be shown over and over."""
    table = np.zeros((256, 3), dtype=np.uint8)
    table[: len(palette.colours)] = palette.colours
    file.write(b"GIF89a" + struct.pack("<HHBBB", width, height, 0xF7, 0, 0) + table.tobytes())
    file.write(b"\x21\xff\x0bNETSCAPE2.0" + struct.pack("<BBHB", 3, 1, 0, 0))


def _frame(file: IO[bytes], entries: Pixels, hundredths: int) -> None:
    image = Image.fromarray(entries)
    look = {"duration": 10 * hundredths, "transparency": CLEAR, "disposal": 1}
    for block in GifImagePlugin.getdata(image, (0, 0), **look):
        file.write(block)
