"""The critical values of all cases of a study, to a file."""

from __future__ import annotations

import math
import threading
import tomllib
from collections.abc import Sequence
from dataclasses import replace as changed
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.errors import InputError
from rollsim.map_names import MAPS, Search
from rollsim.measures.outcome import Event, default_event
from rollsim.scenario.expand.axes import coordinate_names, item_at
from rollsim.scenario.schema import Critical
from rollsim.scenario.schema.catalogue import resolve
from rollsim.scenario.schema.units import split_unit
from rollsim.scenario.text.faults import Finding, located
from rollsim.store.maps import write_map
from rollsim.study.at_value import VariedCase, own_value
from rollsim.study.critical.counting import Counting
from rollsim.study.critical.search import searched
from rollsim.study.critical.trials import Answer, Question
from rollsim.study.critical.words import note
from rollsim.study.pieces import Arrays, Pieces, works_to_file
from rollsim.study.plan import Plan
from rollsim.study.run import NOBODY, Listener, attributes, axes
from rollsim.study.workers import ALL_CORES, Where, warm

PROBABILITY = 0.05
"""What is searched for where something is random and nothing is given."""
PARTS = 200
"""Parts of the range of which one is the tolerance where none is given."""


def critical_to_file(
    plan: Plan,
    path: Path,
    *,
    replace: bool = False,
    where: Where = ALL_CORES,
    listener: Listener = NOBODY,
) -> bool:
    """Search every case for what [critical] wants, and write it; False if interrupted.

    InputError for what makes no search, before anything runs, and where no case has an answer.
    The listener hears the number of runs counted so far; how many it will be nobody knows.
    """
    searches = _Searches(plan, listener)
    warm(plan)
    whole = works_to_file(
        plan.study.text,
        path,
        "critical",
        [partial(searches.search, number) for number in range(len(plan.cases))],
        partial(searches.write, path),
        replace=replace,
        where=where,
        listener=Listener(tell=listener.tell),
    )
    # Only here: what is refused leaves no unfinished work behind, for the file is to be mended.
    if searches.refused:
        raise searches.refused[0]
    return whole


class _Searches:
    """The searches of all cases of a plan; `refused` are the errors that came up on the way."""

    def __init__(self, plan: Plan, listener: Listener) -> None:
        self._listener, self._lock, self._counted = listener, threading.Lock(), 0
        self.plan, self.table = plan, requested(plan)
        self.event = event_of(plan, self.table)
        keys = [self.table.key]
        self.varied = [VariedCase(plan.study, number, keys) for number in range(len(plan.cases))]
        self.questions = _questions(plan, self.table, self.varied)
        self.refused: list[InputError] = []

    def search(self, number: int, pieces: Pieces) -> Arrays:
        """The answer of one case as arrays."""
        question = self.questions[number]
        try:
            counting = Counting(self.varied[number], number, self.event, pieces)
            answer = searched(question, partial(self._told, counting))
        except InputError as error:  # a value within the range that makes no sound case
            self.refused.append(error)
            return {}
        return _arrays(answer, note(question, answer, self.table.key, self.event))

    def _told(self, counting: Counting, value: float, first: int, last: int) -> tuple[int, int]:
        """A count, and that it is there."""
        counts = counting(value, first, last)
        with self._lock:
            self._counted += last - first
            self._listener.progress(self._counted)
        return counts

    def write(self, path: Path, made: list[Arrays]) -> None:
        """Put all answers into the file; nothing where anything is refused."""
        if not self.refused and (findings := _unanswered(self.plan, made)):
            self.refused.append(_refused(self.plan, findings))
        if self.refused:
            return
        plan, table = self.plan, self.table
        unit = split_unit(table.key)[1]
        units = {name: unit for name, variable in MAPS["critical"].items() if variable.units == ""}
        units.pop("note")
        arrays = _together(made) | {
            "condition": np.array([case.condition for case in plan.cases]),
            "critical_probability": np.array(
                [math.nan if q.probability is None else q.probability for q in self.questions]
            ),
            "own_value": np.array(
                [own_value(plan.study, i, table.key) for i in range(len(plan.cases))]
            ),
        }
        write_map(path, "critical", arrays, axes(plan), self._says(), plan.study.text, units)

    def _says(self) -> dict[str, str | int | float]:
        """What the file says of itself."""
        plan, table = self.plan, self.table
        says = attributes(plan) | {
            "history": f"rollsim critical {Path(plan.study.file).name}",
            "duration_s": plan.cases[0].duration,
            "searched_key": table.key,
            "searched_name": coordinate_names([table.key])[0],
            "searched_item": item_at(tomllib.loads(plan.study.text), resolve(table.key) or ()),
            "searched_from": table.from_,
            "searched_to": table.to,
            "event": self.event,
            "tolerance": self.questions[0].tolerance,
            "most_runs": table.most,
        }
        says.pop("histories")
        return says


def requested(plan: Plan) -> Critical:
    """The table [critical] of a scenario; InputError where it has none."""
    table = plan.study.base.critical
    if table is None:
        hint = 'add it: key = "ship.gravity.kg_m", from = 5.0, to = 6.2'
        raise _refused(plan, [Finding(("critical",), "is missing", hint)])
    return table


def event_of(plan: Plan, table: Critical) -> Event:
    """The event that is searched for: failure where any case has a roll or flooding limit."""
    limits = np.array([(case.limits.roll, case.limits.flooding) for case in plan.cases]).T
    roll, flooding = np.where(np.isfinite(limits), limits, math.nan)
    return table.of or default_event(roll, flooding)


def _refused(plan: Plan, findings: Sequence[Finding]) -> InputError:
    return InputError(plan.study.file, located(findings, plan.study.text))


def _questions(plan: Plan, table: Critical, varied: Sequence[VariedCase]) -> list[Question]:
    """What is searched for in every case; InputError where an end is none, or p has no meaning."""
    ends = (
        _sound_ends(plan, table, each, case) for each, case in zip(varied, plan.cases, strict=True)
    )
    random = [any(case.random for case in both) for both in ends]
    if table.probability is not None and not any(random):
        problem = f"nothing is random here, so nothing is a probability, got {table.probability:g}"
        hint = "leave it out: the value at which the event first happens is searched for"
        raise _refused(plan, [Finding(("critical", "probability"), problem, hint)])
    spread = table.to - table.from_
    sure = Question(table.from_, table.to, None, table.tolerance or spread / PARTS, table.most)
    p = table.probability or PROBABILITY
    return [changed(sure, probability=p) if each else sure for each in random]


def _sound_ends(plan: Plan, table: Critical, varied: VariedCase, case: Case) -> list[Case]:
    """The physics of a case at both ends; InputError with the reason where an end is unsound."""
    made = []
    for word, value in (("from", table.from_), ("to", table.to)):
        try:
            made.append(varied.at(value))
        except InputError as error:
            fault = error.faults[0]
            problem = (
                f"makes no sound case {case.index} ({case.condition}), got {value:g}: "
                f"{fault.key}: {fault.problem}"
            )
            raise _refused(plan, [Finding(("critical", word), problem, fault.hint)]) from None
    return made


def _unanswered(plan: Plan, made: Sequence[Arrays]) -> list[Finding]:
    """Where no case at all has an answer, what was seen at the ends of each."""
    if any(int(each["search"]) == Search.FOUND for each in made):
        return []
    findings = []
    for case, each in zip(plan.cases, made, strict=True):
        problem, _, hint = str(each["note"]).partition(": ")
        where = f"case {case.index} ({case.condition}): " if len(made) > 1 else ""
        findings.append(Finding(("critical",), f"{where}{problem}", hint))
    return findings


def _arrays(answer: Answer, words: str) -> Arrays:
    return {
        "value": np.array([answer.value, answer.lower, answer.upper]),
        "search": np.array(int(answer.search)),
        "rises": np.array(int(answer.rising)),
        "note": np.array(words),
        "trials": np.array(answer.trials, dtype=np.float64).reshape(-1, 4),
        "others": np.array(answer.others, dtype=np.float64).reshape(-1, 2),
    }


def _together(made: Sequence[Arrays]) -> Arrays:
    """The answers of all cases as variables of the file."""
    value, lower, upper = np.array([each["value"] for each in made]).T
    trials = _filled([each["trials"] for each in made])
    others = _filled([each["others"] for each in made])
    arrays = {
        "critical_value": value,
        "critical_value_lower": lower,
        "critical_value_upper": upper,
        "critical_search": np.array([each["search"] for each in made], dtype=np.int8),
        "critical_rises": np.array([each["rises"] for each in made], dtype=np.int8),
        "note": np.array([str(each["note"]) for each in made]),
        "trial_value": trials[..., 0],
    }
    for column, name in enumerate(("runs", "events", "solved"), 1):
        arrays[f"trial_{name}"] = np.nan_to_num(trials[..., column]).astype(np.int32)
    if others.shape[1]:
        arrays |= {"passing_lower": others[..., 0], "passing_upper": others[..., 1]}
    return arrays


def _filled(tables: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Tables of different length as one array, missing rows NaN."""
    longest = max(len(each) for each in tables)
    whole = np.full((len(tables), longest, tables[0].shape[1]), np.nan)
    for row, each in zip(whole, tables, strict=True):
        row[: len(each)] = each
    return whole
