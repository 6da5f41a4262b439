"""A scenario text as nested dicts, refused in words where it is no TOML or goes past all measure.

What would cost the parser much time or memory is looked for before it sees the text.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

from rollsim.errors import Fault, InputError
from rollsim.scenario.text.read import MOST_BYTES

MOST_LEVELS = 30
"""How deep tables and lists may lie in each other; the deepest key of the schema has 5 levels."""

MOST_DIGITS = 1000
"""Digits of a number; a float64 knows 17, and Python refuses to convert some thousands."""

TOML_HINT = "one key = value a line, text in quotes, decimals with a point, # before a comment"

_BASIC = r'"[^"\\\n]*+(?:\\.[^"\\\n]*+)*+"'
_LITERAL = r"'[^'\n]*+'"
_PART = rf"(?:[A-Za-z0-9_-]++|{_BASIC}|{_LITERAL})"
_WORD = r"[A-Za-z_-][A-Za-z0-9_-]*+(?![ \t]*+\.)"
_NUMBER = r"[0-9]{1,20}+(?:\.[0-9]{1,20}+)?(?![\w.-]|[ \t]++\.)"
_PLAIN = rf"{_WORD}|{_NUMBER}|[\s=,]"
"""What a file mostly holds: words and numbers that no dot follows, passed over at once."""

# Every alternative that begins a string matches to its end or to the end of line or text, so that
# no character is looked at again and again: the scan takes time in proportion to the text.
_TOKEN = re.compile(
    rf"(?:{_PLAIN})++|\#[^\n]*+"
    rf"|(?P<keys>{_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{MOST_LEVELS}}})"
    rf"|(?P<digits>[0-9](?:_?[0-9]){{{MOST_DIGITS}}})"
    r'|"""[^"\\]*+(?:(?:\\.|"(?!""))[^"\\]*+)*+(?:"{3,5})?'
    r"|'''[^']*+(?:'(?!'')[^']*+)*+(?:'{3,5})?"
    rf"|{_BASIC}?|{_LITERAL}?"
    r"|(?P<open>[\[{])|(?P<close>[\]}])"
    r"|[A-Za-z0-9_-]++",
    re.DOTALL,
)


def parse(text: str, file: str) -> dict[str, Any]:
    """The TOML text as nested dicts; InputError with line and column where it is no TOML."""
    _refuse_beyond_measure(text, file)
    try:
        raw = tomllib.loads(text)
        if _depth_beyond(raw, MOST_LEVELS):
            raise RecursionError
    except tomllib.TOMLDecodeError as error:
        raise InputError(file, [_syntax_fault(str(error), text)]) from None
    except RecursionError:
        raise InputError(file, [Fault("", TOO_DEEP)]) from None
    except ValueError:  # whatever else Python does not convert
        raise InputError(
            file, [Fault("", "holds a value that cannot be read", TOML_HINT)]
        ) from None
    return raw


TOO_DEEP = f"tables or lists lie more than {MOST_LEVELS} levels deep in each other"


def _refuse_beyond_measure(text: str, file: str) -> None:
    """InputError for a text too long, a key of too many parts, a nesting or a number too great."""
    if len(text) > MOST_BYTES:
        problem = f"holds more than {MOST_BYTES // 1_000_000} MB"
        raise InputError(file, [Fault("", problem, "a scenario is a small text file in TOML")])
    level = 0
    for token in _TOKEN.finditer(text):
        kind = token.lastgroup
        if kind == "open":
            level += 1
        elif kind == "close":
            level = max(0, level - 1)
        if kind == "keys" or level > MOST_LEVELS:
            problem = TOO_DEEP
        elif kind == "digits":
            problem = f"a number of more than {MOST_DIGITS} digits"
        else:
            continue
        line, column = _line_and_column(text, token.start())
        raise InputError(file, [Fault("", problem, "", line, column)])


def _line_and_column(text: str, index: int) -> tuple[int, int]:
    return text.count("\n", 0, index) + 1, index - text.rfind("\n", 0, index)


def _syntax_fault(message: str, text: str) -> Fault:
    where = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    problem = message[: where.start()] if where else message
    if where and where[1]:
        line, column = int(where[1]), int(where[2])
    else:
        line, column = _line_and_column(text, len(text))
    problem = "not TOML: " + problem[:1].lower() + problem[1:]
    return Fault("", problem, _number_hint(text, line) or TOML_HINT, line, column)


_NUMBERS = (
    (re.compile(r"(?<![\w.])([+-]?)(\.\d+)(?![\w.])"), r"\g<1>0\g<2>"),
    (re.compile(r"(?<![\w.])([+-]?\d+)\.(?![\w.])"), r"\g<1>.0"),
    (re.compile(r"(?<==)\s*([+-]?\d+),(\d+)\s*(?:\#.*)?$"), r"\g<1>.\g<2>"),
)
"""Numbers as people write them and TOML does not know, and how they are written: .5, 5. and 5,3."""


def _number_hint(text: str, line: int) -> str:
    """How the number of a faulty line is written, empty where it holds none of the known kinds."""
    faulty = text.split("\n", line)[line - 1][:1000]
    for pattern, form in _NUMBERS:
        if number := pattern.search(faulty):
            return f"write {number.expand(form)}"
    return ""


def _depth_beyond(raw: dict[str, Any], most: int) -> bool:
    """Whether anything lies deeper than `most` levels; level by level, never recursing."""
    level: list[Any] = [raw]
    for _ in range(most):
        level = [
            item
            for holder in level
            for item in (holder.values() if isinstance(holder, dict) else holder)
            if isinstance(item, dict | list)
        ]
    return bool(level)
