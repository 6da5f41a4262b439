"""The lines of many storms as spectra: draws of every lane, put on the frequencies of an FFT."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import vectorised
from rollsim.weather.draws import WAVE_PARTS, pair_of_pairs
from rollsim.weather.elementary import minus_log, turn

Floats = NDArray[np.float64]
Reals = NDArray[Any]
Words = NDArray[np.uint64]

Spread = tuple[NDArray[np.int64], Floats, Floats]
Key = tuple[int, int, np.uint64, Words]


@vectorised
def fill(
    spectrum: Reals,
    spread: Spread,
    size: Floats,
    lead: Floats,
    key: Key,
    drawn: Floats,
    adds: bool,
) -> None:
    """Put the lines of every lane into `spectrum` (frequencies, lanes, real and imaginary), or add
    them to what is there.

    a cos(ωt + ε) is the real part of a e^(iε) e^(iωt), half of it at ω, half at −ω. The loop goes
    by pairs of draws; the first index may be odd, then the first half of a pair is idle. `drawn`
    (4, lanes) is room to work in.
    """
    place, real, imag = spread
    purpose, first, seed, realisations = key
    count = size.size
    lanes = realisations.size
    for pair in range(first // 2, (first + count + 1) // 2):
        j = 2 * pair - first
        lead_j = lead[j] if j >= 0 else 0.0
        lead_k = lead[j + 1] if j + 1 < count else 0.0
        for lane in range(lanes):
            u, v, x, y = pair_of_pairs(seed, realisations[lane], purpose, 2 * pair)
            c, s = turn(v + lead_j)
            d, e = turn(y + lead_k)
            a, b = math.sqrt(minus_log(u)), math.sqrt(minus_log(x))
            drawn[0, lane] = a * c
            drawn[1, lane] = a * s
            drawn[2, lane] = b * d
            drawn[3, lane] = b * e
        for half in range(2):
            i = j + half
            if 0 <= i < count:
                for k in range(place.shape[1]):
                    p, q = 0.5 * size[i] * real[i, k], 0.5 * size[i] * imag[i, k]
                    if adds:
                        for lane in range(lanes):
                            spectrum[place[i, k], lane, 0] += p * drawn[2 * half, lane]
                            spectrum[place[i, k], lane, 1] += q * drawn[2 * half + 1, lane]
                    else:
                        for lane in range(lanes):
                            spectrum[place[i, k], lane, 0] = p * drawn[2 * half, lane]
                            spectrum[place[i, k], lane, 1] = q * drawn[2 * half + 1, lane]


@vectorised
def fill_parts(
    spectrum: Reals,
    spread: Spread,
    size: Floats,
    lead: Floats,
    key: Key,
    first_part: int,
    room: Floats,
) -> None:
    """As `fill`, for lines that come in parts of one draw; `room` (parts + 2, 2, lanes).

    The parts' own draws are independent; what their mean misses of the whole's draw over √parts is
    added to each, so that the sum over √parts is the whole's.
    """
    place, real, imag = spread
    purpose, first, seed, realisations = key
    lanes, parts = realisations.size, room.shape[0] - 2
    for whole in range(size.size // parts):
        _draw_lanes(room[parts], seed, realisations, purpose, first + whole)
        room[parts + 1] = 0.0
        for part in range(parts):
            _draw_lanes(
                room[part], seed, realisations, WAVE_PARTS, first_part + whole * parts + part
            )
            for lane in range(lanes):
                room[parts + 1, 0, lane] += room[part, 0, lane] / parts
                room[parts + 1, 1, lane] += room[part, 1, lane] / parts
        share = 1.0 / math.sqrt(parts)
        for part in range(parts):
            i = whole * parts + part
            c, s = math.cos(math.tau * lead[i]), math.sin(math.tau * lead[i])
            for lane in range(lanes):
                x = room[part, 0, lane] - room[parts + 1, 0, lane] + share * room[parts, 0, lane]
                y = room[part, 1, lane] - room[parts + 1, 1, lane] + share * room[parts, 1, lane]
                room[part, 0, lane], room[part, 1, lane] = x * c - y * s, x * s + y * c
            for k in range(place.shape[1]):
                p, q = 0.5 * size[i] * real[i, k], 0.5 * size[i] * imag[i, k]
                for lane in range(lanes):
                    spectrum[place[i, k], lane, 0] += p * room[part, 0, lane]
                    spectrum[place[i, k], lane, 1] += q * room[part, 1, lane]


@vectorised
def _draw_lanes(
    room: Floats, seed: np.uint64, realisations: Words, purpose: int, index: int
) -> None:
    """The draw of one index as a complex number of mean square 1, for every lane."""
    odd = index % 2
    for lane in range(realisations.size):
        u, v, x, y = pair_of_pairs(seed, realisations[lane], purpose, index - odd)
        size, turns = (x, y) if odd else (u, v)
        c, s = turn(turns)
        a = math.sqrt(minus_log(size))
        room[0, lane], room[1, lane] = a * c, a * s
