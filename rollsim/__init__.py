"""Time-domain roll motion of a ship on her righting levers, with a batch scenario runner.

From Python:

    study = rollsim.load("scenario.toml")   # read, checked and expanded; InputError if faulty
    ds = study.run()                        # an xarray Dataset, the same as in the result's file
    ds = rollsim.open_result("result.nc")   # or one that was run before
    print(ds.rollsim.summary())
    ds.rollsim.plot_stability()

`import rollsim` itself loads nothing heavy. The first use of any name above does, and gives every
Dataset its `.rollsim`; who opens results with xarray alone writes `import rollsim.accessor`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rollsim.library import LoadedStudy, load, loads, open_result

    __version__: str

__all__ = ["LoadedStudy", "__version__", "load", "loads", "open_result"]


def __getattr__(name: str) -> Any:
    """The public names, imported on their first use."""
    if name == "__version__":
        from importlib.metadata import version

        return version("rollsim")
    if name in __all__:
        from rollsim import library

        return getattr(library, name)
    raise AttributeError(f"module 'rollsim' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
