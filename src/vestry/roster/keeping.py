"""What a staffing office did with a proposal: taken, left, changed by hand. The roster in force is a fold of these."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from vestry.roster.replaying import Breach, breaches
from vestry.roster.rota import Assigned, Rota
from vestry.trade.values import Value


class Act(Value):
    """One thing done with a rota, in the order in which it was done.

    taken     the roster as it was proposed (`assigned`)
    left      the proposal was left
    changed   of one person on one day: `gone` is no longer asked, `come` is; either may be missing
    """

    kind: Literal["taken", "left", "changed"]
    assigned: tuple[Assigned, ...] = ()
    gone: Assigned | None = None
    come: Assigned | None = None


@dataclass(frozen=True)
class Kept:
    """Where a rota stands. `roster` None: none was taken. `left`: its proposal was left, and none was taken since."""

    roster: tuple[Assigned, ...] | None = None
    left: bool = False


def kept(acts: Iterable[Act]) -> Kept:
    """The state after these acts. A change of what is not there, or before any roster, changes nothing."""
    roster: tuple[Assigned, ...] | None = None
    left = False
    for act in acts:
        match act.kind:
            case "taken":
                roster, left = act.assigned, False
            case "left":
                left = roster is None
            case "changed" if roster is not None:
                roster = with_change(roster, act.gone, act.come)
    return Kept(roster, left)


def with_change(roster: tuple[Assigned, ...], gone: Assigned | None, come: Assigned | None) -> tuple[Assigned, ...]:
    """A roster with one cell changed."""
    rest = tuple(one for one in roster if one != gone)
    return rest if come is None or come in rest else (*rest, come)


def troubles_of(rota: Rota, before: tuple[Assigned, ...], after: tuple[Assigned, ...]) -> tuple[Breach, ...]:
    """What a change would break that was not broken before. A free cell is never a trouble; it is a gap."""
    known = set(breaches(rota, before))
    return tuple(one for one in breaches(rota, after) if one not in known)
