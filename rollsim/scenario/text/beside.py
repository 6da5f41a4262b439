"""Files that a scenario names: read from its own folder, and carried in its text from then on.

A value of the key `file`, in the base file or in a condition, names a file beside the scenario. Its
text joins the scenario's as an entry of the table [files], so that a stored scenario is whole. A
scenario that has [files] carries all files that it names, and nothing is read from the disk for it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rollsim.errors import Fault, InputError
from rollsim.scenario.text.faults import Finding, listed
from rollsim.scenario.text.positions import KeyPath
from rollsim.scenario.text.read import MOST_BYTES, read_text

KEY = "file"
"""The key that names a file, in any table."""
TABLE = "files"
"""The table of the texts of named files, by their names."""
MOST_FILE_BYTES = 1_000_000
LONGEST_NAME = 200

BESIDE = "give the name of a file in the scenario's own folder, without a path"


@dataclass(frozen=True)
class NamedFile:
    """A file that a scenario names, and its text; equal where both are."""

    name: str
    text: str

    def __str__(self) -> str:
        return f'"{self.name}"'


def with_named_files(
    raw: dict[str, Any], folder: Path | None, taken: int = 0
) -> tuple[dict[str, Any], dict[str, str], list[Finding]]:
    """The tables with every name of a file made a `NamedFile`, and the texts that were read.

    What cannot be read stays a name and is a finding. `folder` None: there is no folder, [files]
    must hold all texts. The scenario itself has `taken` characters.
    """
    given = TABLE in raw
    texts = _given(raw[TABLE]) if given else {}
    findings: list[Finding] = []
    for path, name in _names(raw, ()):
        if name not in texts:
            try:
                if given:
                    hint = f"[{TABLE}] must hold every file that the scenario names, or be left out"
                    raise _refused(name, f"is not in the table [{TABLE}]", hint)
                texts[name] = _read(
                    name, folder, MOST_BYTES - taken - sum(map(len, texts.values()))
                )
            except InputError as error:
                fault = error.faults[0]
                findings.append(Finding(path, f"{_quoted(name)}: {fault.problem}", fault.hint))
    if texts and not given:
        raw = raw | {TABLE: texts}
    return resolved(raw, texts), {} if given else texts, findings


def resolved(value: Any, texts: dict[str, str]) -> Any:
    """`value` with the names of known files replaced; what holds none is shared, not copied."""
    if isinstance(value, list):
        items = [resolved(item, texts) for item in value]
        same = all(new is old for new, old in zip(items, value, strict=True))
        return value if same else items
    if not isinstance(value, dict):
        return value
    table = {key: named(key, item, texts) for key, item in value.items()}
    return value if all(table[key] is value[key] for key in value) else table


def named(key: str | int, value: Any, texts: dict[str, str]) -> Any:
    """The value of a key, as a file where it names one of those known."""
    if isinstance(value, str):
        return NamedFile(value, texts[value]) if _names_file(key) and value in texts else value
    return resolved(value, texts)


def carried(text: str, new: dict[str, str]) -> str:
    """The scenario's text with the texts of more files in its table [files]."""
    if not new:
        return text
    entries = "".join(f'"{_escaped(name)}" = {_toml_text(new[name])}\n' for name in new)
    end = "" if text.endswith("\n") or not text else "\n"
    return f"{text}{end}\n[{TABLE}]\n{entries}"


def _given(table: Any) -> dict[str, str]:
    """The texts that the scenario itself carries; what is no text is a fault of the schema's."""
    table = table if isinstance(table, dict) else {}
    return {name: text for name, text in table.items() if isinstance(text, str)}


def _names_file(key: str | int) -> bool:
    return isinstance(key, str) and key.rpartition(".")[2] == KEY


def _names(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, str]]:
    """Path and name of every file that is named."""
    if path == (TABLE,):
        return
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, item in pairs:
        here = (*path, key)
        if isinstance(item, str):
            if _names_file(key) or (path[:1] == ("sweep",) and _names_file(path[-1])):
                yield here, item
        elif isinstance(item, dict | list):
            yield from _names(item, here)


def _read(name: str, folder: Path | None, most: int) -> str:
    """The text of the file of that name in the scenario's folder, at most `most` bytes."""
    if name in ("", ".", "..") or len(name) > LONGEST_NAME or re.search(r"[/\\\0]", name):
        raise _refused(name, "is not the name of a file beside the scenario", BESIDE)
    if folder is None:
        hint = f'load the scenario from its file, or give the text as [{TABLE}] "{name}" = ...'
        raise _refused(name, "names a file, and a text alone has no folder", hint)
    if most < MOST_FILE_BYTES:
        raise _refused(name, "is one file too many: together they are too long", "take fewer files")
    path = folder / name
    text = read_text(path, MOST_FILE_BYTES, "", _others(folder, Path(name).suffix))
    if Path(os.path.realpath(path)).parent != Path(os.path.realpath(folder)):
        raise _refused(name, "leads out of the scenario's folder", BESIDE)
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _others(folder: Path, suffix: str) -> Callable[[], str]:
    """What a hint says of other files of that kind in the folder, once it is needed."""

    def hint() -> str:
        try:
            names = sorted(path.name for path in folder.iterdir() if path.suffix == suffix)
        except OSError:
            names = []
        beside = f"; beside the scenario: {listed(names[:8])}" if names else ""
        return BESIDE + beside

    return hint


def _refused(name: str, problem: str, hint: str) -> InputError:
    return InputError(name, [Fault("", problem, hint)])


def _quoted(name: str) -> str:
    return f'"{name[:60]}..."' if len(name) > 60 else f'"{name}"'


def _toml_text(text: str) -> str:
    """A text as TOML holds it: as it stands where that is allowed, else with escapes."""
    plain = "'''" not in text and not re.search(r"[\x00-\x08\x0b-\x1f\x7f]", text)
    if plain and not text.endswith("'"):
        return f"'''\n{text}'''"
    return '"""\n' + _escaped(text, keep="\n\t") + '"""'


def _escaped(text: str, keep: str = "") -> str:
    """A text inside double quotes."""
    escapes = {"\\": "\\\\", '"': '\\"'}
    return "".join(
        escapes.get(c)
        or (f"\\u{ord(c):04x}" if (ord(c) < 32 or ord(c) == 127) and c not in keep else c)
        for c in text
    )
