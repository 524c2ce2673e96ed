"""From a compiled program and the evidence to numbers: every one keeps the id of the record it came from.

Only data decide: what surfaces are made of and how large they are, the verb, the agent and how long it was used, the
slip's or fault's name, the presentation, the context. The id of a bound quantity is that of its record, or of two
joined by `*` where a touch is an efficiency times a share of the face.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

import numpy as np

from vestry.contact.amounts.chance import F64
from vestry.contact.amounts.context import Context, combined, multipliers, updated, with_odds
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
from vestry.contact.amounts.tables import constant, factors, fractions, mean, quantiles
from vestry.contact.compiler import compile_steps, setting_of
from vestry.contact.exposure import Setting
from vestry.contact.program import NO_EVENT, Op, Program
from vestry.contact.surfaces import surface
from vestry.contact.taught import TaughtStep, taught
from vestry.trade import Catalogue, Order
from vestry.trade.evidence import Evidence, EvidenceRecord, NoEvidence
from vestry.trade.law import Law

SHORT_SECONDS = 10
HYGIENE_ON = {"hands": "hand-hygiene", "gloves": "disinfect-gloves", "surfaces": "wipe"}
# Where no record applies: the worst that the quantity can be. Shown as a default, never as evidence.
CAUTIOUS: dict[str, float] = {
    "transfer-fraction": 1.0,
    "face-share": 1.0,
    "stir-fraction": 1.0,
    "residue-chance": 1.0,
    "residue-amount": 1.0,
    "latent-fault-rate": 1.0,
    "through-fault-fraction": 1.0,
    "log-reduction": 0.0,
    "slip-probability": 1.0,
    "omission-probability": 1.0,
    "short-rub-probability": 1.0,
    "observer-miss-probability": 1.0,
    "load": 1.0,
    "run-spread": 1.0,
}


@dataclass(frozen=True)
class Use:
    """What a number rests on: a record of the evidence, or a cautious default (`record` None), and what was asked."""

    id: str
    quantity: str
    record: EvidenceRecord | None
    asked: tuple[tuple[str, str], ...]
    times: int


@dataclass(frozen=True, eq=False)
class Bound:
    """A model and what it rests on.

    rests_on    every record and default, with how many touches or events use it
    uncovered   body sites that nothing covers: the room loads them directly, whatever the order of removal
    unit        of the loads (`pfu`), or `fraction-of-source`
    """

    model: Model
    program: Program
    rests_on: tuple[Use, ...]
    uncovered: frozenset[str]
    unit: str

    @property
    def defaults(self) -> tuple[Use, ...]:
        """What no evidence covers."""
        return tuple(use for use in self.rests_on if use.record is None)


def compile_for_amounts(order: Order, catalogue: Catalogue) -> tuple[Program, tuple[TaughtStep, ...], Setting]:
    """An order compiled with every cleaning in it, weak ones too; BadFacts when a step cannot be done."""
    setting = replace(setting_of(order, catalogue), every_cleaning=True)
    steps = taught(order, catalogue)
    return compile_steps(steps, order, catalogue, setting), steps, setting


def bind_order(
    order: Order,
    catalogue: Catalogue,
    evidence: Evidence,
    context: Context | None = None,
    loads: Mapping[str, Law] | None = None,
    prefix: str = "",
    arrival: bool = True,
    elapsed: Mapping[str, float] | None = None,
) -> Bound:
    """An order written by anyone, compiled and bound. The arguments are those of `bind`."""
    program, steps, setting = compile_for_amounts(order, catalogue)
    return bind(program, steps, catalogue, evidence, setting, context or Context(), loads, prefix, arrival, elapsed)


def bind(
    program: Program,
    steps: tuple[TaughtStep, ...],
    catalogue: Catalogue,
    evidence: Evidence,
    setting: Setting,
    context: Context,
    loads: Mapping[str, Law] | None = None,
    prefix: str = "",
    arrival: bool = True,
    elapsed: Mapping[str, float] | None = None,
) -> Bound:
    """The numbers of a program in a setting and a context.

    program     compiled with `every_cleaning` (`compile_for_amounts`), else weak cleanings are missing
    steps       the taught steps it was compiled from: their agents and seconds
    loads       surface -> law of its load on arrival, in a unit of one's own; given, it replaces what the room loads
    prefix      "recovery:" for a continuation, so that its steps are drawn anew
    arrival     False for a continuation: what happens on arrival has happened
    elapsed     step id -> minutes from the beginning of doffing, on top of `context.minutes`
    """
    binder = _Binder(program, steps, catalogue, evidence, setting, context, elapsed=elapsed or {})
    spread = binder.middle("run-spread")
    uncovered = frozenset(surface("body", gap) for gap in program.gaps if gap != "airways")
    starts = _Starts(binder, uncovered) if loads is None else _GivenStarts(loads)
    model = of_program(
        replace(program, start=starts.program_start(program)),
        binder.passing,
        binder.going,
        starts.load,
        spread={WEARER: spread, OBSERVER: spread},
        prefix=prefix,
        arrival=arrival,
    )
    uses = tuple(replace(use, times=times) for use, times in binder.uses.values())
    return Bound(model, program, uses, uncovered, starts.unit)


@dataclass
class _Binder:
    program: Program
    steps: tuple[TaughtStep, ...]
    catalogue: Catalogue
    evidence: Evidence
    setting: Setting
    context: Context
    uses: dict[str, tuple[Use, int]] = field(default_factory=dict)
    elapsed: Mapping[str, float] = field(default_factory=dict)
    made: dict[tuple[str, ...], Quantity] = field(default_factory=dict)
    found: dict[tuple[str, tuple[tuple[str, Any], ...]], EvidenceRecord | None] = field(default_factory=dict)
    ratios_at: dict[float, tuple[Law, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.step_of = {step.id: step for step in self.steps}
        worn = {item for items in self.program.worn for item in items}
        self.clothed = frozenset(
            site for item in worn & set(self.catalogue.items) for site in self.catalogue.items[item].clothes
        )
        self.wetness = self.context.wetness or self.setting.presentation

    def ratios(self, step: str) -> tuple[Law, ...]:
        """What multiplies the odds of a slip at a step, by the minutes worn until then."""
        minutes = self.context.minutes + self.elapsed.get(step, 0.0)
        if minutes not in self.ratios_at:
            records = multipliers(replace(self.context, minutes=minutes), self.evidence)
            self.ratios_at[minutes] = tuple(self.noted(record, {}).law for record in records)
        return self.ratios_at[minutes]

    # ---- records ----------------------------------------------------------------------------------------------

    def find(self, quantity: str, **asked: Any) -> EvidenceRecord | None:
        """The record that applies, noted; None (a default, noted too) where there is none."""
        key = (quantity, tuple(asked.items()))
        if key not in self.found:
            try:
                self.found[key] = self.evidence.find(quantity, **asked)  # type: ignore[arg-type]
            except NoEvidence:
                self.found[key] = None
        record = self.found[key]
        if record is not None:
            return self.noted(record, asked)
        name = f"default:{quantity}"
        known, times = self.uses.get(name, (Use(name, quantity, None, _said(asked), 0), 0))
        self.uses[name] = (known, times + 1)
        return None

    def noted(self, record: EvidenceRecord, asked: Mapping[str, Any]) -> EvidenceRecord:
        known, times = self.uses.get(record.id, (Use(record.id, record.quantity, record, _said(asked), 0), 0))
        self.uses[record.id] = (known, times + 1)
        return record

    def middle(self, quantity: str) -> float:
        """One number: the mean of a quantity that is not drawn."""
        record = self.find(quantity)
        return CAUTIOUS[quantity] if record is None else mean(quantiles(record.law))

    def quantity(self, name: str, record: EvidenceRecord | None) -> Quantity:
        """A fraction or a chance as a record or a default says."""
        key = (record.id if record else f"default:{name}",)
        if key not in self.made:
            table = constant(CAUTIOUS[name]) if record is None else fractions(record.law)
            self.made[key] = Quantity(key[0], table, _together(record))
        return self.made[key]

    # ---- touches ----------------------------------------------------------------------------------------------

    def passing(self, op: Op) -> Passing | None:
        """How much one operation passes on."""
        if op.verb == "fresh":
            return None
        if op.verb == "clean":
            return self._cleaning(op)
        sort = self.program.events[op.event].sort if op.event != NO_EVENT else None
        if sort == "latent":
            fault = _fault(self.program.events[op.event].id)
            return Passing(self.quantity("through-fault-fraction", self.find("through-fault-fraction", fault=fault)))
        if sort == "residue":
            name = _slip(self.program.events[op.event].id)
            return Passing(self.quantity("residue-amount", self.find("residue-amount", residue=name)))
        if op.verb == "stir":
            return Passing(self.quantity("stir-fraction", self.find("stir-fraction", verb="stir")))
        onward = self._transfer(op.a, op.b, op)
        return Passing(onward, self._transfer(op.b, op.a, op) if op.verb == "contact" else None)

    def _transfer(self, giver: int, taker: int, op: Op) -> Quantity:
        """Efficiency by the two materials, times the share of the giver's face that is in the patch."""
        gives, takes = self._nature(giver), self._nature(taker)
        slip = _slip(self.program.events[op.event].id) if op.event != NO_EVENT else None
        efficiency = self.find(
            "transfer-fraction",
            from_material=gives.material,
            to_material=takes.material,
            wetness=self.wetness,
            verb=op.verb,
            slip=slip,
        )
        if op.verb == "breathe":
            return self.quantity("transfer-fraction", efficiency)
        share = self.find("face-share", verb=op.verb, size=gives.size, slip=slip)
        key = (
            efficiency.id if efficiency else "default:transfer-fraction",
            share.id if share else "default:face-share",
        )
        if key not in self.made:
            table = _product(efficiency.law if efficiency else None, share.law if share else None)
            together = max(_together(efficiency), _together(share))
            self.made[key] = Quantity("*".join(key), table, together, unknown=key[0])
        return self.made[key]

    def _nature(self, number: int) -> Any:
        return self.evidence.nature(self.program.surfaces[number], self.clothed)

    def _cleaning(self, op: Op) -> Passing:
        step = self.step_of[self.program.steps[op.step]]
        asked = {
            "agent": step.agent,
            "layer": self._layer(op.a),
            "virus_class": self.setting.virus_class,
            "soil": self.context.soil,
            "seconds": step.seconds,
        }
        short = {**asked, "seconds": min(SHORT_SECONDS, step.seconds or SHORT_SECONDS)}
        return Passing(self._left(self.find("log-reduction", **asked)), self._left(self.find("log-reduction", **short)))

    def _layer(self, number: int) -> str:
        owner = self.program.surfaces[number].partition(".")[0]
        gloves = owner in self.catalogue.helpers or (
            owner in self.catalogue.items and self.catalogue.items[owner].kind == "gloves"
        )
        return "hands" if owner == "body" else "gloves" if gloves else "surfaces"

    def _left(self, record: EvidenceRecord | None) -> Quantity:
        key = (record.id if record else "default:log-reduction", "left")
        if key not in self.made:
            table = constant(10.0 ** -CAUTIOUS["log-reduction"]) if record is None else factors(record.law)
            self.made[key] = Quantity(key[0], table, _together(record))
        return self.made[key]

    # ---- events -----------------------------------------------------------------------------------------------

    def going(self, number: int) -> Going:
        """How an event goes."""
        event = self.program.events[number]
        if event.sort == "latent":
            return Going(self._fault_chance(event.id), below=self._below_a_fault(event.id))
        if event.sort == "residue":
            record = self.find("residue-chance", residue=_slip(event.id))
            return Going(Chance(self.quantity("residue-chance", record), ALONE))
        step = self.step_of[self.program.steps[event.step]]
        missed = None
        if self.context.observer:
            miss = self.find("observer-miss-probability", act=step.act)
            missed = Chance(self.quantity("observer-miss-probability", miss), OBSERVER)
        asked = {"act": step.act, "technique": step.technique.id, "kind": self._kind(step)}
        if event.sort == "slip":
            record = self.find("slip-probability", slip=_slip(event.id), **asked)
            return Going(self._human("slip-probability", record, event.id, "slip", self.ratios(step.id)), None, missed)
        cleaned = next(op.a for op in self.program.ops if op.verb == "clean" and op.event == number)
        asked["act"] = HYGIENE_ON[self._layer(cleaned)]  # a removal may have a rub within it
        read = "yes" if self.context.read_aloud else "no"
        left_out = self.find("omission-probability", read_aloud=read, **asked)
        short = self.find("short-rub-probability", read_aloud=read, **asked)
        ratios = self.ratios(step.id) if self.context.read_aloud else ()
        return Going(
            self._human("omission-probability", left_out, event.id, "omission", ratios),
            Chance(self.quantity("short-rub-probability", short), WEARER),
            missed,
        )

    def _human(
        self, name: str, record: EvidenceRecord | None, event: str, sort: str, ratios: tuple[Law, ...]
    ) -> Chance:
        """A rate shifted by the context, then by what the unit itself counted."""
        base = event.partition("@")[0]
        which = base if base in self.context.counts else sort
        counted = self.context.counts.get(which, (0, 0))
        plain = self.quantity(name, record)
        shown = "+".join([plain.id, *(law.model_dump_json() for law in ratios), which if counted[1] else ""])
        key = (shown, "human")
        if key not in self.made:
            table = _shifted(plain.table.tobytes(), ratios)
            if counted[1]:
                table = updated(table, *counted)
            more = f"+{which}" if counted[1] else ""
            several = [*dict.fromkeys(self.ratios_at.values())].index(ratios) if ratios else 0
            context = f"+context-{several}" if ratios else ""
            self.made[key] = Quantity(f"{plain.id}{more}{context}", table, 1.0, plain.id)
        return Chance(self.made[key], WEARER)

    def _kind(self, step: TaughtStep) -> str | None:
        return self.catalogue.items[step.items[0]].kind if step.items else None

    def _fault_chance(self, event: str) -> Chance:
        record = self.find("latent-fault-rate", **self._fault_of(event))
        return Chance(self.quantity("latent-fault-rate", record), ALONE)

    def _fault_of(self, event: str) -> dict[str, Any]:
        """What a fault's rate may depend on."""
        owner = event.split(":")[1]
        item = self.catalogue.items.get(owner)
        return {
            "fault": _fault(event),
            "glove_layer": item.layer if item else None,
            "presentation": self.setting.presentation,
            "kind": item.kind if item else None,
        }

    def _below_a_fault(self, event: str) -> tuple[int, Chance] | None:
        """The fault of the same name in the layer above, and the rate where that one is there; None where there is no
        such layer, or no record for it."""
        _, owner, name = event.split(":")
        above = self._layer_above(owner, name)
        asked = {**self._fault_of(event), "given": f"{_fault(event)}-above"}
        try:
            record = self.evidence.find("latent-fault-rate", **asked)
        except NoEvidence:
            return None
        if above is None or not record.when.given:
            return None
        return above, Chance(self.quantity("latent-fault-rate", self.noted(record, asked)), ALONE)

    def _layer_above(self, owner: str, name: str) -> int | None:
        """The number of the same fault in the nearest item of the same kind over this one, when they first lie so."""
        items = self.catalogue.items
        numbers = {event.id: number for number, event in enumerate(self.program.events)}
        for worn in self.program.worn if owner in items else ():
            for over in worn[worn.index(owner) + 1 :] if owner in worn else ():
                if items[over].kind == items[owner].kind and f"latent:{over}:{name}" in numbers:
                    return numbers[f"latent:{over}:{name}"]
        return None


