"""Texts past all measure through the command line: exit 2, a few lines, within seconds."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from cli_samples import CALM, Command, held, put

SECONDS = 20.0

TEXTS = {
    "60 000 parts": (".".join(["a"] * 60_000) + " = 1\n" + CALM, "levels deep"),
    "200 000 parts": (CALM + "[" + ".".join(["a"] * 200_000) + "]\n", "levels deep"),
    "50 000 deep": (CALM + "a = " + "[" * 50_000 + "]" * 50_000, "levels deep"),
    "5000 digits": (CALM.replace("kg_m = 5.30", "kg_m = " + "5" * 5000), "1000 digits"),
    "a key of 9 MB": (CALM + "[" + "k" * 9_000_000 + "]\n", 'kkk...": unknown key'),
    "30 000 keys": (CALM + "".join(f"[k{i}]\n" for i in range(30_000)), "and 29950 more errors"),
}


@pytest.mark.parametrize("name", TEXTS)
def test_it_is_refused_soon_and_in_few_words(name: str, rollsim: Command, tmp_path: Path) -> None:
    text, words = TEXTS[name]
    put(tmp_path, text)
    begin = time.process_time()
    said = rollsim("check", "coaster.toml")
    assert time.process_time() - begin < SECONDS
    assert (said.code, said.out, held(tmp_path)) == (2, "", ["coaster.toml"])
    assert words in said.err
    assert len(said.err) < 12_000
