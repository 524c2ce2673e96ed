"""Models with numbers of one's own, for the laws: nothing here comes from evidence."""

from __future__ import annotations

import numpy as np

from vestry.contact.amounts import OBSERVER, WEARER, Chance, Going, Model, Passing, Quantity, of_program
from vestry.contact.amounts.tables import constant, fractions
from vestry.contact.program import Op, Program
from vestry.trade import Law

TOUCH = Quantity("touch", fractions(Law(kind="uniform", low=0.05, high=0.45)), 0.5)
BACK = Quantity("back", fractions(Law(kind="uniform", low=0.05, high=0.45)), 0.5)
WELL = Quantity("well", np.power(10.0, -np.linspace(1.0, 4.0, 2049)), 0.25)
SHORT = Quantity("short", np.power(10.0, -np.linspace(0.0, 1.0, 2049)), 0.0)
NOTHING = Quantity("nothing-left", constant(0.0))
ALL = Quantity("all", constant(1.0))
LOAD = Quantity("load", np.power(10.0, np.linspace(2.0, 6.0, 2049)), 1.0)
CLASS_SCALE = {"high": 1.0, "low": 0.01}


def chance(p: float, effect: int = WEARER, name: str = "") -> Chance:
    return Chance(Quantity(name or f"chance-{p}", constant(p)), effect)


def model_of(
    program: Program,
    *,
    slip: float = 0.1,
    short: float = 0.2,
    latent: float = 0.2,
    residue: float = 0.2,
    perfect: bool = False,
    certain: bool = False,
    spread: float = 1.0,
    missed: float | None = None,
) -> Model:
    """A program with made-up numbers: each sort of event its chance; `perfect` cleanings leave nothing."""

    def passing(op: Op) -> Passing | None:
        if op.verb == "fresh":
            return None
        if op.verb == "clean":
            return Passing(NOTHING if perfect else WELL, SHORT)
        if certain:
            return Passing(ALL if op.verb != "contact" else Quantity("half", constant(0.5)), None)
        return Passing(TOUCH, BACK if op.verb == "contact" else None)

    def going(number: int) -> Going:
        sort = program.events[number].sort
        if sort in ("slip", "omission"):
            return Going(
                chance(slip),
                chance(short) if sort == "omission" else None,
                None if missed is None else chance(missed, OBSERVER, "missed"),
            )
        return Going(chance(latent if sort == "latent" else residue, -1))

    def load(number: int, name: str) -> tuple[Quantity, float, bool]:
        return LOAD, CLASS_SCALE[name], True

    return of_program(
        program,
        passing,
        going,
        load,
        spread={WEARER: spread, OBSERVER: spread},
        reported=range(len(program.surfaces)),
    )
