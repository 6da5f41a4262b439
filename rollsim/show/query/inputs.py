"""What the scenario text inside a result says, as plain tables and lists."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from rollsim.show.query.cases import conditions, is_offset, sweep_axes

if TYPE_CHECKING:
    import xarray as xr

WEATHER = ("wind", "sea", "events", "start")
"""What of a scenario acts in time, and how it begins."""


def scenario(ds: xr.Dataset) -> dict[str, Any]:
    """The scenario of a result as it was written; empty where a dataset carries none."""
    return _parsed(str(ds.attrs.get("scenario_text", "")))


@lru_cache(maxsize=8)
def _parsed(text: str) -> dict[str, Any]:
    """The tables of a text; every case of a summary asks for them."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return {}  # another hand has been at the text: the numbers stand without it


def ship_name(ds: xr.Dataset) -> str:
    """What the ship is called; empty where the scenario does not tell."""
    ship = scenario(ds).get("ship")
    return str(ship.get("name", "")) if isinstance(ship, dict) else ""


class Lesson(NamedTuple):
    """What the author of a scenario asks of a case."""

    question: str
    answers: tuple[str, ...]
    answer: str
    hint: str


def lesson(ds: xr.Dataset, case: int) -> Lesson | None:
    """The author's own question on a case; None where there is none that makes sense."""
    base, named = scenario(ds), conditions(ds)[case]
    keys = dict(base["lesson"]) if isinstance(base.get("lesson"), dict) else {}
    for condition in tables(base.get("conditions")):
        if condition.get("name") != named:
            continue
        whole = condition.get("lesson")
        keys = dict(whole) if isinstance(whole, dict) else keys
        keys |= {key[7:]: value for key, value in condition.items() if key.startswith("lesson.")}
    answers = keys.get("answers")
    listed = tuple(map(str, answers)) if isinstance(answers, list) else ()
    asked, right = str(keys.get("question", "")), str(keys.get("answer", ""))
    if not asked or right not in listed:
        return None
    return Lesson(asked, listed, right, str(keys.get("hint", "")))


def pusher(ds: xr.Dataset) -> str:
    """What the heeling lever of a study comes from, in a word: "wind", "push", or both."""
    base = scenario(ds)
    parts = [base, *tables(base.get("conditions"))]
    keys = [str(key) for part in parts for key in [*part, *_swept(base)]]
    wind = any(key.split(".")[0] == "wind" for key in keys)
    events = [each for part in parts for each in tables(part.get("events"))]
    push = any(each.get("kind") == "heeling-lever" for each in events)
    return "wind or push" if wind == push else "wind" if wind else "push"


def _swept(base: dict[str, Any]) -> list[str]:
    sweep = base.get("sweep")
    return [str(key) for key in sweep] if isinstance(sweep, dict) else []


def at_set_times(ds: xr.Dataset) -> bool:
    """Whether gusts or events come at set times, in any case of the study."""
    base = scenario(ds)
    return any(map(_sets_times, [base, *tables(base.get("conditions"))]))


def _sets_times(table: dict[str, Any]) -> bool:
    """Whether the base, or the changes of a condition, have gusts or events."""
    wind = table.get("wind")
    return bool(
        table.get("events")
        or (isinstance(wind, dict) and wind.get("gust"))
        or any(str(key).startswith(("events", "wind.gust")) for key in table)
    )


def until(ds: xr.Dataset) -> tuple[float, int, str] | None:
    """The rule for more realisations: relative error, the most, the event; None without one."""
    run = scenario(ds).get("run")
    rule = run.get("until") if isinstance(run, dict) else None
    if not isinstance(rule, dict):
        return None
    error, most = rule.get("relative_error"), rule.get("most")
    if not isinstance(error, (int, float)) or not isinstance(most, int):
        return None
    return float(error), most, str(rule.get("of", "capsize"))


def of_case(ds: xr.Dataset, case: int) -> dict[str, Any]:
    """Wind, sea, events and start of a case as written: base, condition, place in the sweep.

    What changes the ship is left aside: the result holds what became of it.
    """
    whole = scenario(ds)
    name = conditions(ds)[case]
    own = [each for each in tables(whole.get("conditions")) if each.get("name") == name]
    given = {key: value for each in own for key, value in each.items()}
    # Whole tables and lists before the single values in them.
    for key in sorted(given, key=lambda key: key.count(".")):
        whole = _with(whole, key, given[key])
    for axis in sweep_axes(ds):
        key, value = str(ds[axis].attrs.get("scenario_key", "")), ds[axis].values[case].item()
        if is_offset(ds, axis):
            there = _at(whole, key.split("."))
            value = value + there if isinstance(there, (int, float)) else None
        whole = whole if value is None else _with(whole, key, value)
    return whole


def _at(tree: Any, parts: list[str]) -> Any:
    """The value at a dotted key; None where there is none."""
    for part in parts:
        if isinstance(tree, list) and part.isdigit() and int(part) < len(tree):
            tree = tree[int(part)]
        else:
            tree = tree.get(part) if isinstance(tree, dict) else None
    return tree


def _with(tree: dict[str, Any], key: str, value: Any) -> dict[str, Any]:
    """`tree` with a value at a dotted key; what is not touched is shared, not copied."""
    if key.split(".")[0] not in WEATHER:
        return tree
    *way, last = key.split(".")
    whole = dict(tree)
    here: Any = whole
    for part in way:
        index: Any = int(part) if isinstance(here, list) and part.isdigit() else part
        inner = _at(here, [part])
        if not isinstance(inner, (dict, list)):
            return tree  # another hand has been at the text
        here[index] = inner.copy()
        here = here[index]
    if isinstance(here, dict):
        here[last] = value
    return whole


def tables(value: object) -> list[dict[str, Any]]:
    """The tables of a list; none of what is no list of tables."""
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []
