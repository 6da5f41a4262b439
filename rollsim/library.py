"""The library face: the same studies from Python as from the shell."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike

import rollsim.accessor  # noqa: F401  gives every Dataset its .rollsim
from rollsim.engines.base import run_list
from rollsim.scenario import load as scenario
from rollsim.store import reading
from rollsim.store.maps import open_map
from rollsim.study import heel_cause
from rollsim.study.basin import basin_to_file
from rollsim.study.critical.study import critical_to_file
from rollsim.study.equilibria import equilibria_to_file
from rollsim.study.listed import runs_dataset
from rollsim.study.loop import run_list as run_list_of
from rollsim.study.plan import Plan, make_plan
from rollsim.study.response import response_to_file
from rollsim.study.run import Listener, run_to_file
from rollsim.study.stability import static_dataset
from rollsim.study.warnings import warnings
from rollsim.study.workers import Engines, Where

FilePath = str | os.PathLike[str]


def open_result(path: FilePath) -> xr.Dataset:
    """A result as a labelled Dataset in the units of the file; InputError for anything else.

    A result above 512 MB is read on demand and keeps its file open until `.close()`.
    """
    return reading.open_result(Path(path))


def load(path: FilePath) -> LoadedStudy:
    """The study that a scenario file describes; InputError with all its faults."""
    return LoadedStudy(scenario.load(path))


def loads(text: str, name: str = "scenario") -> LoadedStudy:
    """The study that a scenario text describes; `name` stands for its file in messages."""
    return LoadedStudy(scenario.loads(text, name))


@dataclass(frozen=True, eq=False, repr=False)
class LoadedStudy:
    """A scenario, read, checked and expanded to its cases, ready to run."""

    study: scenario.Study

    @cached_property
    def plan(self) -> Plan:
        """The study as physics; InputError where a case cannot be made."""
        return make_plan(self.study)

    def __repr__(self) -> str:
        run = self.study.base.run
        sizes = f"{len(self.study.cases)} cases x {run.realisations} realisations"
        return f"<LoadedStudy {self.study.file!r}: {sizes} of {run.duration_s:g} s>"

    def check(self) -> tuple[str, ...]:
        """What looks doubtful, as `rollsim check` warns of it; empty where nothing does."""
        return warnings(self.plan)

    def stability(self) -> xr.Dataset:
        """The static picture of every case: numbers at rest and curves, without any run."""
        return static_dataset(self.plan)

    def run(
        self,
        out: FilePath | None = None,
        *,
        replace: bool = False,
        workers: int | None = None,
        scheduler: str | None = None,
        progress: Callable[[int], None] = lambda _: None,
    ) -> xr.Dataset:
        """Run the study and give its result, written to `out` on the way if that is given.

        workers: threads of this process, all cores where None; processes for scipy's methods, for
            which a script needs `if __name__ == "__main__":`.
        scheduler: address of a running dask scheduler to run on instead.
        progress: hears the number of runs finished.

        An interruption comes through as KeyboardInterrupt; with `out`, what was finished is kept
        and the next call goes on from there.
        """
        where, listener = Where(workers, scheduler), Listener(progress)
        if out is not None:
            self._to_file(Path(out), replace, where, listener)
            return open_result(out)
        with TemporaryDirectory(prefix="rollsim-") as folder:
            path = Path(folder) / "result.nc"
            self._to_file(path, replace, where, listener)
            with open_result(path) as result:
                return result.load()

    def runs(
        self,
        case: int = 0,
        *,
        realisation: ArrayLike = 0,
        roll_deg: ArrayLike | None = None,
        roll_rate_deg_per_s: ArrayLike | None = None,
        waves_factor: ArrayLike = 1.0,
        wind_factor: ArrayLike = 1.0,
        histories: bool = False,
        workers: int | None = None,
    ) -> xr.Dataset:
        """Runs of one case from any starts and in weather made stronger, over dimension `run`.

        Numbers or arrays of one length; the start is the case's own where it is left out.
        `waves_factor` multiplies slope and elevation of the waves, `wind_factor` the wind speed.
        The variables are those of a result, histories over `t` only where they are wanted.
        IndexError for a case that there is not.
        """
        if not 0 <= case < len(self.plan.cases):
            raise IndexError(f"case must be 0 to {len(self.plan.cases) - 1}, got {case}")
        start = self.plan.cases[case].start
        roll = start[0] if roll_deg is None else np.radians(roll_deg)
        rate = start[1] if roll_rate_deg_per_s is None else np.radians(roll_rate_deg_per_s)
        wanted = run_list(realisation, (roll, rate), waves_factor, wind_factor)
        where = Where(workers)
        made = run_list_of(
            self.plan, case, wanted, histories=histories, where=where, engines=self._engines
        )
        return runs_dataset(self.plan, wanted, made)

    def critical(
        self, out: FilePath | None = None, *, replace: bool = False, workers: int | None = None
    ) -> xr.Dataset:
        """What [critical] searches for in every case, as `rollsim critical` finds and writes it.

        InputError where the scenario makes no search, or no case has an answer; an interruption
        comes through as KeyboardInterrupt, as in `run`.
        """
        return self._mapped("critical", critical_to_file, out, replace, workers)

    def basin(
        self, out: FilePath | None = None, *, replace: bool = False, workers: int | None = None
    ) -> xr.Dataset:
        """What becomes of the ship from every start of [basin], as `rollsim basin` writes it."""
        return self._mapped("basin", basin_to_file, out, replace, workers)

    def response(
        self, out: FilePath | None = None, *, replace: bool = False, workers: int | None = None
    ) -> xr.Dataset:
        """The steady responses over what [response] says, as `rollsim response` writes them."""
        return self._mapped("response", response_to_file, out, replace, workers)

    def equilibria(
        self, out: FilePath | None = None, *, replace: bool = False, workers: int | None = None
    ) -> xr.Dataset:
        """Every heel of rest over what [equilibria] says, as `rollsim equilibria` writes it."""
        return self._mapped("equilibria", equilibria_to_file, out, replace, workers)

    def heel_cause(self) -> list[dict[str, Any]]:
        """List, loll or both for every case, from what is [observed]: `rollsim heel-cause --json`.

        Probabilities, never an order to act; lengths in metres.
        """
        return heel_cause.rows(self.plan, heel_cause.causes(self.plan))

    def _mapped(
        self,
        command: str,
        to_file: Callable[..., bool],
        out: FilePath | None,
        replace: bool,
        workers: int | None,
    ) -> xr.Dataset:
        if out is None:
            with TemporaryDirectory(prefix="rollsim-") as folder:
                path = Path(folder) / f"{command}.nc"
                return self._mapped(command, to_file, path, replace, workers)
        if not to_file(self.plan, Path(out), replace=replace, where=Where(workers)):
            raise KeyboardInterrupt
        return open_map(Path(out), command)

    @cached_property
    def _engines(self) -> Engines:
        """Engines that stay ready from one list of runs to the next."""
        return Engines(self.plan)

    def _to_file(self, path: Path, replace: bool, where: Where, listener: Listener) -> None:
        whole = run_to_file(self.plan, path, replace=replace, where=where, listener=listener)
        if not whole:
            raise KeyboardInterrupt
