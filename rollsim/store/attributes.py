"""What every file says of itself: conventions, versions, the scenario, the caution."""

from __future__ import annotations

import hashlib
import os
import platform
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib import metadata
from typing import Any

import numpy as np

from rollsim.cautions import CAUTION

FORMAT = 1
"""Attribute `rollsim_format`, the file's form; raised when an older reader would err."""
MAP = "rollsim_map"
"""Attribute that names the command of a file that is no result of a study of runs."""
PACKAGES = ("rollsim", "numpy", "scipy", "numba", "netCDF4")


def scenario_digest(text: str) -> str:
    """The SHA-256 of a scenario's text, by which a result knows its scenario."""
    return hashlib.sha256(text.encode()).hexdigest()


def global_attributes(given: Mapping[str, str | int | float], text: str) -> dict[str, Any]:
    """What the file says of itself; nothing is said that the run does not know (place, date)."""
    now = _now()
    versions = {package: _version(package) for package in PACKAGES}
    found: dict[str, Any] = {
        "Conventions": "CF-1.11, ACDD-1.3",
        "title": "Ship roll histories",
        "summary": "Simulated roll of a ship in wind and waves: histories, outcome and margins "
        "of every run, stability curves of every case.",
        "keywords": "ship stability, ship roll, capsize, waves, time-domain simulation",
        "source": f"rollsim {versions['rollsim']}, time-domain simulation of roll in one degree "
        "of freedom",
        "standard_name_vocabulary": "CF Standard Name Table v93",
    }
    found |= given
    found |= {
        "history": f"{now} {given.get('history', 'rollsim')}",
        "date_created": now,
        "comment": CAUTION,
        "versions": ", ".join(
            [f"python {platform.python_version()}", *(" ".join(v) for v in versions.items())]
        ),
        "machine": platform.machine(),
        "scenario_text": text,
        "scenario_sha256": scenario_digest(text),
        "rollsim_format": FORMAT,
    }
    return {key: _attribute(value) for key, value in found.items()}


def _attribute(value: str | int | float) -> Any:
    """An attribute as netCDF stores it; a seed may need all 64 bits without a sign."""
    if isinstance(value, int):
        return np.uint64(value) if value >= 1 << 63 else np.int64(value)
    return value


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "not installed"


def _now() -> str:
    """The time of writing in UTC, or SOURCE_DATE_EPOCH [s since 1970] where that is set."""
    try:
        moment = datetime.fromtimestamp(int(os.environ["SOURCE_DATE_EPOCH"]), UTC)
    except (KeyError, ValueError, OverflowError, OSError):  # no reason to lose a finished result
        moment = datetime.now(UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")
