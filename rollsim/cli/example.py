"""`rollsim example [NAME]`: the scenarios that come with the program, listed or copied here."""

from __future__ import annotations

import tomllib
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import click

from rollsim.errors import MachineError, RollsimError, printable

PACKAGE = Path(__file__).parents[1]
HULL = "-hull"
"""How the names of hull files end: for `rollsim hull`, and for the scenarios that name them."""
ELSEWHERE = "go to another folder first"
REINSTALL = "install rollsim again, by pip"


def folder() -> Path:
    """Where the examples lie: in the package as installed, or in the tree that it runs from."""
    installed = PACKAGE / "examples"
    return installed if installed.is_dir() else PACKAGE.parent / "scenarios"


def examples() -> dict[str, Path]:
    """Every example by its name, as `gale-sweep` or `lessons/resonance`; hulls too."""
    shipped = folder()
    paths = sorted(shipped.rglob("*.toml"), key=lambda path: (len(path.parts), path))
    if not paths:
        raise MachineError(f"{printable(str(shipped))}: holds no examples\n  {REINSTALL}")
    return {path.relative_to(shipped).with_suffix("").as_posix(): path for path in paths}


@click.command("example")
@click.argument("name", required=False)
def command(name: str | None) -> None:
    """Copy the example scenario NAME into this folder; without NAME, list what there is.

    A lesson brings its notes for the instructor with it, a scenario the files that it names.
    Nothing is overwritten.
    """
    if name is None:
        _list()
    else:
        _copy(name)


def _list() -> None:
    """A line for every example: its name and the title of its scenario, or whose hull it is."""
    known = examples()
    width = max(map(len, known))
    for name, path in known.items():
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        click.echo(f"{name:<{width}}  {raw['title'] if 'title' in raw else _hull(raw)}")


def _hull(raw: dict[str, Any]) -> str:
    return f"The hull of the {raw['name']}, for rollsim hull"


def _copy(name: str) -> None:
    """The scenario into the current folder, its notes with it, and what to do next."""
    source = _named(name)
    files = (source, source.with_suffix(".md"), *_named_by(source))
    copies = {Path(path.name): path.read_bytes() for path in files if path.is_file()}
    for target in list(copies):
        named = target.suffix == source.suffix and target.name != source.name
        if named and target.is_file() and target.read_bytes() == copies[target]:
            del copies[target]  # it came with another scenario
        elif target.exists() or target.is_symlink():
            raise _in_the_way(target)
    for target, content in copies.items():
        _write(target, content)
        click.echo(f"wrote {target}", err=True)
    run = "hull" if source.stem.endswith(HULL) else "run"
    click.echo(f"next: rollsim {run} {source.name}", err=True)


def _named_by(source: Path) -> list[Path]:
    """The files that a scenario names."""
    from rollsim.scenario.text.beside import with_named_files

    raw = tomllib.loads(source.read_text(encoding="utf-8"))
    return [source.with_name(name) for name in with_named_files(raw, source.parent)[1]]


def _named(name: str) -> Path:
    """The file of an example; only the names of the list are looked up, never a path."""
    known = examples()
    stem = name.removesuffix(".toml")
    if stem in known:
        return known[stem]
    last = stem.rpartition("/")[2]
    near = [each for each in known if each.rpartition("/")[2] == last]
    near += [each for each in get_close_matches(stem, known) if each not in near]
    hint = f"did you mean {' or '.join(near)}?" if near else "rollsim example lists them"
    raise RollsimError(f"{printable(name)}: no example of that name\n  {hint}")


def _in_the_way(target: Path) -> RollsimError:
    hint = f"move it away, or {ELSEWHERE}"
    return RollsimError(f"{target}: is there already and is not overwritten\n  {hint}")


def _write(target: Path, content: bytes) -> None:
    """A new file, whole or not at all."""
    from rollsim.store.disk import refusal_of

    try:
        file = target.open("xb")
    except FileExistsError as error:
        raise _in_the_way(target) from error
    except OSError as error:
        raise refusal_of(target, error, ELSEWHERE) from error
    try:
        with file:
            file.write(content)
    except OSError as error:
        target.unlink(missing_ok=True)
        raise refusal_of(target, error, ELSEWHERE) from error
