"""Cut sets by clingo, a general solver: the minimal event sets of every endpoint, from one grounding.

`v(N)` is one writing of a surface, `f(E)` an event that happens. Each endpoint is asked for by an external; the domain
heuristic prefers that events do not happen and the record-keeping enumeration then gives the subset-minimal sets alone.
Told as text it goes through clingo's grounder; told as ground rules it does not, which is quicker.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import clingo
from clingo.backend import HeuristicType

from vestry.contact.program import NO_EVENT, Program

Told = Literal["text", "ground-rules"]
When = Literal["ever", "at-end"]
Asked = tuple[int, When]
SETTINGS = ("--heuristic=Domain", "--enum-mode=domRec", "--models=0")


@dataclass(frozen=True)
class Encoded:
    """A program as rules. Writings of surfaces are numbers from 1; event e is -e - 1. `tops`: endpoint to writings."""

    events: tuple[int, ...]
    rules: tuple[tuple[int, tuple[int, ...]], ...]
    tops: dict[Asked, tuple[int, ...]]


def encoded(program: Program, latent: bool) -> Encoded:
    """A program as rules; what can never be contaminated has none."""
    sorts = {"slip", "omission", "latent"} if latent else {"slip", "omission"}
    now: dict[int, int] = {}
    written: dict[int, list[int]] = {}
    rules: list[tuple[int, tuple[int, ...]]] = []
    writings = 0

    def write(surface: int, *bodies: tuple[int, ...]) -> None:
        nonlocal writings
        writings += 1
        now[surface] = writings
        written.setdefault(surface, []).append(writings)
        rules.extend((writings, body) for body in bodies)

    for surface in program.sources("all"):
        write(surface, ())
    for op in program.active_ops(latent):
        event = () if op.event == NO_EVENT else (-op.event - 1,)
        a, b = now.get(op.a), now.get(op.b)
        if op.verb == "fresh":
            now.pop(op.a, None)
        elif op.verb == "clean":
            if a is not None and event:
                write(op.a, (a, *event))
            else:
                now.pop(op.a, None)
        else:
            if a is not None:
                write(op.b, (a, *event), *(() if b is None else ((b,),)))
            if b is not None and op.verb == "contact":
                write(op.a, (b, *event), *(() if a is None else ((a,),)))
    tops: dict[Asked, tuple[int, ...]] = {}
    for surface, _ in program.endpoints:
        if surface in written:
            tops[surface, "ever"] = tuple(written[surface])
        if surface in now:
            tops[surface, "at-end"] = (now[surface],)
    events = tuple(number for number, event in enumerate(program.events) if event.sort in sorts)
    return Encoded(events, tuple(rules), tops)


class Grounded:
    """A program in the solver, ready to be asked. The time of making it is the peer's too."""

    def __init__(self, program: Program, size: int, latent: bool = True, told: Told = "text") -> None:
        self.encoded = encoded(program, latent)
        self.control = clingo.Control(list(SETTINGS))
        self.asks: dict[Asked, clingo.Symbol | int] = {}
        self.event_of: dict[int, int] = {}
        if told == "text":
            self._tell_text(size)
        else:
            self._tell_rules(size)

    def minimal_sets(self) -> dict[Asked, frozenset[int]]:
        """The minimal event sets of every endpoint that can be reached, ever and at the end."""
        return {asked: frozenset(self._answer(ask)) for asked, ask in self.asks.items()}

    def _answer(self, ask: clingo.Symbol | int) -> Iterator[int]:
        self.control.assign_external(ask, True)
        found: list[int] = []

        def keep(model: clingo.Model) -> None:
            found.append(sum(1 << event for event, literal in self.event_of.items() if model.is_true(literal)))

        self.control.solve(on_model=keep)
        self.control.assign_external(ask, False)
        yield from found

    def _tell_text(self, size: int) -> None:
        lines = [_line(head, body) for head, body in self.encoded.rules]
        lines.append(" ".join(f"ev({event})." for event in self.encoded.events))
        lines.append(f"{{ f(E) : ev(E) }}. :- #count {{ E : f(E) }} > {size}. #heuristic f(E) : ev(E). [1,false]")
        for number, (asked, atoms) in enumerate(self.encoded.tops.items()):
            tops = " ".join(f"top({number}) :- v({atom})." for atom in atoms)
            lines.append(f"#external ask({number}). :- ask({number}), not top({number}). {tops}")
            self.asks[asked] = clingo.Function("ask", [clingo.Number(number)])
        self.control.add("base", [], "\n".join([*lines, "#defined ev/1. #show f/1."]))
        self.control.ground([("base", [])])
        for atom in self.control.symbolic_atoms.by_signature("f", 1):
            self.event_of[atom.symbol.arguments[0].number] = atom.literal

    def _tell_rules(self, size: int) -> None:
        with self.control.backend() as backend:
            atom = {-event - 1: backend.add_atom() for event in self.encoded.events}
            self.event_of = {event: atom[-event - 1] for event in self.encoded.events}
            if atom:
                backend.add_rule(list(atom.values()), choice=True)
            if len(atom) > size:
                backend.add_weight_rule([], size + 1, [(one, 1) for one in atom.values()])
            for one in atom.values():
                backend.add_heuristic(one, HeuristicType.False_, 1, 1, [])
            for head, body in self.encoded.rules:
                if head not in atom:
                    atom[head] = backend.add_atom()
                backend.add_rule([atom[head]], [atom[one] for one in body])
            for asked, writings in self.encoded.tops.items():
                top, ask = backend.add_atom(), backend.add_atom()
                backend.add_external(ask)
                for one in writings:
                    backend.add_rule([top], [atom[one]])
                backend.add_rule([], [ask, -top])
                self.asks[asked] = ask


def _line(head: int, body: tuple[int, ...]) -> str:
    if not body:
        return f"v({head})."
    return f"v({head}) :- {', '.join(f'v({one})' if one > 0 else f'f({-one - 1})' for one in body)}."
