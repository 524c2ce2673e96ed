"""Amounts: how much reaches where. The third algebra of a compiled program; one lane a draw.

The rules, by number (tests name them):
 1. A contact mixes both loads with the values before it: b += t_ab*a - t_ba*b, a -= the same; t_ab + t_ba <= 1.
 2. A slide, a stir and breathing pass a fraction one way; nothing appears, nothing is lost.
 3. A cleaning leaves 10^-LR; left out it leaves all; too short it leaves 10^-LR of a short one.
 4. A fresh item starts with nothing.
 5. A slip adds its touches, a residue too; a latent fault is drawn once and acts whenever its face is touched.
 6. The log-odds of all slips of one run are shifted together, and re-centred so that each rate stays as published.
 7. A number depends on the seed, on what is drawn and on the draw; not on block, thread, order or company.
 8. An observer who sees a deviation triggers its recovery, which the run then follows; one who misses it does not.

What comes out is an amount, told beside a detection limit and the share that a sample recovers. It is never a
probability of infection.
"""

from vestry.contact.amounts.binding import Bound, Use, bind, bind_order, compile_for_amounts
from vestry.contact.amounts.context import Context
from vestry.contact.amounts.engine import Choice, warm
from vestry.contact.amounts.model import (
    ALONE,
    OBSERVER,
    WEARER,
    Chance,
    Going,
    Model,
    Passing,
    Quantity,
    of_program,
)
from vestry.contact.amounts.simulate import ENVELOPE, Continuation, Outcome, collected, simulate, stream

__all__ = [
    "ALONE",
    "ENVELOPE",
    "OBSERVER",
    "WEARER",
    "Bound",
    "Chance",
    "Choice",
    "Context",
    "Continuation",
    "Going",
    "Model",
    "Outcome",
    "Passing",
    "Quantity",
    "Use",
    "bind",
    "bind_order",
    "collected",
    "compile_for_amounts",
    "of_program",
    "simulate",
    "stream",
    "warm",
]
