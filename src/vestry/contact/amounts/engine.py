"""Which engine runs: NumPy always, Numba where it is installed and the work is worth its start."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from vestry.contact.amounts import kernels, plain

Choice = Literal["auto", "numpy", "numba"]
WORTH_STARTING = 60_000_000  # operations x draws; importing Numba costs 1.4 s even with everything cached
Kernel = Callable[..., None]


@dataclass(frozen=True)
class Engine:
    """The four functions of an engine, and how many lanes it likes at a time."""

    name: str
    common: Kernel
    happen: Kernel
    load: Kernel
    run: Kernel
    lanes: int


NUMPY = Engine("numpy", plain.common, plain.happen, plain.load, plain.run, 4096)
UNCOMPILED = Engine(
    "uncompiled", kernels.common_lanes, kernels.happen_lanes, kernels.load_lanes, kernels.run_lanes, 1024
)
_loaded: list[Engine | None] = []


def engine(choice: Choice = "auto", work: int = 0) -> Engine:
    """The engine for this much work (operations x draws).

    `auto` takes Numba when it is loaded already or the work is worth loading it, and NumPy where it is not installed.
    ImportError when `numba` is asked for and not there.
    """
    if choice == "numpy" or (choice == "auto" and not _loaded and work < WORTH_STARTING):
        return NUMPY
    found = _load()
    if found is None:
        if choice == "numba":
            raise ImportError("Numba is not installed; see ./setup")
        return NUMPY
    return found


def warm() -> str:
    """Load and compile the fast engine now, so that the next answer does not wait; the name of what will run."""
    return engine("auto", WORTH_STARTING).name


def _load() -> Engine | None:
    if not _loaded:
        _loaded.append(_compiled())
    return _loaded[0]


def _compiled() -> Engine | None:
    try:
        import numba  # type: ignore[import-untyped,unused-ignore]
    except ImportError:
        return None

    def jit(function: Kernel) -> Any:
        return numba.njit(nogil=True, cache=True)(function)

    return Engine(
        "numba",
        jit(kernels.common_lanes),
        jit(kernels.happen_lanes),
        jit(kernels.load_lanes),
        jit(kernels.run_lanes),
        1024,
    )
