"""The random streams: the published generator, and independence of everything but the key."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from rollsim.weather.draws import WAVES, WIND, philox, uniform_pair, uniform_pairs

WORD = 2**32
words = st.integers(0, WORD - 1)
longs = st.integers(0, 2**64 - 1)

# Known answers for philox4x32 with 10 rounds: file kat_vectors of Random123 (D. E. Shaw
# Research), here from memory and found again in public copies of that file.
KNOWN = [
    (
        "00000000 00000000 00000000 00000000 00000000 00000000",
        "6627e8d5 e169c58d bc57ac4c 9b00dbd8",
    ),
    (
        "ffffffff ffffffff ffffffff ffffffff ffffffff ffffffff",
        "408f276d 41c83b0e a20bc7c6 6d5451fd",
    ),
    (
        "243f6a88 85a308d3 13198a2e 03707344 a4093822 299f31d0",
        "d16cfe09 94fdcceb 5001e420 24126ea1",
    ),
]


def philox_by_the_paper(counter: tuple[int, ...], key: tuple[int, int]) -> tuple[int, ...]:
    """Philox4x32-10 in whole numbers of any size, written from the paper's equations."""
    left_0, right_0, left_1, right_1 = counter
    for turn in range(10):
        high_0, low_0 = divmod(0xD2511F53 * left_0, WORD)
        high_1, low_1 = divmod(0xCD9E8D57 * left_1, WORD)
        bumped_0 = (key[0] + turn * 0x9E3779B9) % WORD
        bumped_1 = (key[1] + turn * 0xBB67AE85) % WORD
        left_0, right_0 = high_1 ^ right_0 ^ bumped_0, low_1
        left_1, right_1 = high_0 ^ right_1 ^ bumped_1, low_0
    return left_0, right_0, left_1, right_1


@pytest.mark.parametrize(("given_words", "answer"), KNOWN)
def test_known_answers(given_words: str, answer: str) -> None:
    arguments = [np.uint64(int(word, 16)) for word in given_words.split()]
    assert " ".join(f"{int(word):08x}" for word in philox(*arguments)) == answer


@settings(deadline=None)
@given(st.tuples(words, words, words, words), st.tuples(words, words))
def test_generator_against_whole_numbers(counter: tuple[int, ...], key: tuple[int, int]) -> None:
    c0, c1, c2, c3, k0, k1 = (np.uint64(word) for word in counter + key)
    words_out = tuple(int(word) for word in philox(c0, c1, c2, c3, k0, k1))
    assert words_out == philox_by_the_paper(counter, key)


@settings(deadline=None)
@given(longs, longs, words, words)
def test_pair_layout(seed: int, realisation: int, purpose: int, index: int) -> None:
    low, high = realisation % WORD, realisation // WORD
    words = philox_by_the_paper((index // 2, low, high, purpose), (seed % WORD, seed // WORD))
    a, b = words[2:] if index % 2 else words[:2]
    one, two = uniform_pair(np.uint64(seed), np.uint64(realisation), purpose, index)
    assert one == (a + 1) / 2**32
    assert two == b / 2**32
    assert 0.0 < one <= 1.0
    assert 0.0 <= two < 1.0


@settings(deadline=None)
@given(longs, longs, st.integers(0, 2**31), st.lists(st.integers(0, 50), max_size=6))
def test_chunks_do_not_matter(seed: int, realisation: int, first: int, counts: list[int]) -> None:
    whole = np.array(uniform_pairs(seed, realisation, WAVES, first, sum(counts)))
    starts = itertools.accumulate(counts, initial=first)
    parts = [
        np.array(uniform_pairs(seed, realisation, WAVES, start, count))
        for start, count in zip(starts, counts, strict=False)
    ]
    assert np.array_equal(np.concatenate([np.empty((2, 0)), *parts], axis=1), whole)


@pytest.mark.parametrize(
    "other", [(8, 0, WAVES), (7 + 2**32, 0, WAVES), (7, 1, WAVES), (7, 2**32, WAVES), (7, 0, WIND)]
)
def test_streams_are_unrelated(other: tuple[int, int, int]) -> None:
    count = 20000
    one, two = uniform_pairs(7, 0, WAVES, 0, count)
    other_one, other_two = uniform_pairs(*other, 0, count)
    # Four standard errors of the correlation of independent numbers.
    for a, b in [(one, other_one), (two, other_two), (one, other_two), (one, two)]:
        assert abs(np.corrcoef(a, b)[0, 1]) < 4.0 / np.sqrt(count)


def test_numbers_are_uniform() -> None:
    samples = [x for seed in range(20) for x in uniform_pairs(seed, 5, WIND, 0, 20_000)]
    # Of many honest samples the p-values are uniform themselves.
    chances = [stats.kstest(sample, "uniform").pvalue for sample in samples]
    assert stats.kstest(chances, "uniform").pvalue > 1e-3
    for sample in samples:
        assert abs(np.corrcoef(sample[1:], sample[:-1])[0, 1]) < 4.5 / np.sqrt(sample.size)


@pytest.mark.parametrize("seed", [-1, 2**64])
def test_seed_out_of_range(seed: int) -> None:
    with pytest.raises(OverflowError, match=r"out of bounds|too large"):
        uniform_pairs(seed, 0, WAVES, 0, 1)
