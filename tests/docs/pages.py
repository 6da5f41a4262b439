"""The pages that people read, and what is in them: blocks, commands, links, anchors."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

ROOT = Path(__file__).parents[2]
NAMES = ("README.md", "results/README.md", "DEVELOPERS.md")
PAGES = {name: (ROOT / name).read_text(encoding="utf-8") for name in NAMES}
README = PAGES["README.md"]
RESULTS = PAGES["results/README.md"]
DEVELOPERS = PAGES["DEVELOPERS.md"]
GUIDES = {"README.md": README, "results/README.md": RESULTS}
"""The pages for users, whose examples all run."""


def blocks(page: str, language: str) -> list[str]:
    """The fenced blocks of a language, in order."""
    return re.findall(rf"^```{language}\n(.*?)\n```$", page, re.M | re.S)


def commands(page: str) -> list[list[str]]:
    """The arguments of every example that calls rollsim, in order."""
    lines = (line for block in blocks(page, "sh") for line in block.splitlines())
    called = (line.removeprefix(".venv/bin/") for line in lines)
    return [shlex.split(line)[1:] for line in called if line.startswith("rollsim ")]


def prose(page: str) -> str:
    """A page without its fenced blocks."""
    return re.sub(r"^```.*?^```$", "", page, flags=re.M | re.S)


def links(page: str) -> list[str]:
    """Where the links of a page lead."""
    return re.findall(r"\]\(([^)]+)\)", page)


def anchors(page: str) -> set[str]:
    """The anchors of a page's headings: lower case, spaces to hyphens, punctuation gone."""
    titles = re.findall(r"^#+ (.*)$", page, re.M)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}