# ---- loads ------------------------------------------------------------------------------------------------------


class _Starts:
    """What the room loads: by class and presentation, uncovered sites too."""

    def __init__(self, binder: _Binder, uncovered: frozenset[str]) -> None:
        self.binder, self.uncovered, self.unit = binder, uncovered, ""

    def program_start(self, program: Program) -> tuple[tuple[int, str], ...]:
        known = {number for number, _ in program.start}
        gaps = ((program.index[name], "uncovered") for name in sorted(self.uncovered) if name in program.index)
        return (*program.start, *((number, name) for number, name in gaps if number not in known))

    def load(self, number: int, name: str) -> tuple[Quantity, float, bool]:
        surface_name = self.binder.program.surfaces[number]
        record = self.binder.find("load", load_class=name, presentation=self.binder.setting.presentation)
        table = constant(CAUTIOUS["load"]) if record is None else np.maximum(quantiles(record.law), 0.0)
        self.unit = record.unit if record else "fraction-of-source"
        quantity = Quantity(record.id if record else "default:load", table, _together(record))
        return quantity, 1.0, surface_name not in self.uncovered and not surface_name.startswith("air.")


class _GivenStarts:
    """What the caller loads, surface by surface; one law is drawn once for all that have it."""

    unit = "given"

    def __init__(self, loads: Mapping[str, Law]) -> None:
        self.loads = loads
        self.laws: dict[int, Law] = {}

    def program_start(self, program: Program) -> tuple[tuple[int, str], ...]:
        missing = sorted(set(self.loads) - set(program.surfaces))
        if missing:
            raise KeyError(f"no surface of this program is called {', '.join(missing)}")
        self.laws = {program.index[name]: law for name, law in self.loads.items()}
        return tuple((number, "high") for number in sorted(self.laws))

    def load(self, number: int, name: str) -> tuple[Quantity, float, bool]:
        law = self.laws[number]
        shown = ",".join(f"{key}={value!r}" for key, value in sorted(law.parameters().items()))
        table = np.maximum(quantiles(law), 0.0)
        return Quantity(f"given-load:{law.kind}:{shown}", table, 1.0), 1.0, True


# ---- small ------------------------------------------------------------------------------------------------------


def _together(record: EvidenceRecord | None) -> float:
    return 1.0 if record is None or record.drawn == "once" else 0.0


@lru_cache(maxsize=512)
def _product(efficiency: Law | None, share: Law | None) -> F64:
    one = constant(1.0) if efficiency is None else fractions(efficiency)
    other = constant(1.0) if share is None else fractions(share)
    return np.clip(combined(one, other, np.multiply), 0.0, 1.0)


@lru_cache(maxsize=128)
def _shifted(table: bytes, ratios: tuple[Law, ...]) -> F64:
    return np.clip(with_odds(np.frombuffer(table, dtype=np.float64), ratios), 0.0, 1.0)


def _slip(event: str) -> str:
    """The slip's or residue's name in `act:items:technique:NAME@step`."""
    return event.partition("@")[0].rpartition(":")[2]


def _fault(event: str) -> str:
    """The fault's family in `latent:item:NAME`, without its side."""
    return event.rpartition(":")[2].removesuffix("-l").removesuffix("-r")


def _said(asked: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    return tuple((name, str(value)) for name, value in sorted(asked.items()) if value is not None)
